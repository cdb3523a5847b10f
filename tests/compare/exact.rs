//! Trials that only one of two stations carries, where the chance of that is known exactly.
//!
//! Source: exact Markov chains of two batteries under the same days, computed with rationals,
//! `paired_exact` of `tests/reference/risk/rare_and_paired_exact.json`. One load of 10 W makes `load`
//! units a day, so a unit is `240 / load` Wh; gain and load run evenly over the 24 h, so that the
//! clamp of a day is that of its sum. B is a variant of A: both go through reading, checking, merging
//! and the step. Tolerance: 4.5 standard errors of a count of so many trials; exactly zero where the
//! chain says zero.

use serde_json::{Value, json};

use super::common::compared;
use super::support::{bench_with, reached, text};

const PAIRED: &str = "tests/reference/risk/rare_and_paired_exact.json";
const TRIALS: u64 = 5_000;
const WITHIN: f64 = 4.5;

fn number(value: &Value) -> f64 {
    value.as_f64().or_else(|| value.as_str()?.parse().ok()).unwrap_or_else(|| panic!("{value}"))
}

/// What a design of a case changes in the station.
fn design(of: &Value, unit_wh: f64) -> Value {
    json!({
        "battery": {"ideal": {"capacity_wh": number(&of["capacity"]) * unit_wh}},
        "sun": {"profile": {"day_types": {"types": {
            "sunny": {"sun_multiplier": {"fixed": of["gain_sunny"]}},
            "cloudy": {"sun_multiplier": {"fixed": of["gain_cloudy"]}}
        }}}}
    })
}

#[test]
fn what_only_one_of_two_carries_comes_out_of_the_same_days() {
    let all: Value = serde_json::from_str(&text(PAIRED)).unwrap();
    let cases = all["paired_exact"].as_array().unwrap();
    assert!(cases.len() >= 3);
    let (mut worst, mut cells) = (0.0_f64, 0);
    for (seed, case) in (900..).zip(cases) {
        let unit_wh = 240.0 / number(&case["load"]);
        let (stays, returns) =
            (number(&case["p_sunny_given_sunny"]), number(&case["p_cloudy_given_cloudy"]));
        let mut station = bench_with(&json!({
            "span": {"start": "2026-06-01T00:00", "hours": number(&case["days"]) * 24.0},
            "sun": {"profile": {"rated_share": vec![1.0; 24], "day_types": {
                "yesterday": "sunny",
                "chain": {"matrix": {"next_share": [[stays, 1.0 - stays], [1.0 - returns, returns]]}}
            }}},
            "arrays": {"a": {"rated_w": unit_wh / 24.0}}
        }));
        station["span"]["hours"] = json!(number(&case["days"]) as u64 * 24);
        super::support::merge(&mut station, &design(&case["A"], unit_wh));
        station["variants"] = json!({"B": design(&case["B"], unit_wh)});
        let comparison = compared(&station, seed, TRIALS);
        let pair = &comparison.pairs[0];
        assert_eq!((pair.a.as_str(), pair.b.as_str()), ("none", "B"));
        for (what, ours, key) in [
            ("both", pair.both, "p_both_ok"),
            ("only A", pair.only_a, "p_only_A_ok"),
            ("only B", pair.only_b, "p_only_B_ok"),
            ("neither", pair.neither, "p_both_fail"),
        ] {
            let exact = number(&case[key]);
            let share = ours as f64 / TRIALS as f64;
            let se = (exact * (1.0 - exact) / TRIALS as f64).sqrt();
            println!("{}: {what} {share:.4}, exact {exact:.4}, se {se:.4}", case["name"]);
            if exact == 0.0 {
                assert_eq!(ours, 0, "{}: {what}", case["name"]);
            } else {
                worst = worst.max((share - exact).abs() / se);
                cells += 1;
            }
        }
        let difference = number(&case["diff_B_minus_A"]);
        let [low, high] = pair.difference_newcombe_95;
        assert!(low < pair.difference && pair.difference < high);
        // 95 % of such intervals hold the truth; these three seeds, fixed beforehand, all do.
        assert!(low <= -difference && -difference <= high, "{}: {low} {high}", case["name"]);
    }
    reached(
        "chance",
        "Exact Markov chain of two batteries under the same days",
        "cells of the paired table through `compare`, 5e3 trials",
        cells,
        worst,
        WITHIN,
        "standard errors",
    );
}
