//! How well each stated number is known.

use serde::Serialize;
use serde_json::Value;

use crate::scenario::Scenario;
use crate::scenario::basis::{Basis, known_numbers};
use crate::scenario::limits::KEY_UNITS;

/// A number with its unit and where it comes from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stated {
    /// Where it stands: `arrays.roof.rated_w`.
    pub path: String,
    /// What stands there, as people write it.
    pub value: String,
    /// Its unit; empty for a count, or where there are several.
    pub unit: &'static str,
    /// Where it comes from.
    pub basis: Basis,
}

/// Every number of a scenario whose basis is given: guesses first, then sheets, then measurements, each
/// in the order of the file.
#[must_use]
pub fn stated(scenario: &Scenario) -> Vec<Stated> {
    let mut all: Vec<Stated> = known_numbers(scenario)
        .into_iter()
        .map(|it| Stated {
            unit: unit_of(&it.path),
            value: written(&it.value),
            path: it.path,
            basis: it.basis,
        })
        .collect();
    all.sort_by_key(|it| match it.basis {
        Basis::Guess => 0,
        Basis::Datasheet => 1,
        Basis::Measured(_) => 2,
    });
    all
}

/// The unit that the longest known ending of the last key stands for, where it stands for one.
fn unit_of(path: &str) -> &'static str {
    let key = path.rsplit('.').next().unwrap_or(path);
    let ends = KEY_UNITS
        .iter()
        .filter(|(end, _)| key == *end || (end.starts_with('_') && key.ends_with(end)));
    match ends.max_by_key(|(end, _)| end.len()) {
        Some((_, [unit])) if *unit != "1" && *unit != "share" => unit,
        _ => "",
    }
}

fn written(value: &Value) -> String {
    match value {
        Value::Object(fields) => {
            let inner = fields.iter().map(|(key, value)| format!("{key} {}", written(value)));
            inner.collect::<Vec<_>>().join(", ")
        }
        Value::Array(items) => items.iter().map(written).collect::<Vec<_>>().join(", "),
        Value::String(text) => text.clone(),
        Value::Number(number) => match number.as_f64() {
            // 100.0 is written 100.
            Some(value) => format!("{value}"),
            None => number.to_string(),
        },
        Value::Null => "as the default".to_owned(),
        Value::Bool(value) => value.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_follow_the_ending_of_the_key() {
        assert_eq!(unit_of("arrays.roof.rated_w"), "W");
        assert_eq!(unit_of("arrays.roof.loss_share"), "");
        assert_eq!(unit_of("battery.lithium_iron_phosphate.capacity_ah"), "Ah");
        assert_eq!(unit_of("battery.lithium_iron_phosphate.strings"), "");
    }

    #[test]
    fn values_are_written_without_needless_digits() {
        assert_eq!(written(&serde_json::json!(100.0)), "100");
        assert_eq!(
            written(&serde_json::json!({"soiling": 0.02, "age": 0.03})),
            "soiling 0.02, age 0.03"
        );
        assert_eq!(written(&serde_json::json!([1, 2.5])), "1, 2.5");
    }
}
