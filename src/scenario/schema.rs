//! The JSON Schema of the scenario file, made from its types and from the table of limits.
//!
//! Dialect: JSON Schema draft 2020-12. Numbers carry their range and `x-unit`; `null` is not
//! offered, because an absent value is written by leaving its key out.

use std::sync::OnceLock;

use serde_json::Value;

use super::Scenario;
use super::club::Club;
use super::limits::{self, CLUB_LIMITS, LIMITS};

/// The schema of a scenario file, its keywords in no order: what a file is judged by.
pub fn schema() -> &'static Value {
    static SCHEMA: OnceLock<Value> = OnceLock::new();
    SCHEMA.get_or_init(|| finished(schemars::schema_for!(Scenario).to_value(), LIMITS))
}

/// The same for people, `$schema` and `title` first: written out by the crate itself, which takes
/// several times as long.
#[must_use]
pub fn printed() -> Value {
    finished(serde_json::to_value(schemars::schema_for!(Scenario)).unwrap_or_default(), LIMITS)
}

/// That of a club's file for people.
#[must_use]
pub fn club_printed() -> Value {
    finished(serde_json::to_value(schemars::schema_for!(Club)).unwrap_or_default(), CLUB_LIMITS)
}

/// The schema of a club's file; its parts of scenarios are open objects.
pub fn club_schema() -> &'static Value {
    static SCHEMA: OnceLock<Value> = OnceLock::new();
    SCHEMA.get_or_init(|| finished(schemars::schema_for!(Club).to_value(), CLUB_LIMITS))
}

fn finished(mut schema: Value, table: &'static [limits::Limit]) -> Value {
    tidy(&mut schema);
    limits::write_into(&mut schema, table);
    schema
}

/// Takes `null` away and joins the lines of descriptions.
fn tidy(node: &mut Value) {
    match node {
        Value::Array(items) => items.iter_mut().for_each(tidy),
        Value::Object(map) => {
            if let Some(Value::Array(types)) = map.get_mut("type") {
                types.retain(|name| name != "null");
                if let [only] = types.as_slice() {
                    let only = only.clone();
                    map.insert("type".to_owned(), only);
                }
            }
            if map.get("default").is_some_and(Value::is_null) {
                map.shift_remove("default");
            }
            if let Some(Value::Array(branches)) = map.get_mut("anyOf") {
                branches.retain(|branch| branch.get("type").is_none_or(|name| name != "null"));
                if let [Value::Object(only)] = branches.as_slice() {
                    let only = only.clone();
                    map.shift_remove("anyOf");
                    for (key, value) in only {
                        map.entry(key).or_insert(value);
                    }
                }
            }
            if let Some(Value::String(text)) = map.get_mut("description") {
                *text = text.replace('\n', " ");
            }
            map.values_mut().for_each(tidy);
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::{printed, schema};

    #[test]
    fn the_schema_offers_no_null_and_refuses_unknown_keys() {
        let text = schema().to_string();
        assert!(!text.contains("\"null\"") && !text.contains(":null"), "{text}");
        assert_eq!(schema()["$schema"], "https://json-schema.org/draft/2020-12/schema");
        assert_eq!(schema()["additionalProperties"], false);
        assert_eq!(schema()["$defs"]["Load"]["additionalProperties"], false);
    }

    #[test]
    fn what_is_printed_is_what_judges() {
        assert_eq!(printed(), *schema());
        let text = printed().to_string();
        assert!(text.starts_with("{\"$schema\""), "{}", &text[..80]);
    }
}
