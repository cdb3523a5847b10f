//! Numbers, texts and lists of a scenario.

use chrono::{NaiveDate, NaiveDateTime};
use serde_json::Value;

use super::super::problem::{Problem, ProblemKind};
use super::super::site::local_minute;
use super::super::spans::{Node, NodeKind};
use super::{At, Walker, words};

/// Whether a node is of the type that a schema node asks for.
pub(super) fn fits(node: &Node, schema: &Value) -> bool {
    match schema.get("type").and_then(Value::as_str) {
        Some("object") => matches!(node.kind, NodeKind::Object(_)),
        Some("array") => matches!(node.kind, NodeKind::List(_)),
        Some("string") => matches!(node.kind, NodeKind::Text(_)),
        Some("number" | "integer") => matches!(node.kind, NodeKind::Number(_)),
        Some("boolean") => matches!(node.kind, NodeKind::Bool(_)),
        _ => true,
    }
}

/// What a node is, for people.
pub(super) fn kind_of(node: &Node) -> &'static str {
    match &node.kind {
        NodeKind::Object(_) => "an object in braces",
        NodeKind::List(_) => "a list",
        NodeKind::Text(_) => "text in quotes",
        NodeKind::Number(_) => "a number",
        NodeKind::Bool(_) => "true or false",
        NodeKind::Null => "`null`",
        NodeKind::Broken => "something broken",
    }
}

/// What a schema node asks for, for people.
fn wanted(schema: &Value) -> String {
    let count = schema.get("minItems").and_then(Value::as_u64);
    let words = schema.get("oneOf").and_then(Value::as_array).into_iter().flatten();
    let words: Vec<&str> = words.filter_map(|it| it.get("const").and_then(Value::as_str)).collect();
    if let [word] = words.as_slice() {
        return format!("the word \"{word}\"");
    }
    match schema.get("type").and_then(Value::as_str) {
        Some("object") => "an object in braces, `{...}`".to_owned(),
        Some("array") => match count {
            Some(count) => format!("a list of {count} values, `[...]`"),
            None => "a list, `[...]`".to_owned(),
        },
        Some("string") => "text in double quotes".to_owned(),
        Some("integer") => "a whole number".to_owned(),
        Some("number") => "a number".to_owned(),
        Some("boolean") => "true or false".to_owned(),
        _ => match schema.get("anyOf").and_then(Value::as_array) {
            Some(branches) => branches.iter().map(wanted).collect::<Vec<_>>().join(" or "),
            None => "something else".to_owned(),
        },
    }
}

/// `90 degrees`, `0.5`: a number with its unit as people say it.
fn with_unit(number: &str, unit: &str) -> String {
    match unit {
        "" | "share" | "1" | "1/kWh" | "share/month" | "AWG" | "year" => number.to_owned(),
        "deg" => format!("{number} degrees"),
        "day" => format!("{number} days"),
        "share/K" => format!("{number} per kelvin"),
        _ => format!("{number} {unit}"),
    }
}

/// The range that a schema node allows, for people.
fn range_of(schema: &Value, unit: &str) -> Option<String> {
    let bound = |key: &str| schema.get(key).map(ToString::to_string);
    let low = bound("minimum")
        .map(|low| (low, false))
        .or(bound("exclusiveMinimum").map(|low| (low, true)))?;
    let high = bound("maximum")
        .map(|high| (high, false))
        .or(bound("exclusiveMaximum").map(|high| (high, true)))?;
    if low.0 == high.0 {
        return Some(with_unit(&low.0, unit));
    }
    let low = if low.1 { format!("above {}", low.0) } else { low.0 };
    let high = with_unit(&high.0, unit);
    Some(if schema.get("exclusiveMaximum").is_some() {
        format!("{low} to less than {high}")
    } else if low.starts_with("above") {
        format!("{low}, up to {high}")
    } else {
        format!("{low} to {high}")
    })
}

impl<'a> Walker<'a> {
    pub(super) fn wrong_type(&mut self, node: &Node, schema: &'a Value, at: &At) {
        let wanted = match schema.get("anyOf").and_then(Value::as_array) {
            Some(branches) => {
                let each = branches.iter().map(|branch| wanted(self.resolve(branch)));
                each.collect::<Vec<_>>().join(" or ")
            }
            None => wanted(schema),
        };
        let text = format!("{} must be {wanted}", words::name_of(at));
        let hint = match &node.kind {
            NodeKind::Text(text) if wanted.contains("number") => {
                match text.trim().replace(',', ".").parse::<f64>() {
                    Ok(_) => {
                        Some(format!("Write {} without quotes.", text.trim().replace(',', ".")))
                    }
                    Err(_) => None,
                }
            }
            NodeKind::Text(text) if wanted == "true or false" => match text.to_lowercase().as_str()
            {
                "true" | "yes" | "on" => Some("Write true without quotes.".to_owned()),
                "false" | "no" | "off" => Some("Write false without quotes.".to_owned()),
                _ => None,
            },
            NodeKind::Number(_) if wanted.starts_with("text") => {
                Some(format!("Write \"{}\".", &self.spans.text()[node.span.clone()]))
            }
            NodeKind::Text(_) | NodeKind::Number(_)
                if wanted.starts_with("a list") && !wanted.contains("of") =>
            {
                Some(format!("Write [{}].", &self.spans.text()[node.span.clone()]))
            }
            _ => None,
        };
        let problem = Problem::new(ProblemKind::WrongType, &text)
            .mark(self.underline(node, at), &format!("found {}", kind_of(node)))
            .maybe_meaning(words::meaning_of(at))
            .maybe_hint(hint);
        self.found(problem, at);
    }

    pub(super) fn number(&mut self, node: &Node, number: f64, schema: &'a Value, at: &At) {
        let unit = schema.get("x-unit").and_then(Value::as_str).unwrap_or_default();
        let written = &self.spans.text()[node.span.clone()];
        let bound = |key: &str| schema.get(key).and_then(Value::as_f64);
        let too_low = bound("minimum").is_some_and(|min| number < min)
            || bound("exclusiveMinimum").is_some_and(|min| number <= min);
        let too_high = bound("maximum").is_some_and(|max| number > max)
            || bound("exclusiveMaximum").is_some_and(|max| number >= max);
        if too_low || too_high {
            let text = format!("{} is out of range", words::name_of(at));
            let said = schema.get("x-hint").and_then(Value::as_str).map(str::to_owned);
            let percent = (unit == "share" && number > 1.0 && number <= 100.0).then(|| {
                let share = number / 100.0;
                format!("A share is written from 0 to 1: {number} % is {}.", rounded(share))
            });
            let mut problem = Problem::new(ProblemKind::OutOfRange, &text)
                .maybe_meaning(words::meaning_of(at))
                .mark(node.span.clone(), &format!("found {}", with_unit(written, unit)));
            if let Some(range) = range_of(schema, unit) {
                problem = problem.allowed(&range);
            }
            self.found(problem.maybe_hint(percent.or(said)), at);
            return;
        }
        let whole = schema.get("type").is_some_and(|name| name == "integer");
        if whole && written.contains(['.', 'e', 'E']) {
            let text = format!("{} must be a whole number", words::name_of(at));
            let hint = (number.fract() == 0.0).then(|| format!("Write {number}."));
            let problem = Problem::new(ProblemKind::WrongType, &text)
                .mark(node.span.clone(), &format!("found {}", with_unit(written, unit)))
                .maybe_meaning(words::meaning_of(at))
                .maybe_hint(hint);
            self.found(problem, at);
        }
    }

    pub(super) fn text(&mut self, node: &Node, text: &str, schema: &'a Value, at: &At) {
        let notes = at.path.last_key() == Some("notes");
        if text.chars().any(|c| c.is_control() && !(notes && matches!(c, '\n' | '\t'))) {
            let said = format!("{} holds a control character", words::name_of(at));
            let problem = Problem::new(ProblemKind::WrongForm, &said)
                .mark(self.underline(node, at), "found in this text")
                .allowed("Letters, digits, spaces and signs that can be printed.");
            self.found(problem, at);
        }
        let (good, form) = match schema.get("format").and_then(Value::as_str) {
            Some("date") => (
                NaiveDate::parse_from_str(text, "%Y-%m-%d").is_ok(),
                "A date such as \"2027-01-18\".",
            ),
            Some("local-minute") => (
                NaiveDateTime::parse_from_str(text, local_minute::FORMAT).is_ok(),
                "A local date and time such as \"2027-01-18T18:00\", without an offset.",
            ),
            _ => (true, ""),
        };
        if !good {
            let said = format!("{} is not a date as it must be written", words::name_of(at));
            let problem = Problem::new(ProblemKind::WrongForm, &said)
                .mark(node.span.clone(), "found this")
                .allowed(form)
                .maybe_hint(date_hint(text));
            self.found(problem, at);
        }
    }

    pub(super) fn list(&mut self, node: &Node, items: &[Node], schema: &'a Value, at: &At) {
        let exactly = schema.get("minItems").and_then(Value::as_u64);
        if let Some(count) = exactly.filter(|&count| usize::try_from(count) != Ok(items.len())) {
            let text = format!("{} must hold {count} values", words::name_of(at));
            let problem = Problem::new(ProblemKind::WrongType, &text)
                .mark(self.underline(node, at), &format!("found {}", items.len()))
                .maybe_meaning(words::meaning_of(at));
            self.found(problem, at);
        }
        if let Some(schema) = schema.get("items") {
            for (index, item) in items.iter().enumerate() {
                let here = At {
                    path: at.path.index(index),
                    key: None,
                    meaning: at.meaning.clone(),
                    months: exactly == Some(12),
                };
                self.node(item, schema, &here);
            }
        }
    }
}

/// What is wrong with a date that looks nearly right.
fn date_hint(text: &str) -> Option<String> {
    if text.contains(' ') && text.contains(':') {
        return Some("A `T` stands between date and time, not a space.".to_owned());
    }
    if text.ends_with('Z') || text.matches(':').count() > 1 {
        return Some("Hours and minutes are enough; the site's clock says the offset.".to_owned());
    }
    let mut parts = text.split(['-', 'T', ':']);
    let (_, month, day) = (parts.next()?, parts.next()?, parts.next()?);
    let (month, day): (u32, u32) = (month.parse().ok()?, day.parse().ok()?);
    if month > 12 {
        return Some("The year comes first, then the month, then the day.".to_owned());
    }
    (day > 28).then(|| "That month is shorter.".to_owned()).filter(|_| day <= 31)
}

/// A share without the noise of binary fractions.
fn rounded(share: f64) -> String {
    let text = format!("{share:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
