//! Small stations with choices, and their sizing.

use std::path::Path;

use longwatch::decide::size::{Minimize, Options, Sizing, Trouble, size};
use longwatch::scenario::Scenario;
use longwatch::simulate::trials::Watch;
use serde_json::{Value, json};

use super::support::bench_with;

/// A lamp of 30 W under days that are sunny or cloudy by chance: ten days.
pub fn lamp(patch: &Value) -> Scenario {
    let types = json!({
        "types": {"sunny": {"sun_multiplier": {"uniform": [0.8, 1.2]}}, "cloudy": {"sun_multiplier": {"fixed": 0.1}}},
        "chain": {"matrix": {"next_share": [[0.72, 0.28], [0.42, 0.58]]}}
    });
    let mut value = bench_with(&json!({
        "span": {"start": "2026-06-01T00:00", "hours": 240},
        "sun": {"profile": {"rated_share": vec![1.0; 24], "day_types": types}},
        "arrays": {"a": {"rated_w": 10.0}},
        "loads": {"lamp": {"draw": {"power": {"power_w": 30.0}}}},
        "sizing": {
            "panels": {"array": "a", "counts": [2, 3, 4, 5, 6, 8, 10], "each": {"price": 10, "mass_kg": 8}},
            "battery": {"sizes": (1..=6).map(|step| json!({
                "capacity_wh": 720 * step, "price": 60 * step, "mass_kg": 6 * step
            })).collect::<Vec<_>>()}
        }
    }));
    super::support::merge(&mut value, patch);
    serde_json::from_value(value).unwrap()
}

pub fn options(readiness: f64, trials: u64) -> Options {
    Options {
        target_chance: readiness,
        lowest_tier: None,
        lines: true,
        minimize: Some(Minimize::Cost),
        trials,
        seed: 7,
        threads: 1,
    }
}

pub fn sized(scenario: &Scenario, options: &Options) -> Sizing {
    attempt(scenario, options).unwrap_or_else(|trouble| panic!("{trouble:?}"))
}

pub fn attempt(scenario: &Scenario, options: &Options) -> Result<Sizing, Trouble> {
    size(scenario, Path::new("scenarios"), options, &Watch::default())
}
