//! What is wrong with a scenario, as data: one [`Problem`] a fault, [`Problems`] a file.
//!
//! Lives here: what a problem says (what, where, meaning, allowed, hint), how it is drawn under the
//! reader's own text (`render`), how programs get it (`json`) and likely names (`likely`).
//! Does not live here: finding problems (`read`, `structure`, `plan::check`).

mod json;
mod likely;
mod render;
mod warn;

use std::ops::Range;

use serde::Serialize;

use super::json_path::JsonPath;
use super::spans::Spans;

pub use likely::{likely, list_of};
pub use warn::render_warnings;

/// The months, January first.
pub const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// What sort of fault a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ProblemKind {
    /// The text is not JSON.
    Syntax,
    /// A key stands twice in one object.
    DuplicateKey,
    /// A key that the format does not have.
    UnknownKey,
    /// A key that must be there.
    MissingKey,
    /// A value of the wrong type, or a list of the wrong length.
    WrongType,
    /// A word that is none of the choices.
    UnknownChoice,
    /// A number outside its range.
    OutOfRange,
    /// A date, time, offset or name that is not written as it must be.
    WrongForm,
    /// A name that nothing bears.
    UnknownName,
    /// Two entries that exclude each other.
    Conflict,
    /// Parts that cannot work together.
    Impossible,
    /// A local time that the clock skips or shows twice.
    ClockChange,
    /// A fault in a table that the scenario names.
    Table,
    /// A file that cannot be read.
    Unreadable,
}

/// A stretch of the scenario's text with a few words beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// Bytes of the text.
    pub span: Range<usize>,
    /// What is to be seen there.
    pub label: String,
}

/// A line of another file than the scenario.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableLine {
    /// The file, relative to where the scenario's name is relative to.
    pub file: String,
    /// Line from 1; none when the file as a whole is meant.
    pub line: Option<usize>,
    /// The text of the line, when it is worth showing.
    pub text: Option<String>,
    /// What is to be seen there.
    pub label: String,
    /// The bytes of that line that are meant; all of it when none.
    pub span: Option<Range<usize>>,
}

/// One fault.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// A stable word for programs.
    pub kind: ProblemKind,
    /// The sentence that says what is wrong.
    pub text: String,
    /// JSON path of what it is about; empty for the whole file.
    pub path: String,
    /// Places in the scenario; the first is the fault, others explain it.
    pub marks: Vec<Mark>,
    /// The place in a table, when the fault is there.
    pub table: Option<TableLine>,
    /// What the value stands for.
    pub meaning: Option<String>,
    /// What would be right.
    pub allowed: Option<String>,
    /// What to do about it.
    pub hint: Option<String>,
}

impl Problem {
    /// A problem without a place yet.
    #[must_use]
    pub fn new(kind: ProblemKind, text: &str) -> Self {
        Self {
            kind,
            text: text.to_owned(),
            path: String::new(),
            marks: Vec::new(),
            table: None,
            meaning: None,
            allowed: None,
            hint: None,
        }
    }

    /// Names what it is about without marking it.
    #[must_use]
    pub fn about(mut self, path: &JsonPath) -> Self {
        self.path = path.to_string();
        self
    }

    /// Marks a stretch of text.
    #[must_use]
    pub fn mark(mut self, span: Range<usize>, label: &str) -> Self {
        self.marks.push(Mark { span, label: label.to_owned() });
        self
    }

    /// Marks the value at `path`; the first path marked is what the problem is about.
    #[must_use]
    pub fn at(mut self, spans: &Spans, path: &JsonPath, label: &str) -> Self {
        if self.marks.is_empty() {
            self.path = path.to_string();
        }
        self.mark(spans.underline(path), label)
    }

    /// As [`Problem::at`], with the key instead of the value.
    #[must_use]
    pub fn at_key(mut self, spans: &Spans, path: &JsonPath, label: &str) -> Self {
        if self.marks.is_empty() {
            self.path = path.to_string();
        }
        self.mark(spans.underline_key(path), label)
    }

    /// Says what would be right.
    #[must_use]
    pub fn allowed(mut self, allowed: &str) -> Self {
        self.allowed = Some(allowed.to_owned());
        self
    }

    /// Says what to do.
    #[must_use]
    pub fn hint(mut self, hint: &str) -> Self {
        self.hint = Some(hint.to_owned());
        self
    }

    /// As [`Problem::hint`] when there is one.
    #[must_use]
    pub fn maybe_hint(mut self, hint: Option<String>) -> Self {
        self.hint = hint.or(self.hint);
        self
    }

    /// Says what the value stands for, when that is known.
    #[must_use]
    pub fn maybe_meaning(mut self, meaning: Option<String>) -> Self {
        self.meaning = meaning.or(self.meaning);
        self
    }

    /// Places the fault in a table.
    #[must_use]
    pub fn table(mut self, line: TableLine) -> Self {
        self.table = Some(line);
        self
    }
}

/// All faults of one scenario, in the order of the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problems {
    /// Name of the file, as its reader typed it.
    pub file: String,
    /// Its text, without a byte-order mark.
    pub text: String,
    /// The faults.
    pub list: Vec<Problem>,
}

impl Problems {
    /// Collects faults and puts them in the order of the file.
    #[must_use]
    pub fn new(file: &str, text: &str, mut list: Vec<Problem>) -> Self {
        list.sort_by_key(|problem| {
            // Faults of a table come after those of the scenario itself.
            let last = if problem.table.is_some() { usize::MAX } else { 0 };
            let place = problem.marks.first().map_or(last, |mark| mark.span.start);
            (place, problem.table.as_ref().and_then(|table| table.line))
        });
        Self { file: file.to_owned(), text: text.to_owned(), list }
    }
}

impl std::fmt::Display for Problems {
    /// Drawn without colour.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.render(false))
    }
}

impl std::error::Error for Problems {}
