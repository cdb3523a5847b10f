//! Where a number comes from: carried beside it to every result.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How well a number is known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Measured on this very part, on the date given.
    Measured(chrono_date::Date),
    /// From the maker's sheet or the label.
    Datasheet,
    /// Nobody looked: a guess.
    Guess,
}

/// `basis` of an object: field name to where its number comes from.
pub type BasisOf = super::Named<Basis>;

/// A number of the scenario whose basis is given.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// Where it stands: `arrays.roof.rated_w`.
    pub path: String,
    /// What stands there: a number, or a few of them.
    pub value: serde_json::Value,
    /// Where it comes from.
    pub basis: Basis,
}

/// Every number of a scenario whose basis is given, in the order of the file.
#[must_use]
pub fn known_numbers(scenario: &super::Scenario) -> Vec<Known> {
    let mut found = Vec::new();
    if let Ok(value) = serde_json::to_value(scenario) {
        walk(&value, "", &mut found);
    }
    found
}

fn walk(value: &serde_json::Value, path: &str, found: &mut Vec<Known>) {
    match value {
        serde_json::Value::Object(fields) => {
            for (key, inner) in fields {
                if key == "basis"
                    && let Ok(basis) = serde_json::from_value::<BasisOf>(inner.clone())
                {
                    let known = basis.into_iter().map(|(field, basis)| Known {
                        path: format!("{path}{field}"),
                        value: fields.get(&field).cloned().unwrap_or_default(),
                        basis,
                    });
                    found.extend(known);
                    continue;
                }
                walk(inner, &format!("{path}{key}."), found);
            }
        }
        serde_json::Value::Array(items) => {
            for (at, inner) in items.iter().enumerate() {
                let path = path.trim_end_matches('.');
                walk(inner, &format!("{path}[{at}]."), found);
            }
        }
        _ => {}
    }
}

/// A calendar date that the schema knows as a date.
pub mod chrono_date {
    use super::{Deserialize, JsonSchema, Serialize};

    /// `YYYY-MM-DD`.
    #[derive(
        Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
    )]
    #[serde(transparent)]
    pub struct Date(#[schemars(with = "String", extend("format" = "date"))] pub chrono::NaiveDate);
}
