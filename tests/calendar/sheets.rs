//! The picture and the words of a calendar: on the sheet, apart, and harmless at the extremes.

use longwatch::chance::merge::Tally;
use longwatch::decide::calendar::counts::{Counts, Days};
use longwatch::decide::calendar::{Calendar, Outages, StrategyCalendar};
use longwatch::show::calendar::{calendar_table, curves, first_sentence};
use longwatch::show::png::with_png;

use super::measure::faults;

/// A strategy by name, and its chance by month and hour.
type Made<'a> = (&'a str, &'a dyn Fn(usize, usize) -> f64);

/// A calendar with these chances by month and hour.
fn calendar(strategies: &[Made], trials: u64) -> Calendar {
    let made = strategies.iter().map(|(name, chance)| {
        let mut counts = Counts::default();
        for month in 0..12 {
            let mut days = Days { days: trials, ..Days::default() };
            for hour in 0..24 {
                let kept = (chance(month, hour) * trials as f64).round() as u64;
                counts.points[month][hour] = Tally::of(kept, trials - kept).unwrap();
                days.kept += kept;
                days.branches += trials;
            }
            counts.days[month] = days;
        }
        StrategyCalendar::of(name, &counts)
    });
    Calendar {
        title: "Invented".into(),
        version: "0".into(),
        sentence: String::new(),
        scenario_sha256: String::new(),
        hours: 72,
        year: 2027,
        outages: Outages::WithStorm,
        series_years: None,
        seed: 1,
        trials,
        trials_asked: trials,
        ended_early: false,
        strategies: made.collect(),
        warnings: Vec::new(),
    }
}

fn winter(month: usize) -> f64 {
    let from_june = (month as f64 - 5.5).abs() / 5.5;
    1.0 - 0.8 * from_june * from_june
}

#[test]
fn pictures_are_legible_and_left_for_eyes() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("target/pictures");
    std::fs::create_dir_all(&folder).unwrap();
    let sun = |month: usize, hour: usize| winter(month) * (0.8 + 0.1 * (hour as f64 / 4.0).sin());
    let full = |month: usize, _: usize| 0.9 + 0.1 * winter(month);
    let all = |_: usize, _: usize| 1.0;
    let nothing = |_: usize, _: usize| 0.0;
    let high = |month: usize, hour: usize| 0.995 + 0.004 * winter(month) - 1e-4 * hour as f64;
    let long = "a \"<&>\" name ".repeat(12);
    let many: Vec<Made> = vec![
        ("sun alone", &sun),
        ("charger", &full),
        ("always", &all),
        (long.as_str(), &sun),
        ("\u{202e}\u{7}", &full),
        ("never", &nothing),
        ("again", &sun),
    ];
    for (name, strategies, hours) in [
        ("two", &many[..2], &[0, 6, 12, 18][..]),
        ("many", &many[..], &[3, 9]),
        ("high", &[("high", &high as _)][..], &[5, 11, 17, 23]),
        ("all", &many[2..3], &[0, 6, 12, 18]),
        ("nothing", &many[5..6], &[0]),
        ("none", &[], &[0]),
    ] {
        let mut calendar = calendar(strategies, 3000);
        if name == "many" {
            calendar.title = "a \"<&>\" b ".repeat(30);
            calendar.ended_early = true;
        }
        let picture = curves(&calendar, hours);
        let faults = faults(&picture);
        assert!(faults.is_empty(), "{name}: {faults:#?}");
        let text = calendar_table(&calendar, hours);
        assert!(text.lines().skip(1).all(|line| line.chars().count() <= 80), "{text}");
        for (picture, png) in with_png(vec![picture]).unwrap() {
            let path = folder.join(format!("{name}-{}.png", picture.name));
            std::fs::write(path, &png).unwrap();
        }
    }
}

#[test]
fn the_sentence_names_the_weakest_month_and_never_rounds_to_all() {
    let sun = |month: usize, _: usize| winter(month) - 0.1;
    let full = |month: usize, _: usize| if month == 0 { 0.999 } else { 1.0 };
    let all = |_: usize, _: usize| 1.0;
    let nothing = |_: usize, _: usize| 0.0;
    let of = |strategies: &[Made]| first_sentence(&calendar(strategies, 1000));
    assert_eq!(
        of(&[("sun", &sun), ("full", &full)]),
        "January is the weakest month: on the air for 72 hours in 10 % of simulated outages under \"sun\", in 99.9 % under \"full\"."
    );
    assert_eq!(
        of(&[("full", &full)]),
        "January is the weakest month: on the air for 72 hours in 99.9 % of simulated outages."
    );
    assert_eq!(
        of(&[("all", &all), ("sun", &sun)]),
        "January is the weakest month: on the air for 72 hours in 10 % of simulated outages under \"sun\", in all of every month under \"all\"."
    );
    assert_eq!(
        of(&[("a", &all), ("b", &all)]),
        "The station stays on the air for 72 hours in all simulated outages of every month under every strategy."
    );
    assert_eq!(of(&[("a", &nothing)]), "The station stays on the air for 72 hours in no month.");
    assert_eq!(of(&[]), "No year was run.");
}
