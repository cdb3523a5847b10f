//! An ideal battery without any sun: hours and minutes by the pencil.

use std::path::Path;

use longwatch::decide::now::{EngineAdvice, Now, Options, now};
use longwatch::scenario::Scenario;
use serde_json::{Value, json};

use super::support::{bench_with, merge};

/// 1,000 Wh at 12.5 V; a set of 1 A received and 10 A keyed, a lamp of 20 W. No sun.
fn station(patch: &Value) -> Value {
    let mut value = bench_with(&json!({
        "span": {"start": "2027-01-19T14:00", "hours": 24},
        "start": {"charge_share": 0.6},
        "sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "battery": {"ideal": {"capacity_wh": 1000.0, "empty_v": 12.5, "full_v": 12.5}},
        "loads": {
            "set": {"group": "all", "draw": {"current": {"receive_a": 1.0, "transmit_a": 10.0}},
                    "transmit_share": 0.25},
            "lamp": {"group": "all", "draw": {"power": {"power_w": 20}}}
        },
        "tiers": [
            {"name": "all", "loads": {"set": {}, "lamp": {}}},
            {"name": "set", "loads": {"set": {}}},
            {"name": "ready", "on_air": false, "loads": {}}
        ],
        "shedding": {"down_below_share": [0.5, 0.2], "up_above_share": [0.6, 0.3]}
    }));
    merge(&mut value, patch);
    value
}

fn from_now(value: &Value) -> Now {
    let scenario: Scenario = serde_json::from_value(value.clone()).unwrap();
    let options = Options { target_chance: 0.95, seed: 1, threads: 1, mains_back: false };
    now(&scenario, Path::new("tests"), &options).unwrap_or_else(|it| panic!("{it:?}"))
}

/// Keyed a quarter of the time the set takes (1 + 9/4) A x 12.5 V = 40.625 W.
#[test]
fn hours_are_charge_over_power() {
    let now = from_now(&station(&json!({})));
    assert_eq!(now.trials, 1, "nothing is drawn");
    let hours = |tier: usize| now.tiers[tier].told.hours.unwrap();
    // 600 Wh / 60.625 W = 9.8969 h; 600 / 40.625 = 14.7692 h.
    assert!((hours(0) - 600.0 / 60.625).abs() < 1e-3, "{}", hours(0));
    assert!((hours(1) - 600.0 / 40.625).abs() < 1e-3, "{}", hours(1));
    assert_eq!(now.tiers[2].told.hours, None, "nothing is on");
    assert!(!now.tiers[0].told.until && !now.tiers[2].has_loads);
    assert_eq!(now.tiers[0].told.hours, now.tiers[0].told.half_hours);
    assert_eq!(now.tiers[0].darkest, None, "a profile has no darker day");
    assert_eq!((now.until_h, now.engine), (24.0, None));
}

/// Until 24 h on 600 Wh: 25 W. With the lamp 5 W are left, less than the 12.5 W of receiving. Without
/// it 12.5 (1 + 9 x) = 25: x = 1/9, 6.67 minutes of an hour: 6.
#[test]
fn keyed_minutes_are_those_that_the_charge_pays_for() {
    let now = from_now(&station(&json!({})));
    let keying = |tier: usize| now.tiers[tier].keying.clone().unwrap();
    assert_eq!(keying(0).minutes, None);
    assert_eq!(keying(1).minutes, Some(6));
    assert_eq!(keying(1).by_set_minutes["set"], 6.0);
    assert!((keying(1).planned_minutes - 15.0).abs() < 1e-12);
    assert_eq!(now.tiers[2].keying, None);
    // 900 Wh: 37.5 W; 12.5 (1 + 9 x) + 20 = 37.5: x = 0.0444, 2.67 minutes: 2.
    let fuller = from_now(&station(&json!({"start": {"charge_share": 0.9}})));
    assert_eq!(fuller.tiers[0].keying.as_ref().unwrap().minutes, Some(2));
    // 12.5 x 10 W x 4 h = 500 Wh: keyed without a pause it lasts.
    let short = from_now(&station(&json!({"span": {"hours": 4}})));
    assert_eq!(short.tiers[1].keying.as_ref().unwrap().minutes, Some(60));
}

/// Between 50 and 60 % all charges are alike: with 1,000 trials 962 must last, and the 39th shortest
/// is near 0.5 + 0.1 x 38/1000 = 0.5038: 503.8 Wh / 40.625 W = 12.40 h, give or take 4.5 standard
/// errors of that share (0.0062 x 0.1 x 1000 / 40.625 x 4.5 = 0.069 h).
#[test]
fn a_charge_within_bounds_is_drawn_for_each_trial() {
    let start = json!({"start": {"charge_share": null, "charge_between_share": [0.5, 0.6]}});
    let now = from_now(&station(&start));
    assert_eq!(now.trials, 1000);
    assert_eq!(now.charge_share, Some([0.5, 0.6]));
    let told = now.tiers[1].told;
    assert!((told.hours.unwrap() - 12.40).abs() < 0.07, "{told:?}");
    // Half: 550 Wh / 40.625 W = 13.54 h; the standard error is 0.016 x 0.1 x 1000 / 40.625 = 0.039.
    assert!((told.half_hours.unwrap() - 13.54).abs() < 4.5 * 0.039, "{told:?}");
}

/// An engine behind a supply of 12.5 V, 20 A, that charges with 8 A: 100 W. The tier of 40.6 W needs
/// 24 h x 40.6 W = 975 Wh; 600 are there, so 375 Wh, 3.75 h: 4 whole hours. The one of 60.6 W needs
/// 855 Wh more: 8.55 h, and the battery does not run over: 600 + h (100 - 60.6) < 1000 up to 10 h.
#[test]
fn the_engine_runs_as_long_as_the_fullest_tier_needs() {
    let engine = json!({
        "supply": {"rated_v": 12.5, "limit_a": 20, "efficiency_share": 1.0, "no_load_w": 0,
            "joins": "charger_only", "charger": {"limit_a": 8, "set_points": {"absorption_v": 14.0}}},
        "generator": {"rated_w": 1000, "fuel_l": 100,
            "fuel_line": {"per_rated_kw_l_h": 0.2, "per_kwh_l": 0.4},
            "rule": {"start_below_share": 0.1, "stop_above_share": 0.9}},
        "grid": "none",
        "strategies": {"none": {"supply": "always"}}
    });
    let now = from_now(&station(&engine));
    match now.engine.clone().unwrap() {
        EngineAdvice::Start { tier, hours, from_h } => {
            assert_eq!((tier.as_str(), hours, from_h), ("all", 9, 0.0));
        }
        other => panic!("{other:?}"),
    }
    assert!(now.reaches());
    // The hours of the tiers are those without it.
    assert!((now.tiers[0].told.hours.unwrap() - 600.0 / 60.625).abs() < 1e-3);
    // Full, the tier of 40.6 W lasts 24.6 h by itself, that of 60.6 W needs 4.55 h.
    let mut full = engine.clone();
    full["start"] = json!({"charge_share": 1.0});
    full["tiers"] = json!([
        {"name": "set", "loads": {"set": {}}}, {"name": "ready", "on_air": false, "loads": {}}
    ]);
    full["shedding"] = Value::Null;
    let now = from_now(&station(&full));
    assert_eq!(now.engine, Some(EngineAdvice::NotNeeded { tier: "set".into() }));
    // It may not run before the end.
    let mut quiet = engine.clone();
    quiet["windows"] = json!({"noon": {"from": "12:00", "to": "13:00"}});
    quiet["generator"]["allowed"] = json!("noon");
    quiet["span"] = json!({"hours": 20});
    assert_eq!(from_now(&station(&quiet)).engine, Some(EngineAdvice::NotAllowed));
    // It may run from 20:00 on, six hours from now.
    quiet["windows"] = json!({"noon": {"from": "20:00", "to": "12:00"}});
    quiet["span"] = json!({"hours": 24});
    match from_now(&station(&quiet)).engine.unwrap() {
        EngineAdvice::Start { from_h, hours, .. } => assert_eq!((from_h, hours), (6.0, 9)),
        other => panic!("{other:?}"),
    }
}
