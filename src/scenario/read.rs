//! From bytes to a [`Scenario`], with every fault of form named at once.
//!
//! The order: text from bytes, scan (is it JSON?), structure (does it have the form of a
//! scenario, are its numbers within their range?), and last `serde_json`, which alone builds the
//! scenario. Whether the parts fit each other is for `plan::check`.

use serde::de::DeserializeOwned;

use super::club::Club;
use super::json_path::{JsonPath, Step};
use super::problem::{Problem, ProblemKind, Problems};
use super::spans::Spans;
use super::{Scenario, renamed, scan, schema, structure};

/// Reads a scenario.
///
/// # Errors
/// All faults of form that the text has, in the order of the text.
pub fn read(text: &str, file_name: &str) -> Result<(Scenario, Spans), Problems> {
    let reading = attempt(text, file_name);
    match (reading.scenario, reading.spans) {
        (Some(scenario), Some(spans)) if reading.problems.is_empty() => Ok((scenario, spans)),
        _ => Err(Problems::new(file_name, without_mark(text), reading.problems)),
    }
}

/// How far reading came.
#[derive(Debug, Clone)]
pub struct Reading<T = Scenario> {
    /// The scenario, when its text could be turned into one: numbers may still be out of range.
    pub scenario: Option<T>,
    /// Where everything stands, when the text could be followed to its end.
    pub spans: Option<Spans>,
    /// All faults of form.
    pub problems: Vec<Problem>,
}

/// Reads as much as can be read.
#[must_use]
pub fn attempt(text: &str, file_name: &str) -> Reading {
    attempt_as(text, file_name, schema::schema())
}

/// As [`attempt`], for the file of a club.
#[must_use]
pub fn attempt_club(text: &str, file_name: &str) -> Reading<Club> {
    attempt_as(text, file_name, schema::club_schema())
}

/// As [`attempt`], for any JSON.
#[must_use]
pub fn attempt_json(text: &str, file_name: &str) -> Reading<serde_json::Value> {
    static ANY: serde_json::Value = serde_json::Value::Bool(true);
    attempt_as(text, file_name, &ANY)
}

fn attempt_as<T: DeserializeOwned>(
    text: &str,
    file_name: &str,
    schema: &'static serde_json::Value,
) -> Reading<T> {
    let text = without_mark(text);
    let scanned = scan::scan(text);
    let mut problems = scanned.problems;
    let Some(root) = scanned.root else {
        return Reading { scenario: None, spans: None, problems };
    };
    let json = problems.is_empty();
    let spans = Spans::new(file_name, text, root);
    if renamed::is_old(&spans) {
        problems.extend(renamed::problems(&spans));
        return Reading { scenario: None, spans: Some(spans), problems };
    }
    problems.extend(structure::check(&spans, schema));
    let scenario = if json {
        match parse(text) {
            Ok(scenario) => Some(scenario),
            Err(error) => {
                // The walk above names every fault that it knows; this is the net below it.
                if problems.is_empty() {
                    problems.push(from_serde(&error, &spans));
                }
                None
            }
        }
    } else {
        None
    };
    Reading { scenario, spans: Some(spans), problems }
}

/// The text of a file.
///
/// # Errors
/// When the bytes are not UTF-8.
pub fn text_of(bytes: Vec<u8>, file_name: &str) -> Result<String, Problems> {
    let wide = bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]);
    String::from_utf8(bytes).map_err(|error| {
        let (found, good) = if wide {
            ("the file is written as UTF-16", String::new())
        } else {
            let upto = error.utf8_error().valid_up_to();
            let good = String::from_utf8_lossy(&error.as_bytes()[..upto]).into_owned();
            ("the file is not written as UTF-8", good)
        };
        let mut problem = Problem::new(ProblemKind::Unreadable, found)
            .hint("Save it again from the editor with the encoding UTF-8.");
        if let Some(last) = good.chars().next_back().filter(|_| !good.trim().is_empty()) {
            let end = good.len();
            problem = problem.mark(end - last.len_utf8()..end, "what follows is no UTF-8");
        }
        Problems::new(file_name, &good, vec![problem])
    })
}

/// The text without a byte-order mark.
fn without_mark(text: &str) -> &str {
    text.strip_prefix('\u{feff}').unwrap_or(text)
}

fn parse<T: DeserializeOwned>(
    text: &str,
) -> Result<T, serde_path_to_error::Error<serde_json::Error>> {
    let mut from = serde_json::Deserializer::from_str(text);
    let mut track = serde_path_to_error::Track::new();
    let scenario = serde::Deserialize::deserialize(serde_path_to_error::Deserializer::new(
        &mut from, &mut track,
    ))
    .map_err(|error| serde_path_to_error::Error::new(track.path(), error))?;
    from.end().map_err(|error| {
        serde_path_to_error::Error::new(serde_path_to_error::Track::new().path(), error)
    })?;
    Ok(scenario)
}

fn from_serde(error: &serde_path_to_error::Error<serde_json::Error>, spans: &Spans) -> Problem {
    use serde_path_to_error::Segment;
    let mut path = JsonPath::top();
    for segment in error.path() {
        path = path.with(match segment {
            Segment::Seq { index } => Step::Index(*index),
            Segment::Map { key } => Step::Key(key.clone()),
            Segment::Enum { variant } => Step::Key(variant.clone()),
            Segment::Unknown => break,
        });
    }
    Problem::new(ProblemKind::WrongType, &format!("this cannot be read: {}", error.inner())).at(
        spans,
        &path,
        "found here",
    )
}

#[cfg(test)]
mod tests;
