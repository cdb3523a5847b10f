//! JSON laid out for people: what fits on a line stands on a line.
//!
//! A list of twelve months or the two set points of a charger are read at a glance; spread over
//! a dozen lines they are not. Longer objects and lists take a line a member.

use std::fmt::Write as _;

use serde_json::Value;

/// Longest line on which a whole object or list may stand, in characters.
const LINE: usize = 100;

/// The text of a value, with a line break at its end. It reads back as the same value, but for
/// whole numbers, which are written without `.0`.
#[must_use]
pub fn laid_out(value: &Value) -> String {
    let mut text = String::new();
    put(&mut text, value, 0, 0);
    text.push('\n');
    text
}

/// Puts a value that begins in column `column` of a line indented by `indent`.
fn put(text: &mut String, value: &Value, indent: usize, column: usize) {
    // The outermost object is never put on one line, so that every file looks alike.
    let inline = one_line(value);
    // One more for the comma behind it.
    if is_leaf(value) || indent > 0 && column + inline.chars().count() < LINE {
        text.push_str(&inline);
        return;
    }
    match value {
        Value::Array(items) => {
            text.push('[');
            for (at, item) in items.iter().enumerate() {
                new_line(text, at, indent + 2);
                put(text, item, indent + 2, indent + 2);
            }
            close(text, indent, ']');
        }
        Value::Object(members) => {
            text.push('{');
            for (at, (key, member)) in members.iter().enumerate() {
                new_line(text, at, indent + 2);
                let key = Value::from(key.as_str()).to_string();
                let _ = write!(text, "{key}: ");
                put(text, member, indent + 2, indent + 2 + key.chars().count() + 2);
            }
            close(text, indent, '}');
        }
        leaf => text.push_str(&leaf_text(leaf)),
    }
}

/// Largest whole number that is written without its decimals: all below it are exact.
const WHOLE: f64 = 9_007_199_254_740_992.0;

fn leaf_text(leaf: &Value) -> String {
    match leaf.as_f64() {
        Some(number) if leaf.is_f64() && number.fract() == 0.0 && number.abs() < WHOLE => {
            number.to_string()
        }
        _ => leaf.to_string(),
    }
}

fn is_leaf(value: &Value) -> bool {
    match value {
        Value::Array(items) => items.is_empty(),
        Value::Object(members) => members.is_empty(),
        _ => true,
    }
}

fn new_line(text: &mut String, at: usize, indent: usize) {
    text.push_str(if at == 0 { "\n" } else { ",\n" });
    text.extend(std::iter::repeat_n(' ', indent));
}

fn close(text: &mut String, indent: usize, bracket: char) {
    text.push('\n');
    text.extend(std::iter::repeat_n(' ', indent));
    text.push(bracket);
}

/// The value on one line with a space after each comma and colon.
fn one_line(value: &Value) -> String {
    let joined = |parts: Vec<String>| parts.join(", ");
    match value {
        Value::Array(items) => format!("[{}]", joined(items.iter().map(one_line).collect())),
        Value::Object(members) => {
            let pair = |(key, member): (&String, &Value)| {
                format!("{}: {}", Value::from(key.as_str()), one_line(member))
            };
            format!("{{{}}}", joined(members.iter().map(pair).collect()))
        }
        leaf => leaf_text(leaf),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_fits_stands_on_a_line() {
        let value = json!({
            "title": "Hall",
            "set_points": {"absorption_v": 14.3, "float_v": 13.6},
            "months": [1.5, 2, 3],
            "nothing": {},
        });
        assert_eq!(
            laid_out(&value),
            "{\n  \"title\": \"Hall\",\n  \"set_points\": {\"absorption_v\": 14.3, \"float_v\": 13.6},\n  \"months\": [1.5, 2, 3],\n  \"nothing\": {}\n}\n"
        );
    }

    #[test]
    fn numbers_keep_every_digit() {
        for number in
            [0.1 + 0.2, 1e-7, 1e300, 9_007_199_254_740_994.0, -0.0, -45.0, 14.3, f64::MIN_POSITIVE]
        {
            let text = laid_out(&json!(number));
            let back: f64 = serde_json::from_str(&text).unwrap();
            assert_eq!(back.to_bits(), number.to_bits(), "{text}");
        }
        assert_eq!(laid_out(&json!(45.0)), "45\n");
        assert_eq!(laid_out(&json!(u64::MAX)), "18446744073709551615\n");
    }

    #[test]
    fn no_line_of_short_members_is_too_long_and_the_value_comes_back() {
        let many: Vec<_> = (0..60)
            .map(|number| json!({"number": number, "name": "a \"quoted\" name\n"}))
            .collect();
        let value = json!({"many": many, "deep": {"er": [[1, 2], {"a": {"b": null}}]}, "long": "x".repeat(150)});
        let text = laid_out(&value);
        assert_eq!(serde_json::from_str::<Value>(&text).unwrap(), value);
        for line in text.lines().filter(|line| !line.contains("xxx")) {
            assert!(line.chars().count() <= LINE, "{line}");
        }
        assert_eq!(laid_out(&json!([])), "[]\n");
        assert_eq!(laid_out(&json!(1.5)), "1.5\n");
    }
}
