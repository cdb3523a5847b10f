//! Clubs to test with.

use std::path::{Path, PathBuf};

use longwatch::plan::club::{ExaminedClub, GoodClub, examine_club};
use longwatch::simulate::trials::Options;
use longwatch::simulate::trials::club::{ClubPlan, prepare_club};
use serde_json::{Value, json};

/// Where the shipped scenarios are.
pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios")
}

/// The shipped club.
pub fn weekend() -> Value {
    let text = std::fs::read_to_string(folder().join("club-weekend.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

/// A small club: lamps at two stations on ideal packs of 128 Wh that a mains supply of 64 W charges.
/// No sun, no losses, nothing drawn: every number can be had by hand.
pub fn lamps() -> Value {
    let lamp = |w: f64| {
        json!({"inline": {
            "loads": {"lamp": {"group": "all", "draw": {"power": {"power_w": w}}}},
            "tiers": [{"name": "on", "loads": {"lamp": {}}}]
        }})
    };
    json!({
        "format": 2, "title": "lamps",
        "common": {
            "site": {"latitude_deg": 45.0, "longitude_deg": 0.0, "clock": {"fixed_offset": "+00:00"}},
            "span": {"start": "2026-06-01T00:00", "hours": 12},
            "sun": {"profile": {"rated_share": vec![0.0; 24]}},
            "grid": "always",
            "windows": {"early": {"from": "00:00", "to": "06:00"}},
            "outlet_groups": {"all": {"limit_a": 100}}
        },
        "stations": {
            "a": {"from": lamp(16.0), "swap": {"below_share": 0.45, "handover": "bridged"}},
            "b": {"from": lamp(8.0), "swap": {"below_share": 0.45, "handover": "bridged"}}
        },
        "packs": {
            "battery": {"ideal": {"capacity_wh": 128.0, "empty_v": 12.8, "full_v": 12.8}},
            "each": {"one": {"at": "a"}, "two": {"at": "b"}, "three": {}}
        },
        "charging_point": {
            "from": {"inline": {
                "supply": {"rated_v": 13.0, "limit_a": 5.0, "efficiency_share": 1.0, "joins": "charger_only",
                    "charger": {"limit_a": 5.0, "set_points": {"absorption_v": 13.0}}}
            }},
            "done_above_share": 0.99
        }
    })
}

pub fn examined(club: &Value) -> ExaminedClub {
    examine_club(&format!("{club:#}"), "club.json", &folder())
}

pub fn good(club: &Value) -> GoodClub {
    let examined = examined(club);
    let told: Vec<String> = examined.problems.iter().map(|it| it.render(false)).collect();
    examined.club.unwrap_or_else(|| panic!("{}", told.join("\n")))
}

pub fn prepared(club: &Value, seed: u64) -> (GoodClub, ClubPlan) {
    let good = good(club);
    let options = Options { seed, ..Options::default() };
    let plan = prepare_club(&good, options).unwrap_or_else(|it| panic!("{it:?}"));
    (good, plan)
}

/// Merges a patch into a club.
pub fn with(mut club: Value, patch: &Value) -> Value {
    crate::support::merge(&mut club, patch);
    club
}
