//! How a place of the file is called in a sentence.

use super::super::json_path::{JsonPath, Step};
use super::super::problem::MONTHS;
use super::At;

/// What is spoken of: `` `tilt_deg` ``, `` the March value of `ghi_kwh_m2_day` ``.
pub(super) fn name_of(at: &At) -> String {
    let key = at.path.last_key().unwrap_or("scenario");
    match at.path.steps().last() {
        None => "the scenario".to_owned(),
        Some(Step::Index(index)) => match MONTHS.get(*index).filter(|_| at.months) {
            Some(month) => format!("the {month} value of `{key}`"),
            None => format!("value {} of `{key}`", index + 1),
        },
        Some(Step::Key(key)) => format!("`{key}`"),
    }
}

/// The object that holds the key at `path`.
pub(super) fn object_of(path: &JsonPath) -> String {
    let steps = path.steps();
    let above = steps.split_last().map_or(steps, |(_, above)| above);
    let mut object = JsonPath::top();
    for step in above {
        object = object.with(step.clone());
    }
    whole_object(&object)
}

/// The object at `path`.
pub(super) fn whole_object(path: &JsonPath) -> String {
    if path.steps().is_empty() { "the scenario".to_owned() } else { format!("`{path}`") }
}

/// The first sentence of a description.
pub(super) fn first_sentence(text: &str) -> String {
    let end = text.find(". ").map_or(text.len(), |at| at + 1);
    text[..end].to_owned()
}

/// What the schema says about the key at hand.
pub(super) fn meaning_of(at: &At) -> Option<String> {
    at.meaning.as_deref().map(first_sentence)
}
