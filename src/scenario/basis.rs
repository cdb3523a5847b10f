//! Where a number comes from: carried beside it to every result.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::json_path::JsonPath;

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

/// Every number whose basis is given, in the order of a scenario written as JSON: the way to it, and
/// how well it is known. A basis may speak of a key further inside its object. What variants say is
/// theirs.
#[must_use]
pub fn stated(scenario: &Value) -> Vec<(JsonPath, Basis)> {
    fn walk(value: &Value, at: &JsonPath, found: &mut Vec<(JsonPath, Basis)>) {
        match value {
            Value::Object(fields) => {
                for (key, inner) in fields {
                    if at.steps().is_empty() && key == "variants" {
                        continue;
                    }
                    if key == "basis"
                        && let Ok(basis) = serde_json::from_value::<BasisOf>(inner.clone())
                    {
                        found.extend(basis.into_iter().map(|(key, known)| (at.key(&key), known)));
                    } else {
                        walk(inner, &at.key(key), found);
                    }
                }
            }
            Value::Array(items) => {
                for (index, inner) in items.iter().enumerate() {
                    walk(inner, &at.index(index), found);
                }
            }
            _ => {}
        }
    }
    let mut found = Vec::new();
    walk(scenario, &JsonPath::top(), &mut found);
    found
}

/// A number of the scenario whose basis is given.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// Where it stands: `arrays.roof.rated_w`.
    pub path: String,
    /// What stands there: a number, or a few of them.
    pub value: Value,
    /// Where it comes from.
    pub basis: Basis,
}

/// Every number of a scenario whose basis is given, in the order of the file.
#[must_use]
pub fn known_numbers(scenario: &super::Scenario) -> Vec<Known> {
    let Ok(whole) = serde_json::to_value(scenario) else { return Vec::new() };
    let known = stated(&whole).into_iter().map(|(path, basis)| Known {
        value: path.value_in(&whole).cloned().unwrap_or_default(),
        path: path.unquoted(),
        basis,
    });
    known.collect()
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
