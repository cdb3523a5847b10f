//! A station on a bench whose every wire and fuse is stated, and how its findings are looked up.

use longwatch::decide::preflight::{Finding, Severity, Subject, preflight};
use longwatch::scenario::Scenario;
use longwatch::simulate::single;
use serde_json::{Value, json};

use super::support::{bench_with, merge, plan_of};

/// A small lithium station without a fault: 4 cells of 100 Ah, one set, one converter, a supply.
pub fn sound() -> Value {
    bench_with(&json!({
        "title": "sound",
        "sun": {"profile": {"rated_share": vec![0.2; 24], "air_c": -10}},
        "arrays": {"a": {"datasheet": {"isc_a": 5.8, "voc_v": 22.4, "imp_a": 5.4, "vmp_v": 18.6},
            "lead": {"wire": {"mm2": 6, "one_way_m": 3, "insulation_c": 90}}}},
        "controllers": {"a": {"mppt": {"output_limit_a": 20, "input_limit_v": 50,
            "set_points": {"absorption_v": 14.2, "float_v": 13.5, "tail_a": 2},
            "lead": {"wire": {"mm2": 10, "one_way_m": 1, "insulation_c": 90},
                "fuse": {"rated_a": 30, "interrupt_a": 10000, "rated_v": 58, "from_source_m": 0.1}}}}},
        "battery": {"ideal": null, "lithium_iron_phosphate": {"cells_in_series": 4,
            "capacity_ah": 100, "charge_limit_a": 50, "discharge_limit_a": 100,
            "cell_overvoltage_v": 3.75, "short_circuit_a": 2000}},
        "supply": {"rated_v": 13.8, "limit_a": 30, "efficiency_share": 0.88, "joins": "changeover",
            "charger": {"limit_a": 20, "set_points": {"absorption_v": 14.2, "float_v": 13.5, "tail_a": 3}},
            "lead": {"wire": {"mm2": 16, "one_way_m": 1, "insulation_c": 90},
                "fuse": {"rated_a": 40, "interrupt_a": 10000, "rated_v": 58, "from_source_m": 0.1}}},
        "disconnect": {"disconnect_v": 12.0, "reconnect_v": 12.9},
        "main_feed": {"wire": {"mm2": 16, "one_way_m": 1, "insulation_c": 90},
            "fuse": {"rated_a": 40, "interrupt_a": 10000, "rated_v": 58, "from_source_m": 0.1}},
        "outlet_groups": {"all": null, "bench": {"limit_a": 20, "on_supply": true,
            "wire": {"mm2": 10, "one_way_m": 2, "insulation_c": 90},
            "fuse": {"rated_a": 25, "interrupt_a": 5000, "rated_v": 32, "from_source_m": 0.05}}},
        "loads": {
            "set": {"group": "bench", "operator": "A", "window_v": [11.5, 15.8],
                "transmit_share": 0.2, "draw": {"current": {"receive_a": 1, "transmit_a": 11}}},
            "lamp": {"group": "bench", "draw": {"power": {"power_w": 12}}}
        },
        "tiers": [{"name": "on", "loads": {"set": {}, "lamp": {}}}]
    }))
}

/// The sound station with a patch.
pub fn with(patch: &Value) -> Value {
    let mut value = sound();
    merge(&mut value, patch);
    value
}

/// The findings of a station given as JSON.
pub fn findings(value: &Value) -> Vec<Finding> {
    let scenario: Scenario =
        serde_json::from_value(value.clone()).unwrap_or_else(|e| panic!("{e}"));
    let plan = plan_of(value);
    preflight(&scenario, &plan, &single::run(&plan))
}

/// What is not as it should be: subject and item.
pub fn faults(findings: &[Finding]) -> Vec<(Subject, Severity, String)> {
    findings
        .iter()
        .filter(|it| it.severity <= Severity::Caution)
        .map(|it| (it.subject, it.severity, it.item.clone()))
        .collect()
}

/// The only finding of a subject about an item, with these words in `what`.
pub fn one<'a>(findings: &'a [Finding], subject: Subject, item: &str, what: &str) -> &'a Finding {
    let mut found = findings
        .iter()
        .filter(|it| it.subject == subject && it.item == item && it.what.contains(what));
    let first = found.next().unwrap_or_else(|| panic!("no {subject:?} of {item}: {findings:#?}"));
    assert!(found.next().is_none(), "two of {subject:?} of {item}");
    first
}
