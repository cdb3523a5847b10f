//! `run`, `odds` and `now` of every shipped scenario from an empty battery, at each hour of a day.

use std::collections::BTreeMap;

use longwatch::cli::{self, Command, from_now::FromNowArgs};
use longwatch::commands::load::{load_from_now, read};
use longwatch::commands::odds::engine::Engine;
use longwatch::decide::now::{Failure, Lasts, Now, Options, now};
use longwatch::decide::odds::subject::{Asked, same_start};
use longwatch::decide::odds::{Occasion, Odds, Subject};
use longwatch::error::Error;
use longwatch::simulate::trials::Watch;

use super::possible;
use crate::support::shipped::{folder, shipped};

/// What was asked, and how it ended.
type Table = BTreeMap<(String, &'static str, &'static str), usize>;

/// The flags of a command line that begins then with so much, and ends three days later: a whole
/// year of a measured series has no other beginning.
fn flags(
    path: &str,
    at: &str,
    charge: &str,
) -> (std::path::PathBuf, cli::InForceArgs, FromNowArgs) {
    let form = "%Y-%m-%dT%H:%M";
    let begins = chrono::NaiveDateTime::parse_from_str(at, form).unwrap();
    let until = (begins + chrono::Duration::days(3)).format(form).to_string();
    let words = ["longwatch", "run", path, "--at", at, "--until", &until, "--charge", charge];
    match cli::parse(words).unwrap_or_else(|e| panic!("{e}")).command {
        Command::Run(args) => (args.scenario, args.in_force, args.from_now),
        other => panic!("{other:?}"),
    }
}

fn odds_possible(odds: &Odds) -> Result<(), String> {
    let mut shares = vec![odds.on_air_share, odds.no_power_time_share, odds.unserved_share];
    shares.extend(odds.on_air_wilson_95);
    for band in &odds.bands {
        shares.extend([band.on_air_share, band.charge_p05_share, band.charge_p25_share]);
    }
    let hours: f64 = odds.tier_h.values().sum();
    let fine = shares.iter().all(|it| (-1e-9..=1.0 + 1e-9).contains(it))
        && (0.0..=odds.hours + 1e-6).contains(&hours)
        && odds.load_wh.is_finite()
        && odds.trials_left_out == 0;
    if fine { Ok(()) } else { Err(format!("{shares:?} {hours} {odds:?}")) }
}

fn now_possible(now: &Now) -> Result<(), String> {
    let lasts = |it: &Lasts| {
        let hours = [it.hours, it.half_hours].into_iter().flatten();
        hours.into_iter().all(|hours| (0.0..=now.look_ahead_h).contains(&hours))
    };
    let all = now.tiers.iter().flat_map(|tier| std::iter::once(tier.told).chain(tier.darkest));
    let charges = now.charge_share.unwrap_or_default();
    let fine = all.into_iter().all(|it| lasts(&it))
        && charges.iter().all(|charge| (0.0..=1.0).contains(charge));
    if fine { Ok(()) } else { Err(format!("{now:?}")) }
}

/// Plays one beginning, `now` too if asked for, and enters how each command ended.
fn play(
    name: &str,
    (at, charge): (&str, &'static str),
    (trials, with_now): (u64, bool),
    table: &mut Table,
) {
    let path = folder().join(format!("{name}.json")).display().to_string();
    let (path, in_force, from_now) = flags(&path, at, charge);
    let mut enter = |command: &'static str, how: &'static str| {
        *table.entry((format!("{name} {charge}"), command, how)).or_default() += 1;
    };
    let place = format!("{name} --at {at} --charge {charge}");
    // What the scenario or the flags forbid is an answer too; a fault of the program is none.
    let refused = |error: &Error| assert!(error.exit_code() <= 2, "{place}: {error}");
    let loaded = match load_from_now(&path, &in_force, None, &from_now) {
        Ok(loaded) => loaded,
        Err(error) => {
            refused(&error);
            enter("run", "refused");
            return;
        }
    };
    let (ledger, _) = loaded.hours().unwrap_or_else(|e| panic!("{place}: {e}"));
    for row in &ledger.rows {
        possible(row).unwrap_or_else(|what| panic!("{place}: {what}"));
    }
    enter("run", "possible");

    let engine = Engine::new(&loaded, &path, 1, Some(2)).unwrap_or_else(|e| panic!("{place}: {e}"));
    let asked = Asked {
        name: name.to_owned(),
        scenario_sha256: String::new(),
        variant: None,
        occasion: Occasion::of(&loaded.scenario),
        seed: 1,
        trials,
        same_start: same_start(&loaded.scenario),
        series_years: engine.series_years(),
    };
    let subject = Subject::of(&loaded.plan, asked);
    let answers = engine.run(&subject, 0..trials, &Watch::default());
    let answers = answers.unwrap_or_else(|e| panic!("{place}: {e}"));
    let odds = Odds::of(&subject, &answers, None);
    odds_possible(&odds).unwrap_or_else(|what| panic!("{place}: {what}"));
    enter("odds", "possible");

    if !with_now {
        return;
    }
    let from_now = FromNowArgs { mains_away: true, ..from_now };
    let known = read(&path, &in_force, &from_now).unwrap_or_else(|e| panic!("{place}: {e}"));
    // So low odds ask for a thousand trials a question.
    let options = Options { target_chance: 0.5, seed: 1, threads: 2, mains_back: false };
    match now(&known.scenario, &folder(), &options) {
        Ok(now) => {
            now_possible(&now).unwrap_or_else(|what| panic!("{place}: {what}"));
            enter("now", "possible");
        }
        Err(Failure::Compile(_)) => enter("now", "refused"),
        Err(Failure::Run(error)) => panic!("{place}: {error}"),
    }
}

/// Beginnings of a scenario: the day on which its span begins, hour by hour.
fn beginnings(start: chrono::NaiveDateTime) -> Vec<String> {
    (0..24).map(|hour| format!("{}T{hour:02}:00", start.format("%Y-%m-%d"))).collect()
}

fn told(table: &Table) {
    for ((name, command, how), count) in table {
        println!("{name:24} {command:5} {how:9} {count}");
    }
}

/// First light is when an empty battery is charged with less than it loses.
#[test]
fn an_empty_battery_at_night_and_at_first_light_gives_a_possible_answer() {
    let mut table = Table::new();
    for it in shipped() {
        let at = |hour: &str| format!("{}{hour}", it.scenario.span.start.format("%Y-%m-%dT"));
        // A question of `now` is a thousand trials: of the station that was found to fail.
        play(&it.name, (&at("05:00"), "0"), (20, it.name == "hall-72h"), &mut table);
    }
    told(&table);
    let of = |wanted: &str| -> usize {
        table.iter().filter(|((_, command, _), _)| *command == wanted).map(|(_, it)| it).sum()
    };
    assert!(of("run") == shipped().len() && of("odds") > 4 && of("now") == 1, "{table:?}");
}

/// All of it: 24 hours, four charges. Minutes long, so it runs when asked for.
#[test]
#[ignore = "minutes long"]
fn runs_and_odds_of_every_hour_from_nearly_empty_are_possible() {
    all(false);
}

/// The same of `now`, which asks a thousand trials a question.
#[test]
#[ignore = "many minutes long"]
fn now_of_every_hour_from_nearly_empty_is_possible() {
    all(true);
}

fn all(with_now: bool) {
    let mut table = Table::new();
    for it in shipped() {
        for charge in ["0", "0.1%", "1%", "2%"] {
            for at in beginnings(it.scenario.span.start) {
                play(&it.name, (&at, charge), (100, with_now), &mut table);
            }
        }
    }
    told(&table);
    let possible = table.iter().filter(|((_, _, how), _)| *how == "possible");
    let questions = if with_now { 3 } else { 2 };
    assert_eq!(possible.map(|(_, it)| it).sum::<usize>(), questions * 24 * 4 * shipped().len());
}
