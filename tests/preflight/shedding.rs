//! A shedding rule against the sun.

use longwatch::decide::preflight::{Finding, Severity, Subject};
use serde_json::{Value, json};

use super::common::{findings, one};
use super::support::{bench_with, merge};

/// 128 Ah at 12.8 V, 80 W by the fullest tier: a night of eight and a half hours takes 680 Wh and
/// leaves less than 0.6, and 300 W of panels fill it again by dusk.
fn station(patch: &Value) -> Vec<Finding> {
    let sun: Vec<f64> =
        (0..24).map(|hour| if (7..17).contains(&hour) { 0.6 } else { 0.0 }).collect();
    let mut value = bench_with(&json!({
        "span": {"start": "2026-06-01T20:00", "hours": 72},
        "sun": {"profile": {"rated_share": sun}},
        "arrays": {"a": {"rated_w": 100, "count": 3}},
        "battery": {"ideal": {"capacity_wh": 1638.0}},
        "loads": {"lamp": {"draw": {"power": {"power_w": 80}}},
            "set": {"group": "all", "draw": {"power": {"power_w": 5}}}},
        "tiers": [{"name": "full traffic", "loads": {"lamp": {}, "set": {}}},
            {"name": "listen", "loads": {"set": {}}}],
        "shedding": {"decide_at": ["sunrise", "sunset"], "down_below_share": [0.6],
            "up_above_share": [0.7]}
    }));
    merge(&mut value, patch);
    findings(&value)
}

#[test]
fn a_rule_that_spends_by_night_and_sheds_by_day_is_a_caution() {
    let found = station(&json!({}));
    let it = one(&found, Subject::SheddingRule, "shedding", "fullest tier by day");
    assert_eq!(it.severity, Severity::Caution);
    assert_eq!((it.path.as_str(), it.unit), ("shedding", "share"));
    assert!(it.value.is_some_and(|by_day| by_day < 0.05), "{it:?}");
    assert!(it.limit.is_some_and(|by_night| by_night > 0.95), "{it:?}");
    assert!(it.sentence.starts_with("“full traffic” is in force for"), "{it:?}");
    assert!(it.sentence.contains("sheds while the sun does"), "{it:?}");
    assert!(it.mend.as_deref().is_some_and(|mend| mend.contains("dusk")), "{it:?}");
}

#[test]
fn rules_that_stand_upright_are_none() {
    let none = |patch: Value| {
        let found = station(&patch);
        let any = found.iter().any(|it| it.subject == Subject::SheddingRule);
        assert!(!any, "{patch}: {found:#?}");
    };
    // Enough for all hours; nearly enough; somebody looks each hour; nothing to charge with; too short.
    none(json!({"battery": {"ideal": {"capacity_wh": 9000.0}}}));
    none(json!({"shedding": {"decide_at": ["09:00", "sunset"], "down_below_share": [0.3],
        "up_above_share": [0.4]}}));
    none(json!({"shedding": {"decide_at": ["hourly"]}}));
    none(json!({"arrays": {"a": null}, "controllers": {"a": null}}));
    none(json!({"span": {"hours": 10}}));
}
