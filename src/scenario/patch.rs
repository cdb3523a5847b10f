//! JSON Merge Patch: what a variant changes in a scenario.
//!
//! RFC 7386 (P. Hoffman, J. Snell, October 2014), section 2, word for word the same in RFC 7396,
//! which replaces it: an object in the patch is merged into the object at its place, `null` takes a
//! key away, anything else (a list as a whole too) takes the place of what was there. Keys keep
//! the order of the file, and new ones come last: crates at hand move the last key to the place of
//! one that is taken away, and parts of a station are kept in the order of the file. Trust: exact.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// Keyword of the schema of a patch: what stands below is checked once it is merged.
pub(super) const IS_PATCH: &str = "x-merge-patch";
/// Keys of a scenario that a variant cannot change: trials are drawn and counted by them.
pub const NOT_IN_A_PATCH: [&str; 3] = ["format", "span", "variants"];

/// What a variant changes: a merge patch of the scenario around it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Patch(pub Map<String, Value>);

impl JsonSchema for Patch {
    fn schema_name() -> Cow<'static, str> {
        "Patch".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "object",
            "description": "What a variant changes: a merge patch (RFC 7386) of the scenario. Keys as in the scenario; `null` takes a part away, a list takes the place of the whole list.",
            "x-merge-patch": true
        })
    }
}

/// `base` with `patch` merged into it.
#[must_use]
pub fn merged(base: &Value, patch: &Value) -> Value {
    let Value::Object(changes) = patch else { return patch.clone() };
    let mut whole = base.as_object().cloned().unwrap_or_else(Map::new);
    for (key, change) in changes {
        if change.is_null() {
            whole.shift_remove(key);
        } else {
            let now = merged(whole.get(key).unwrap_or(&Value::Null), change);
            whole.insert(key.clone(), now);
        }
    }
    Value::Object(whole)
}

/// One patch that does what `first` and then `second` do: `null` stays in it.
#[must_use]
pub fn stacked(first: &Value, second: &Value) -> Value {
    let Value::Object(changes) = second else { return second.clone() };
    let mut whole = first.as_object().cloned().unwrap_or_else(Map::new);
    for (key, change) in changes {
        let now = stacked(whole.get(key).unwrap_or(&Value::Null), change);
        whole.insert(key.clone(), now);
    }
    Value::Object(whole)
}

#[cfg(test)]
mod tests {
    use super::{merged, stacked};
    use serde_json::{Value, json};

    fn of(text: &str) -> Value {
        serde_json::from_str(text).unwrap()
    }

    /// Source: RFC 7386, appendix A, "Example Test Cases": original, patch, result. Exact.
    #[test]
    fn the_test_cases_of_the_standard_come_out() {
        let cases = [
            (r#"{"a":"b"}"#, r#"{"a":"c"}"#, r#"{"a":"c"}"#),
            (r#"{"a":"b"}"#, r#"{"b":"c"}"#, r#"{"a":"b","b":"c"}"#),
            (r#"{"a":"b"}"#, r#"{"a":null}"#, r"{}"),
            (r#"{"a":"b","b":"c"}"#, r#"{"a":null}"#, r#"{"b":"c"}"#),
            (r#"{"a":["b"]}"#, r#"{"a":"c"}"#, r#"{"a":"c"}"#),
            (r#"{"a":"c"}"#, r#"{"a":["b"]}"#, r#"{"a":["b"]}"#),
            (r#"{"a":{"b":"c"}}"#, r#"{"a":{"b":"d","c":null}}"#, r#"{"a":{"b":"d"}}"#),
            (r#"{"a":[{"b":"c"}]}"#, r#"{"a":[1]}"#, r#"{"a":[1]}"#),
            (r#"["a","b"]"#, r#"["c","d"]"#, r#"["c","d"]"#),
            (r#"{"a":"b"}"#, r#"["c"]"#, r#"["c"]"#),
            (r#"{"a":"foo"}"#, "null", "null"),
            (r#"{"a":"foo"}"#, r#""bar""#, r#""bar""#),
            (r#"{"e":null}"#, r#"{"a":1}"#, r#"{"e":null,"a":1}"#),
            ("[1,2]", r#"{"a":"b","c":null}"#, r#"{"a":"b"}"#),
            ("{}", r#"{"a":{"bb":{"ccc":null}}}"#, r#"{"a":{"bb":{}}}"#),
        ];
        for (base, patch, result) in cases {
            assert_eq!(merged(&of(base), &of(patch)), of(result), "{base} with {patch}");
        }
    }

    /// Source: RFC 7386, section 3, the example of a document with a title, an author and tags.
    #[test]
    fn the_example_of_the_standard_comes_out() {
        let base = json!({
            "title": "Goodbye!",
            "author": {"givenName": "John", "familyName": "Doe"},
            "tags": ["example", "sample"],
            "content": "This will be unchanged"
        });
        let patch = json!({
            "title": "Hello!",
            "phoneNumber": "+01-123-456-7890",
            "author": {"familyName": null},
            "tags": ["example"]
        });
        let result = json!({
            "title": "Hello!",
            "author": {"givenName": "John"},
            "tags": ["example"],
            "content": "This will be unchanged",
            "phoneNumber": "+01-123-456-7890"
        });
        assert_eq!(merged(&base, &patch), result);
    }

    #[test]
    fn keys_keep_the_order_of_the_file() {
        let base = json!({"one": 1, "two": 2, "three": 3, "four": 4});
        let whole = merged(&base, &json!({"two": null, "five": 5, "one": 10}));
        let keys: Vec<&String> = whole.as_object().unwrap().keys().collect();
        assert_eq!(keys, ["one", "three", "four", "five"]);
    }

    /// What a variant takes away stays taken away when it goes through a club.
    #[test]
    fn stacked_patches_do_what_they_do_one_after_the_other() {
        let base = of(r#"{"a":{"b":1,"c":2},"d":3}"#);
        let (first, second) = (of(r#"{"a":{"b":null}}"#), of(r#"{"a":{"e":4},"d":null}"#));
        let both = stacked(&first, &second);
        assert_eq!(both, of(r#"{"a":{"b":null,"e":4},"d":null}"#));
        assert_eq!(merged(&base, &both), merged(&merged(&base, &first), &second));
    }
}
