//! Branches against plain trials of the same seed, and relations among branches.

use chrono::{Datelike as _, Days, NaiveDate};
use longwatch::simulate::trials::{Options, outcome_of, prepare};
use serde_json::json;

use super::common::{branches, folder, hall, scenario};
use super::support::merge;

const HOURS: u32 = 72;
const SEED: u64 = 11;

/// A branch is a plain trial whose mains fails at that hour: the one begins with the state that the
/// year had there and its own few hours, the other goes through all days before, by the path that
/// `run` and `odds` take. Storms, which the two draw under other names, are made the same; warnings
/// come for sure or not at all. A plain trial counts from midnight, so times agree to rounding.
#[test]
fn a_branch_is_the_trial_whose_mains_fails_then() {
    let (mut compared, mut failed, mut off_before) = (0, 0, 0);
    for (strategy, warned, snow) in
        [("charger on", 0, 0), ("solar only", 0, 1), ("when warned", 1, 1), ("when warned", 0, 0)]
    {
        let mut value = hall();
        merge(
            &mut value,
            &json!({
                "strategy": strategy,
                "storm": {"coupled": {"clearness_multiplier": {"uniform": null, "fixed": 0.4}, "snow_chance": snow}},
                "warning": {"chance": warned, "lead_time_h": 20}
            }),
        );
        for day in branches(&value, HOURS, SEED, 3) {
            if ![1, 6, 12].contains(&day.date.month()) {
                continue;
            }
            for hour in [0, 7, 19] {
                let in_branch = day.first_off_air_h[hour].expect("every hour is there");
                let trial = plain(&value, day.date, hour, day.trial);
                if trial.is_some_and(|trial| trial < hour as f64) {
                    // Off the air already while the mains was there: no time to compare.
                    off_before += 1;
                    continue;
                }
                assert_eq!(in_branch.is_infinite(), trial.is_none(), "{strategy} {day:?} {hour}");
                if let Some(trial) = trial {
                    let apart = (in_branch + hour as f64 - trial).abs();
                    assert!(apart < 1e-9, "{strategy} {day:?} {hour}: {in_branch} {trial}");
                    failed += 1;
                }
                compared += 1;
            }
        }
    }
    assert_eq!(compared + off_before, 4 * 3 * 3 * 3);
    assert!((20..100).contains(&failed) && off_before < 12, "{failed} of {compared} failed");
}

/// When the trial is first off the air, h since midnight of the date, if the mains fails at `hour`.
fn plain(value: &serde_json::Value, date: NaiveDate, hour: usize, trial: u64) -> Option<f64> {
    let begins = NaiveDate::from_ymd_opt(date.year(), 1, 1).unwrap() - Days::new(30);
    let mut value = value.clone();
    merge(
        &mut value,
        &json!({
            "span": {"start": format!("{date}T00:00"), "hours": hour as u32 + HOURS},
            "start": {"warmup_days": (date - begins).num_days()},
            "grid": {"outage": {"off": format!("{date}T{hour:02}:00"), "hours": 1000}}
        }),
    );
    let options = Options { seed: SEED, recharge: false, ..Options::default() };
    let prepared = prepare(&scenario(&value), folder(), Vec::new(), options).unwrap();
    outcome_of(&prepared, trial).first_off_air_h
}

/// Who lasts longer has lasted the shorter time too, at the same hour of the same year.
#[test]
fn hours_are_those_of_the_longer_outage() {
    let (short, long) = (branches(&hall(), 30, 3, 31), branches(&hall(), 72, 3, 31));
    let mut failed = [0, 0];
    for (short, long) in short.iter().zip(&long) {
        assert_eq!((short.trial, short.date), (long.trial, long.date));
        for (short, long) in short.first_off_air_h.iter().zip(long.first_off_air_h) {
            let (short, long) = (short.unwrap(), long.unwrap());
            let cut = if long < 30.0 { long } else { f64::INFINITY };
            assert!(short == cut, "{short} {long}");
            failed[0] += u32::from(short.is_finite());
            failed[1] += u32::from(long.is_finite());
        }
    }
    assert!(failed[1] > failed[0] && failed[0] > 0, "{failed:?}");
}

/// Where nothing is shed, nobody decides and no controller has gone to float, a station that began
/// with more is on the air longer: the charger before the outage never harms, nor does a larger
/// battery.
#[test]
fn more_at_the_start_lasts_longer() {
    let mut plain = hall();
    merge(
        &mut plain,
        &json!({
            "tiers": [{"name": "watch", "loads": {"voice set": {}, "computer": {}}}],
            "shedding": null, "snow": null,
            "controllers": {"roof tracker": {"mppt": {
                "set_points": {"float_v": null, "tail_a": null}}}},
            "storm": {"coupled": {"lasts_days": 2, "clearness_multiplier": {"uniform": [0.2, 0.5]}}}
        }),
    );
    let under = |strategy: &str, strings: u32| {
        let mut value = plain.clone();
        value["strategy"] = json!(strategy);
        value["battery"]["lithium_iron_phosphate"]["strings"] = json!(strings);
        branches(&value, 72, 5, 31)
    };
    let (solar, charger, larger) =
        (under("solar only", 1), under("charger on", 1), under("charger on", 2));
    let mut longer = [0, 0];
    for ((solar, charger), larger) in solar.iter().zip(&charger).zip(&larger) {
        let hours = |day: &longwatch::simulate::trials::branches::DayOfBranches| {
            day.first_off_air_h.map(Option::unwrap)
        };
        for ((solar, charger), larger) in hours(solar).iter().zip(hours(charger)).zip(hours(larger))
        {
            assert!(*solar <= charger + 1e-9, "{solar} {charger}");
            assert!(charger <= larger + 1e-9, "{charger} {larger}");
            longer[0] += u32::from(*solar < charger);
            longer[1] += u32::from(charger < larger);
        }
    }
    assert!(longer.iter().all(|count| *count > 500), "{longer:?}");
}
