//! Pictures of many trials: text on the sheet and apart, every number finite, extremes harmless.

use longwatch::decide::odds::{Answers, Occasion, Odds};
use longwatch::show::odds::{CHARTS, Trials, pictures};
use longwatch::show::png::with_png;
use longwatch::simulate::trials::Gather as _;

use super::invented::Station;
use super::measure::faults;

fn assert_sound(name: &str, trials: Trials) {
    for chart in CHARTS {
        let picture = chart(trials);
        let faults = faults(&picture);
        assert!(faults.is_empty(), "{name}, {}: {faults:#?}", picture.name);
    }
}

#[test]
fn pictures_of_ordinary_trials_are_legible_and_left_for_eyes() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("target/pictures");
    std::fs::create_dir_all(&folder).unwrap();
    let small = Station { load_w: 60.0, generator: true, ..Station::january() };
    let week = Station {
        hours: 168,
        steps_an_hour: 4,
        capacity_wh: 4000.0,
        occasion: Occasion::Outage,
        same_start: false,
        ..Station::january()
    };
    for (name, station, trials) in
        [("72h", Station::january(), 10_000), ("low", small, 300), ("168h", week, 2_000)]
    {
        let (subject, answers, odds) = station.odds(trials);
        let trials = Trials { subject: &subject, answers: &answers, odds: &odds };
        assert_sound(name, trials);
        for (picture, png) in with_png(pictures(trials)).unwrap() {
            std::fs::write(folder.join(format!("{name}-{}.svg", picture.name)), &picture.svg)
                .unwrap();
            std::fs::write(folder.join(format!("{name}-{}.png", picture.name)), &png).unwrap();
        }
    }
}

#[test]
fn spans_of_every_length_keep_their_labels_apart() {
    for hours in [1, 2, 7, 8, 9, 23, 25, 36, 100, 169, 337, 800, 2200, 9000] {
        for same_start in [true, false] {
            let station = Station { hours, same_start, ..Station::january() };
            let (subject, answers, odds) = station.odds(40);
            let trials = Trials { subject: &subject, answers: &answers, odds: &odds };
            assert_sound(&format!("{hours} h, same start {same_start}"), trials);
        }
    }
}

#[test]
fn extremes_are_harmless() {
    let change =
        |name: &str, trials: u64, change: &dyn Fn(&mut longwatch::simulate::trials::Outcome)| {
            let station = Station::january();
            let mut subject = station.subject(trials);
            subject.title = "a \"<&>\" b ".repeat(30);
            subject.strategy = "\u{202e}\u{7}".to_owned();
            let mut answers = Answers::empty(station.shape()).unwrap();
            for trial in 0..trials {
                let mut outcome = station.trial(trial);
                change(&mut outcome);
                answers.trial(&outcome);
            }
            let odds = Odds::of(&subject, &answers, None);
            assert_sound(name, Trials { subject: &subject, answers: &answers, odds: &odds });
        };
    change("no trial", 0, &|_| ());
    change("one trial", 1, &|_| ());
    change("none is sound", 5, &|it| it.load_wh = f64::NAN);
    change("all full", 50, &|it| {
        it.lowest_charge_share = 1.0;
        it.charge_share.fill(1.0);
        it.first_off_air_h = None;
        it.unserved_wh = 0.0;
    });
    change("all empty", 50, &|it| {
        it.lowest_charge_share = 0.0;
        it.charge_share.fill(0.0);
        it.first_off_air_h = Some(0.0);
        it.no_power_h = 72.0;
        it.unserved_wh = it.load_wh;
        it.origin_wh = [0.0; 5];
        it.served_wh = 0.0;
    });
    change("beyond the ends", 50, &|it| {
        it.lowest_charge_share = -0.2;
        it.charge_share.fill(1.3);
    });
    change("no load", 50, &|it| {
        it.load_wh = 0.0;
        it.served_wh = 0.0;
        it.unserved_wh = 0.0;
        it.first_off_air_h = None;
        it.origin_wh = [0.0; 5];
    });
}
