//! Good stations, on which nothing serious is invented, and no caution beyond those that are known.

use longwatch::decide::preflight::{Severity, Subject, preflight};
use longwatch::simulate::single;
use serde_json::{Value, json};

use super::common::{faults, findings, sound, with};
use super::shipped::shipped;
use super::support::{bench, bench_with};

/// The cautions that a shipped station deserves, under every strategy: its cells are too cold to charge
/// for part of the winter, which its notes say.
fn deserved(name: &str) -> Vec<(Subject, Severity, String)> {
    match name {
        "cold-node" | "ridge-relay" => {
            vec![(Subject::ColdCharging, Severity::Caution, "battery".to_owned())]
        }
        _ => Vec::new(),
    }
}

#[test]
fn shipped_stations_have_nothing_serious_and_no_other_caution_under_any_strategy() {
    for shipped in shipped() {
        for strategy in shipped.strategies() {
            let plan = shipped.plan(&strategy);
            let mut scenario = shipped.scenario.clone();
            scenario.strategy.clone_from(&strategy);
            let found = preflight(&scenario, &plan, &single::run(&plan));
            let faults = faults(&found);
            assert_eq!(faults, deserved(&shipped.name), "{}, {strategy}", shipped.name);
            assert!(found.len() > 10, "{}: {} findings", shipped.name, found.len());
        }
    }
}

/// All stated, all sound: not even a caution, and nothing that was not examined.
#[test]
fn a_station_whose_every_part_is_stated_is_as_it_should_be() {
    let found = findings(&sound());
    assert_eq!(faults(&found), []);
    let unexamined: Vec<_> = found.iter().filter(|it| it.value.is_none()).collect();
    assert!(unexamined.is_empty(), "{unexamined:#?}");
    assert!(found.len() > 45, "{}", found.len());
    for finding in &found {
        assert!(!finding.basis.is_empty(), "{finding:?}");
        assert!(finding.sentence.ends_with('.') && finding.sentence.len() > 20, "{finding:?}");
        assert_eq!(finding.mend, None, "{finding:?}");
    }
}

/// Stations of other kinds, each sound in its way.
fn others() -> Vec<(&'static str, Value)> {
    let acid = |kind: &str, more: Value| {
        let mut acid = json!({"kind": kind, "cells_in_series": 6, "capacities": [
            {"discharge_h": 20, "capacity_ah": 100}, {"discharge_h": 1, "capacity_ah": 60}],
            "resistance_ohm": 0.006, "rated_absorption_v": 14.4, "short_circuit_a": 2100});
        super::support::merge(&mut acid, &more);
        let charge = json!({"absorption_v": 14.4, "float_v": 13.6, "tail_a": 2,
            "compensation_v_per_k": -0.024});
        with(&json!({"battery": {"lithium_iron_phosphate": null, "lead_acid": acid},
            "disconnect": {"disconnect_v": 11.8},
            "controllers": {"a": {"mppt": {"output_limit_a": 10, "set_points": charge}}},
            "supply": {"charger": {"limit_a": 15, "set_points": charge}}}))
    };
    vec![
        ("nothing but a bench", bench()),
        ("no supply, no disconnect", with(&json!({"supply": null, "disconnect": null}))),
        ("no panels", with(&json!({"arrays": null, "controllers": null}))),
        (
            "nothing stated of wires",
            with(&json!({"main_feed": null, "outlet_groups": {"bench":
            {"wire": null, "fuse": null}}, "controllers": {"a": {"mppt": {"lead": null}}}})),
        ),
        ("sealed lead-acid", acid("agm", json!({}))),
        (
            "vented lead-acid",
            acid("flooded", json!({"charge_limit_a": 25, "vent_opening_cm2": 20})),
        ),
        (
            "one cell",
            bench_with(&json!({
                "arrays": {"a": {"rated_w": 5}},
                "controllers": {"a": {"mppt": {"output_limit_a": 1, "set_points": {"absorption_v": 3.5}}}},
                "battery": {"ideal": null, "lithium_iron_phosphate": {"cells_in_series": 1,
                    "capacity_ah": 10, "charge_limit_a": 3, "discharge_limit_a": 5}},
                "loads": {"lamp": {"draw": {"power": null, "current": {"receive_a": 0.02}}}}
            })),
        ),
        (
            "48 V",
            bench_with(&json!({
                "controllers": {"a": {"mppt": {"output_limit_a": 20, "set_points": {"absorption_v": 56.8}}}},
                "battery": {"ideal": null, "lithium_iron_phosphate": {"cells_in_series": 16,
                    "capacity_ah": 50, "charge_limit_a": 25, "discharge_limit_a": 50}},
                "loads": {"lamp": {"window_v": [40, 60]}}
            })),
        ),
    ]
}

#[test]
fn other_good_stations_have_nothing_serious_and_no_other_caution() {
    for (name, value) in others() {
        // What nobody has said of fuses is no fault of the rest: see `fused`.
        let found: Vec<_> = faults(&findings(&value));
        let rest: Vec<_> = found.into_iter().filter(|it| it.0 != Subject::Fused).collect();
        assert_eq!(rest, [], "{name}");
    }
}

/// A station that never charges below freezing is told of no cold; one with its battery in a warm
/// place either.
#[test]
fn what_is_not_stated_is_not_examined_and_never_guessed() {
    let found = findings(&bench());
    let unexamined = found.iter().filter(|it| it.value.is_none() && it.subject != Subject::Fused);
    for finding in unexamined.clone() {
        assert_eq!(finding.severity, Severity::Note, "{finding:?}");
        assert!(finding.sentence.starts_with("Not stated"), "{finding:?}");
    }
    assert!(unexamined.count() >= 3);
    let serious = found.iter().filter(|it| it.severity == Severity::Serious);
    assert!(serious.clone().all(|it| it.subject == Subject::Fused), "{found:#?}");
    assert!(serious.count() >= 1);
}
