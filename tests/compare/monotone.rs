//! More battery or more panel never loses a trial where no rule reads the charge.
//!
//! A relation, no source: with the same skies, outages and loads, and nothing that switches by charge
//! or volts, a station with more of either holds at least as much at every instant. The stations are
//! those of `support/stations.rs` without shedding, top-up, engine, heater, disconnect and float.

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use serde_json::{Value, json};

use super::common::compared;
use super::stations::station;
use super::support::merge;

const TRIALS: u64 = 120;
const STATIONS: usize = 30;

/// A random station that no rule reads the charge of; `None` where its kind cannot be so.
fn without_rules(kinds: &super::stations::Kinds, mut value: Value) -> Option<Value> {
    if kinds.controller != "mppt" || !matches!(kinds.battery, "ideal" | "lithium 4s") {
        return None;
    }
    if matches!(kinds.strategy, "top up" | "warned") || kinds.joins == "bus" {
        return None;
    }
    for key in ["shedding", "disconnect", "generator", "vehicle", "snow", "warning", "attended"] {
        value.as_object_mut()?.remove(key);
    }
    let days = json!({
        "types": {"clear": {"sun_multiplier": {"uniform": [0.6, 1.0]}}, "dark": {"sun_multiplier": {"uniform": [0.0, 0.3]}}},
        "chain": {"shares": {"type_share": [0.4, 0.6], "lag1_correlation": 0.3}}
    });
    merge(&mut value, &json!({"sun": {"profile": {"day_types": days}}}));
    let steady = json!({"float_v": null, "tail_a": null, "recharge_below_v": null});
    for controller in value["controllers"].as_object_mut()?.values_mut() {
        merge(&mut controller["mppt"]["set_points"], &steady);
    }
    if value["supply"]["charger"].is_object() {
        merge(&mut value["supply"]["charger"]["set_points"], &steady);
    }
    let radio = value["loads"]["radio"].as_object_mut()?;
    radio.remove("window_v");
    let (bigger, count) = match kinds.battery {
        "ideal" => {
            let wh = value["battery"]["ideal"]["capacity_wh"].as_f64()?;
            (json!({"ideal": {"capacity_wh": wh * 1.3}}), 2)
        }
        _ => {
            let cells = &mut value["battery"]["lithium_iron_phosphate"];
            merge(
                cells,
                &json!({"heater": null, "cutoff_reset": null, "discharge_limit_a": 1000.0,
                "temperature": {"follows_air": null, "fixed_c": 15.0}}),
            );
            (json!({"lithium_iron_phosphate": {"strings": 2}}), 2)
        }
    };
    value["variants"] = json!({
        "more battery": {"battery": bigger},
        "more panel": {"arrays": {"roof": {"count": count}}}
    });
    Some(value)
}

#[test]
fn more_battery_or_panel_never_loses_a_trial() {
    let mut runner = TestRunner::deterministic();
    let strategy = station();
    let (mut met, mut won) = (0, 0);
    while met < STATIONS {
        let (kinds, value) = strategy.new_tree(&mut runner).unwrap().current();
        let Some(value) = without_rules(&kinds, value) else { continue };
        let examined = longwatch::plan::check::examine(
            &format!("{value:#}"),
            "random.json",
            std::path::Path::new(""),
        );
        if !examined.problems.list.is_empty() {
            continue;
        }
        met += 1;
        let comparison = compared(&value, 31 + met as u64, TRIALS);
        for at in 1..comparison.stations.len() {
            let pair = comparison.pair(0, at).unwrap();
            assert_eq!(pair.only_a, 0, "{kinds:?} {pair:?}\n{value:#}");
            won += pair.only_b;
        }
    }
    assert!(won > 20, "nothing is won: the check says nothing ({won})");
}
