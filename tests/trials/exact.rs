//! Chances that are known exactly, through the public step on an ideal battery.
//!
//! One load of 10 W makes `load` units a day, so a unit is `240 / load` Wh. Gain and load run evenly
//! over the 24 h, so that the clamp of a day is that of its sum: the "lumped day" of the table.

use serde_json::{Value, json};

use super::common::{Survival, prepared, survival};
use super::support::{bench_with, text};

const MARKOV: &str = "tests/reference/risk/markov_battery_cases.json";
const DAM: &str = "tests/reference/risk/continuous_and_dam_cases.json";
const DAYS: u64 = 14;
const TRIALS: u64 = 10_000;
/// Standard errors.
const WITHIN: f64 = 4.5;

/// Types of day with a gain each, or an even spread of gains.
fn day_types(gains: &[Value], chain: &Value, yesterday: Option<usize>) -> Value {
    let name = |at: usize| format!("type {at}");
    let types: serde_json::Map<String, Value> = gains
        .iter()
        .enumerate()
        .map(|(at, gain)| {
            let share =
                if gain.is_array() { json!({"uniform": gain}) } else { json!({"fixed": gain}) };
            (name(at), json!({"sun_share": share}))
        })
        .collect();
    let mut made = json!({"types": types, "chain": chain});
    if let Some(at) = yesterday {
        made["yesterday"] = json!(name(at));
    }
    made
}

/// A station whose lumped days are those of a case.
fn lumped(load: f64, capacity: f64, days: &Value) -> Value {
    let unit_wh = 240.0 / load;
    bench_with(&json!({
        "span": {"start": "2026-06-01T00:00", "hours": DAYS * 24},
        "sun": {"profile": {"rated_share": vec![1.0; 24], "day_types": days}},
        "arrays": {"a": {"rated_w": unit_wh / 24.0}},
        "battery": {"ideal": {"capacity_wh": capacity * unit_wh}}
    }))
}

fn number(value: &Value) -> f64 {
    value.as_f64().or_else(|| value.as_str()?.parse().ok()).unwrap_or_else(|| panic!("{value}"))
}

/// Compares survival, days with loss and unserved energy at every horizon that the run reaches.
fn compare(id: &str, case: &Value, found: &Survival, unit_wh: f64) {
    let mut horizons = 0;
    for row in case["finite_horizon"].as_array().unwrap() {
        let days = row["steps"].as_u64().unwrap();
        if days > DAYS {
            continue;
        }
        horizons += 1;
        let exact = number(&row["prob_no_unserved"]);
        let n = found.trials as f64;
        let ours = found.surviving(days) as f64 / n;
        let within = WITHIN * (exact * (1.0 - exact) / n).sqrt() + 1e-12;
        println!("{id} {days} days: {ours:.5} exact {exact:.5} within {within:.5}");
        assert!((ours - exact).abs() <= within, "{id} {days} days: {ours} {exact}");
        if days == DAYS {
            for (what, key, ours, se) in [
                (
                    "days with loss",
                    "expected_loss_steps",
                    found.loss_days.mean(),
                    found.loss_days.se(),
                ),
                (
                    "unserved",
                    "expected_unserved_units",
                    found.unserved_wh.mean() / unit_wh,
                    found.unserved_wh.se() / unit_wh,
                ),
            ] {
                let Some(exact) = row[key].as_f64() else { continue };
                println!("{id} {what}: {ours:.5} exact {exact:.5} within {:.5}", WITHIN * se);
                assert!((ours - exact).abs() <= WITHIN * se, "{id} {what}: {ours} {exact} {se}");
            }
        }
    }
    assert!(horizons >= 3, "{id}");
}

fn case_of(file: &str, id: &str) -> Value {
    let all: Value = serde_json::from_str(&text(file)).unwrap();
    all["cases"].as_array().unwrap().iter().find(|case| case["id"] == id).unwrap().clone()
}

/// Markov batteries: exact rationals of markov_battery_cases.json.
#[test]
fn markov_batteries() {
    for (id, seed) in [
        ("E01_iid_pm1", 101),
        ("E03_iid_three_valued", 103),
        ("E05_markov_lag1_0.0", 105),
        ("E07_markov_lag1_0.6", 107),
        ("E08b_same_but_lumped", 108),
    ] {
        let case = case_of(MARKOV, id);
        let inputs = &case["inputs"];
        let load = number(&inputs["load"]);
        let days = if let Some(gains) = inputs["gains"].as_array() {
            let shares: Vec<f64> = gains.iter().map(|it| number(&it[1])).collect();
            let gains: Vec<Value> = gains.iter().map(|it| it[0].clone()).collect();
            day_types(&gains, &json!({"shares": {"type_share": shares}}), None)
        } else {
            let (stays, returns) =
                (number(&inputs["p_sunny_given_sunny"]), number(&inputs["p_cloudy_given_cloudy"]));
            let rows = json!([[stays, 1.0 - stays], [1.0 - returns, returns]]);
            let gains = [inputs["gain_sunny"].clone(), inputs["gain_cloudy"].clone()];
            day_types(&gains, &json!({"matrix": {"next_share": rows}}), Some(0))
        };
        let station = lumped(load, number(&inputs["capacity"]), &days);
        let found = survival(&prepared(&station, seed), TRIALS);
        compare(id, &case, &found, 240.0 / load);
    }
}

/// The same long run by share and lag-one correlation: E07 has shares 0.6 and 0.4, correlation 0.6.
#[test]
fn shares_and_correlation_make_the_same_chain() {
    let case = case_of(MARKOV, "E07_markov_lag1_0.6");
    let chain = json!({"shares": {"type_share": [0.6, 0.4], "lag1_correlation": 0.6}});
    let days = day_types(&[json!(7), json!(1)], &chain, Some(0));
    let found = survival(&prepared(&lumped(4.0, 12.0, &days), 207), TRIALS);
    compare("E07 by correlation", &case, &found, 60.0);
}

/// E08: gain and load by day, another load by night, so that the afternoon spills.
#[test]
fn day_then_night() {
    let case = case_of(MARKOV, "E08_markov_day_then_night");
    let chain = json!({"matrix": {"next_share": [[0.7, 0.3], [0.5, 0.5]]}});
    let unit_wh = 48.0;
    let light: Vec<f64> = (0..24).map(|hour| if hour < 12 { 1.0 } else { 0.0 }).collect();
    let mut station = lumped(5.0, 12.0, &day_types(&[json!(9), json!(2)], &chain, Some(0)));
    super::support::merge(
        &mut station,
        &json!({
            "sun": {"profile": {"rated_share": light}},
            "arrays": {"a": {"rated_w": unit_wh / 12.0}},
            "windows": {"day": {"from": "00:00", "to": "12:00"}, "night": {"from": "12:00", "to": "24:00"}},
            "loads": {"lamp": null,
                "by day": {"group": "all", "when": "day", "draw": {"power": {"w": 2.0 * unit_wh / 12.0}}},
                "by night": {"group": "all", "when": "night", "draw": {"power": {"w": 3.0 * unit_wh / 12.0}}}},
            "tiers": [{"name": "on", "loads": {"by day": {}, "by night": {}}}]
        }),
    );
    compare("E08", &case, &survival(&prepared(&station, 208), TRIALS), unit_wh);
}

/// E11: weather and mains together make four types of day; the mains fails and comes back by the
/// weather of the day.
#[test]
fn storms_take_the_mains() {
    let case = case_of(MARKOV, "E11_storm_coupled_outage");
    let weather = [[0.7, 0.3], [0.5, 0.5]];
    let (fails, repairs) = ([0.02, 0.20], [0.5, 0.2]);
    // sunny up, sunny down, cloudy up, cloudy down
    let rows: Vec<Vec<f64>> = (0..4)
        .map(|from| {
            (0..4)
                .map(|to| {
                    let (today, down) = (to / 2, to % 2);
                    let goes: f64 = if from % 2 == 0 { fails[today] } else { 1.0 - repairs[today] };
                    weather[from / 2][today] * if down == 1 { goes } else { 1.0 - goes }
                })
                .collect()
        })
        .collect();
    let mut days = day_types(
        &[json!(6), json!(6), json!(1), json!(1)],
        &json!({"matrix": {"next_share": rows}}),
        Some(0),
    );
    for down in ["type 1", "type 3"] {
        days["types"][down]["without_mains"] = json!(true);
    }
    let unit_wh = 48.0;
    let mut station = lumped(5.0, 12.0, &days);
    super::support::merge(
        &mut station,
        &json!({
            "supply": {"rated_v": 13.8, "limit_a": 40, "efficiency_share": 1.0, "no_load_w": 0,
                "joins": "charger_only",
                "charger": {"limit_a": 6.0 * unit_wh / 24.0 / 12.8, "charge": {"bulk_v": 14.0}}},
            "strategies": {"none": {"supply": "always"}}
        }),
    );
    compare("E11", &case, &survival(&prepared(&station, 211), TRIALS), unit_wh);
}

/// E13: a dam with geometric gains; 9 and more units fill it from empty, so they are one type.
#[test]
fn dam_with_geometric_gains() {
    let case = case_of(DAM, "E13_moran_geometric");
    let chance = |units: i32| 0.4 * 0.6_f64.powi(units);
    let mut shares: Vec<f64> = (0..9).map(chance).collect();
    shares.push(0.6_f64.powi(9));
    let gains: Vec<Value> = (0..10).map(|units| json!(units)).collect();
    let days = day_types(&gains, &json!({"shares": {"type_share": shares}}), None);
    let found = survival(&prepared(&lumped(1.0, 8.0, &days), 213), TRIALS);
    for row in case["finite_horizon"].as_array().unwrap() {
        let days = row["steps"].as_u64().unwrap();
        if days <= DAYS {
            let exact = number(&row["prob_no_unserved"]);
            let ours = found.surviving(days) as f64 / TRIALS as f64;
            let within = WITHIN * (exact * (1.0 - exact) / TRIALS as f64).sqrt() + 1e-12;
            println!("E13 {days} days: {ours:.5} exact {exact:.5} within {within:.5}");
            assert!((ours - exact).abs() <= within, "{days}: {ours} {exact}");
        }
    }
}

/// E14: gains spread evenly from 0 to 2 units.
#[test]
fn gains_spread_evenly() {
    let case = case_of(DAM, "E14_uniform_gain");
    let chain = json!({"shares": {"type_share": [1.0]}});
    let days = day_types(&[json!([0, 2])], &chain, None);
    let found = survival(&prepared(&lumped(1.0, 1.5, &days), 214), TRIALS);
    compare("E14", &case, &found, 240.0);
}

/// A charger-only station on a random grid: it fills at `a`, drains at 1 W.
fn on_off(capacity_wh: f64, charge_w: f64, up: &Value, down: &Value, hours: u32) -> Value {
    let charger_a = ((charge_w + 1.0) / 12.8).min(1000.0);
    bench_with(&json!({
        "span": {"start": "2026-06-01T00:00", "hours": hours},
        "start": {"settle_days": 30},
        "sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "arrays": null, "controllers": null,
        "battery": {"ideal": {"capacity_wh": capacity_wh}},
        "grid": {"random": {"up": up, "down": down}},
        "storm": "independent",
        "supply": {"rated_v": 13.8, "limit_a": 1000, "efficiency_share": 1.0, "no_load_w": 0,
            "joins": "charger_only", "charger": {"limit_a": charger_a, "charge": {"bulk_v": 14.0}}},
        "loads": {"lamp": {"draw": {"power": {"w": 1}}}},
        "strategies": {"none": {"supply": "always"}}
    }))
}

fn exponential(mean_h: f64) -> Value {
    json!({"exponential": {"mean_h": mean_h}})
}

/// E15: the two-state fluid buffer in the long run, in continuous time (outages are cut).
#[test]
fn on_off_fluid() {
    let case = case_of(DAM, "E15_on_off_fluid");
    for (at, row) in (0..).zip(case["cases"].as_array().unwrap()) {
        let of = |key: &str| number(&row[key]);
        let station = on_off(
            of("capacity"),
            of("net_charge_when_up"),
            &exponential(1.0 / of("fail_per_h")),
            &exponential(1.0 / of("repair_per_h")),
            480,
        );
        let found = survival(&prepared(&station, 1500 + at), 1500);
        let (ours, se) = (found.dark_h.mean() / 480.0, found.dark_h.se() / 480.0);
        let exact = of("fraction_of_time_load_unserved");
        println!("E15 {at}: {ours:.5} exact {exact:.5} within {:.5}", WITHIN * se);
        assert!((ours - exact).abs() <= WITHIN * se, "{at}: {ours} {exact} {se}");
    }
}

/// Alternating renewal with a battery that is full at each outage (it charges within seconds).
#[test]
fn alternating_renewal() {
    let (heads, rows) = super::support::table("tests/reference/risk/alternating_renewal.csv");
    let column = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let mut laws = std::collections::BTreeSet::new();
    for (at, row) in (0..).zip(&rows) {
        let of = |name: &str| row[column(name)].parse::<f64>().unwrap();
        if of("battery_hours_tau") != 6.0 {
            continue;
        }
        let parameters: Value = serde_json::from_str(&row[column("down_parameters")]).unwrap();
        let law = row[column("down_distribution")].as_str();
        let down = match law {
            "exponential" => exponential(number(&parameters["mean"])),
            "weibull" => {
                json!({"weibull": {"shape": parameters["shape"], "mean_h": of("mean_down_h")}})
            }
            "lognormal" => json!({"lognormal": {"median_h": number(&parameters["mu"]).exp(),
                "log_sd": parameters["sigma"]}}),
            other => panic!("{other}"),
        };
        laws.insert(law.to_owned());
        let station = on_off(6.0, 1e9, &exponential(of("mean_up_h")), &down, 480);
        let found = survival(&prepared(&station, 1600 + at), 1500);
        let (ours, se) = (found.dark_h.mean() / 480.0, found.dark_h.se() / 480.0);
        let exact = of("dark_fraction_of_time_full_at_each_outage");
        println!("{}: {ours:.5} exact {exact:.5} within {:.5}", row[0], WITHIN * se);
        assert!((ours - exact).abs() <= WITHIN * se, "{}: {ours} {exact} {se}", row[0]);
    }
    assert_eq!(laws.len(), 3);
}

/// A two-state grid without a battery to speak of (4 s): outage_models.json.
#[test]
fn two_state_grid() {
    let all: Value =
        serde_json::from_str(&text("tests/reference/risk/outage_models.json")).unwrap();
    let model = &all["two_state_ctmc"];
    let of = |key: &str| number(&model[key]);
    let mut station = on_off(
        0.001,
        1e9,
        &exponential(1.0 / of("fail_per_h")),
        &exponential(1.0 / of("repair_per_h")),
        168,
    );
    station["start"] = json!({});
    station["grid"]["random"]["begins"] = json!("just_back");
    let found = survival(&prepared(&station, 17), TRIALS);
    for row in model["table"].as_array().unwrap() {
        let (hours, exact) = (number(&row["t_h"]), number(&row["P_no_outage_in_0_t"]));
        let ours = found.on_the_air_for(hours) as f64 / TRIALS as f64;
        let within = WITHIN * (exact * (1.0 - exact) / TRIALS as f64).sqrt();
        println!("no outage in {hours} h: {ours:.5} exact {exact:.5} within {within:.5}");
        assert!((ours - exact).abs() <= within, "{hours}: {ours} {exact}");
        if hours == 168.0 {
            let exact = 168.0 * (1.0 - number(&row["expected_up_fraction_0_t"]));
            let (ours, se) = (found.dark_h.mean(), found.dark_h.se());
            // Seconds of battery in each of some three outages.
            assert!((ours - exact).abs() <= WITHIN * se + 0.01, "{ours} {exact} {se}");
        }
    }
}
