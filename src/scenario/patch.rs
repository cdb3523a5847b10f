//! JSON Merge Patch: what a variant changes in a scenario.
//!
//! RFC 7386 (P. Hoffman, J. Snell, October 2014), section 2, word for word the same in RFC 7396,
//! which replaces it: an object in the patch is merged into the object at its place, `null` takes a
//! key away, anything else (a list as a whole too) takes the place of what was there. Keys keep
//! the order of the file, and new ones come last: crates at hand move the last key to the place of
//! one that is taken away, and parts of a station are kept in the order of the file. Trust: exact.

use serde_json::{Map, Value};

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

#[cfg(test)]
mod tests {
    use super::merged;
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
}
