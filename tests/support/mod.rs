//! What several test files need: small stations as JSON, and a table of figures reached.
#![allow(dead_code)]

pub mod books;
pub mod figures;
pub mod lanes;
#[cfg(feature = "png")]
pub mod measure;
pub mod retired;
pub mod shipped;
pub mod stations;
pub mod texts;

use std::path::Path;

use longwatch::plan::{Plan, compile::compile};
use longwatch::scenario::Scenario;
use longwatch::simulate::ledger::Ledger;
use longwatch::simulate::single;
use serde_json::{Value, json};

/// A bench station at 45 N: one tracking controller fed by the same plane irradiance all day, an
/// ideal 12.8 V battery, one lamp. Tests merge their own parts into it.
pub fn bench() -> Value {
    json!({
        "format": 2, "title": "bench",
        "site": {"latitude_deg": 45.0, "longitude_deg": 0.0, "clock": {"fixed_offset": "+00:00"}},
        "span": {"start": "2026-06-01T00:00", "hours": 24},
        "sun": {"profile": {"rated_share": vec![1.0; 24]}},
        "arrays": {"a": {"rated_w": 100.0, "count": 1, "tilt_deg": 0, "azimuth_deg": 180, "controller": "a"}},
        "controllers": {"a": {"mppt": {"efficiency_share": 1.0, "output_limit_a": 1000.0,
            "set_points": {"absorption_v": 14.0}}}},
        "battery": {"ideal": {"capacity_wh": 1280.0, "empty_v": 12.8, "full_v": 12.8}},
        "outlet_groups": {"all": {"limit_a": 100}},
        "loads": {"lamp": {"group": "all", "draw": {"power": {"power_w": 10}}}},
        "tiers": [{"name": "on", "loads": {"lamp": {}}}],
        "strategy": "none", "strategies": {"none": {"supply": "never"}}
    })
}

/// JSON merge patch (RFC 7396).
pub fn merge(target: &mut Value, patch: &Value) {
    match (target, patch) {
        (Value::Object(into), Value::Object(fields)) => {
            for (key, value) in fields {
                if value.is_null() {
                    into.remove(key);
                } else {
                    merge(into.entry(key.clone()).or_insert(Value::Null), value);
                }
            }
        }
        (target, patch) => *target = patch.clone(),
    }
}

/// The bench with a patch.
pub fn bench_with(patch: &Value) -> Value {
    let mut value = bench();
    merge(&mut value, patch);
    value
}

/// Compiles a scenario given as JSON.
pub fn plan_of(value: &Value) -> Plan {
    let scenario: Scenario =
        serde_json::from_value(value.clone()).unwrap_or_else(|e| panic!("{e}\n{value:#}"));
    compile(&scenario, None, Vec::new()).unwrap_or_else(|e| panic!("{e:?}"))
}

/// Runs a scenario given as JSON.
pub fn run(value: &Value) -> Ledger {
    single::run(&plan_of(value))
}

/// Text of a file below the repository.
pub fn text(path: &str) -> String {
    let whole = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    std::fs::read_to_string(&whole).unwrap_or_else(|e| panic!("{}: {e}", whole.display()))
}

/// Rows of a reference table: its comment lines are its source.
pub fn table(path: &str) -> (Vec<String>, Vec<Vec<String>>) {
    let text = text(path);
    let mut reader =
        csv::ReaderBuilder::new().comment(Some(b'#')).flexible(true).from_reader(text.as_bytes());
    let heads = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let rows =
        reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect();
    (heads, rows)
}

/// Enters the worst difference of a check into `target/figures/ROOM-TEST.csv`, then insists on it.
pub fn reached(
    room: &'static str,
    source: &str,
    quantity: &str,
    cases: usize,
    worst_difference: f64,
    tolerance: f64,
    unit: &'static str,
) {
    figures::Check::new(room, source, quantity, unit, tolerance).worst_of(cases, worst_difference);
}
