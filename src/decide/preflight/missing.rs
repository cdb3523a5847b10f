//! What is not stated and so not examined: one note a subject, with all its items.

use super::finding::{About, Finding, Severity, Subject, in_a_row};

/// Items that lack an input, by subject, in the order in which they come.
#[derive(Default)]
pub(super) struct Missing {
    found: Vec<(Subject, &'static str, Vec<String>)>,
}

impl Missing {
    /// Notes that `item` cannot be examined because `lacks` (words and key) is not stated.
    pub fn note(&mut self, subject: Subject, lacks: &'static str, item: &str) {
        let known =
            |it: &&mut (Subject, &'static str, Vec<String>)| it.0 == subject && it.1 == lacks;
        match self.found.iter_mut().find(known) {
            Some((_, _, items)) => items.push(item.to_owned()),
            None => self.found.push((subject, lacks, vec![item.to_owned()])),
        }
    }

    /// The notes.
    pub fn findings(self) -> Vec<Finding> {
        let note = |(subject, lacks, items): (Subject, &str, Vec<String>)| {
            let sentence = format!("Not stated: not examined: {lacks}, of {}.", in_a_row(&items));
            let about = About::new(items.join(", "), "");
            let found = Finding::new(subject, &about, "not stated", sentence, "");
            Finding { points: items.len(), ..found }.severity(Severity::Note)
        };
        self.found.into_iter().map(note).collect()
    }
}
