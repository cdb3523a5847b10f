//! Chances that are known exactly, through the trials themselves: what `tests/odds/exact.rs` does not
//! ask of the program.

use serde_json::{Value, json};

use super::common::{Survival, prepared, survival};
use super::support::{bench_with, text};

const MARKOV: &str = "tests/reference/risk/markov_battery_cases.json";
const TRIALS: u64 = 10_000;
/// Standard errors.
const WITHIN: f64 = 4.5;

/// The same long run by share and lag-one correlation: E07 has shares 0.6 and 0.4, correlation 0.6.
/// Days with loss are compared too.
#[test]
fn shares_and_correlation_make_the_same_chain() {
    let all: Value = serde_json::from_str(&text(MARKOV)).unwrap();
    let cases = all["cases"].as_array().unwrap();
    let case = cases.iter().find(|case| case["id"] == "E07_markov_lag1_0.6").unwrap();
    let mut station: Value = serde_json::from_str(&text("tests/scenarios/exact/e07.json")).unwrap();
    station["sun"]["profile"]["day_types"]["chain"] =
        json!({"shares": {"type_share": [0.6, 0.4], "lag1_correlation": 0.6}});
    compare(case, &survival(&prepared(&station, 207), TRIALS), 60.0);
}

/// Survival at every horizon, days with loss and unserved energy at the last.
fn compare(case: &Value, found: &Survival, unit_wh: f64) {
    let n = found.trials as f64;
    for row in case["finite_horizon"].as_array().unwrap() {
        let days = row["steps"].as_u64().unwrap();
        let exact = number(&row["prob_no_unserved"]);
        let ours = found.surviving(days) as f64 / n;
        let within = WITHIN * (exact * (1.0 - exact) / n).sqrt() + 1e-12;
        println!("{days} days: {ours:.5} exact {exact:.5} within {within:.5}");
        assert!((ours - exact).abs() <= within, "{days} days: {ours} {exact}");
        if days < 30 {
            continue;
        }
        let unserved = (found.unserved_wh.mean() / unit_wh, found.unserved_wh.se() / unit_wh);
        for (key, (ours, se)) in [
            ("expected_loss_steps", (found.loss_days.mean(), found.loss_days.se())),
            ("expected_unserved_units", unserved),
        ] {
            let exact = number(&row[key]);
            println!("{key}: {ours:.5} exact {exact:.5} within {:.5}", WITHIN * se);
            assert!((ours - exact).abs() <= WITHIN * se, "{key}: {ours} {exact} {se}");
        }
    }
}

fn number(value: &Value) -> f64 {
    value.as_f64().or_else(|| value.as_str()?.parse().ok()).unwrap_or_else(|| panic!("{value}"))
}

/// A charger-only station on a random grid: it fills at `a`, drains at 1 W.
fn on_off(capacity_wh: f64, charge_w: f64, up: &Value, down: &Value, hours: u32) -> Value {
    let charger_a = ((charge_w + 1.0) / 12.8).min(1000.0);
    bench_with(&json!({
        "span": {"start": "2026-06-01T00:00", "hours": hours},
        "start": {"warmup_days": 30},
        "sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "arrays": null, "controllers": null,
        "battery": {"ideal": {"capacity_wh": capacity_wh}},
        "grid": {"random": {"up": up, "down": down}},
        "storm": "independent",
        "supply": {"rated_v": 13.8, "limit_a": 1000, "efficiency_share": 1.0, "no_load_w": 0,
            "joins": "charger_only", "charger": {"limit_a": charger_a, "set_points": {"absorption_v": 14.0}}},
        "loads": {"lamp": {"draw": {"power": {"power_w": 1}}}},
        "strategies": {"none": {"supply": "always"}}
    }))
}

fn exponential(mean_h: f64) -> Value {
    json!({"exponential": {"mean_h": mean_h}})
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
        let (ours, se) = (found.no_power_h.mean() / 480.0, found.no_power_h.se() / 480.0);
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
            let (ours, se) = (found.no_power_h.mean(), found.no_power_h.se());
            // Seconds of battery in each of some three outages.
            assert!((ours - exact).abs() <= WITHIN * se + 0.01, "{ours} {exact} {se}");
        }
    }
}
