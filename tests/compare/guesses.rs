//! How far a guess may be off: by what the number is, never by how a part is called.

use longwatch::scenario::json_path::JsonPath;
use longwatch::scenario::limits::LIMITS;
use longwatch::scenario::limits::guesses::Range::{Plus, Times};
use longwatch::scenario::limits::guesses::{GUESSED, GUESSED_BY_UNIT, limit_of, range_of};

#[test]
fn every_number_has_its_range_and_every_row_a_number() {
    for (path, _) in GUESSED {
        let rows = LIMITS.iter().filter(|limit| limit.path == *path).count();
        assert_eq!(rows, 1, "{path}");
    }
    for limit in LIMITS {
        let known = GUESSED_BY_UNIT.iter().any(|(unit, _)| *unit == limit.unit);
        assert!(known, "{}: no range for {}", limit.path, limit.unit);
    }
}

#[test]
fn a_range_is_that_of_the_place_whatever_parts_are_called() {
    let range = |keys: &[&str]| limit_of(&JsonPath::keys(keys)).map(range_of);
    // A resistance, and a load or an array that is called like one.
    let ohm = ["battery", "lead_acid", "resistance_ohm"];
    assert_eq!(range(&ohm), Some(Times(0.5, 2.0)));
    for name in ["lamp", "resistance_ohm", "transmit_share", "loss_share", "count", "lag_h"] {
        assert_eq!(range(&["loads", name, "draw", "power", "power_w"]), Some(Times(0.8, 1.2)));
        assert_eq!(range(&["arrays", name, "rated_w"]), Some(Times(0.9, 1.05)));
    }
    assert_eq!(range(&["arrays", "a", "loss_share", "efficiency_share"]), Some(Times(0.5, 1.5)));
    let bulk = ["supply", "charger", "set_points", "absorption_v"];
    assert_eq!(range(&bulk), Some(Plus(-0.2, 0.2)));
    let of_list = JsonPath::keys(&["sun", "climate", "air_mean_c"]).index(3);
    assert_eq!(limit_of(&of_list).map(range_of), Some(Plus(-3.0, 3.0)));
    assert_eq!(range(&["arrays", "a", "no such key"]), None);
}

#[test]
fn a_guess_stays_within_its_limit() {
    let at = |keys: &[&str], value: f64| {
        let limit = limit_of(&JsonPath::keys(keys)).unwrap();
        range_of(limit).ends(value, limit)
    };
    let near = |found: [f64; 2], ends: [f64; 2]| {
        for (found, end) in found.iter().zip(ends) {
            assert!((found - end).abs() < 1e-12, "{found} {end}");
        }
    };
    // 14.3 V is off by 0.2 V, not by a fifth.
    near(at(&["supply", "rated_v"], 14.3), [14.1, 14.5]);
    near(at(&["battery", "lead_acid", "resistance_ohm"], 0.01), [0.005, 0.02]);
    near(at(&["arrays", "a", "azimuth_deg"], 5.0), [355.0, 15.0]);
    near(at(&["arrays", "a", "tilt_deg"], 85.0), [75.0, 90.0]);
    near(at(&["arrays", "a", "pmax_per_c"], -0.004), [-0.0032, -0.0048]);
    near(at(&["supply", "efficiency_share"], 0.98), [0.93, 1.0]);
    near(at(&["battery", "lead_acid", "age_capacity_share"], 0.12), [0.1, 0.17]);
    near(at(&["arrays", "a", "loss_share", "age"], 0.8), [0.4, 0.9]);
}
