//! A measured series: is it there, can it be read, does it cover the run?
//!
//! What a good series is, `sky::measured` knows; here its problems get their place: the line of
//! the table, and the key of the scenario that asks for what is not there.

use std::ops::Range;
use std::path::Path;

use chrono::{DateTime, Utc};

use super::Check;
use crate::clock::LocalClock;
use crate::plan::compile::Stretch;
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind, TableLine, likely, list_of};
use crate::scenario::site::local_minute;
use crate::scenario::sun::{Delimiter, Measured};
use crate::sky::{Sky, SkyProblem, SkyProblemKind};

/// From one instant to another.
type Hours = (DateTime<Utc>, DateTime<Utc>);

/// More faults than this in one table are counted, not shown.
const MOST_SHOWN: usize = 8;

/// The text of a series. `base_dir` is the folder of the scenario.
///
/// # Errors
/// What is wrong with the file, in words.
pub fn series_text(measured: &Measured, base_dir: &Path) -> Result<String, (String, String)> {
    let path = base_dir.join(&measured.file);
    let shown = path.display();
    let bytes = std::fs::read(&path).map_err(|error| {
        let text = match error.kind() {
            std::io::ErrorKind::NotFound => format!("there is no file `{shown}`"),
            _ => format!("the file `{shown}` cannot be read"),
        };
        let hint = match (error.kind(), likely_file(&path)) {
            (std::io::ErrorKind::NotFound, Some(name)) => format!("Did you mean `{name}`?"),
            (std::io::ErrorKind::NotFound, None) => {
                "It is looked for beside the scenario.".to_owned()
            }
            _ => format!("The system says: {error}."),
        };
        (text, hint)
    })?;
    String::from_utf8(bytes).map_err(|_| {
        let text = format!("the file `{shown}` is not written as UTF-8");
        (
            text,
            "Save it again from the editor or the spreadsheet with the encoding UTF-8.".to_owned(),
        )
    })
}

/// A file in the same folder with a name like that of `path`.
fn likely_file(path: &Path) -> Option<String> {
    let mut names: Vec<String> = std::fs::read_dir(path.parent()?)
        .ok()?
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .collect();
    names.sort();
    let wanted = path.file_name()?.to_str()?;
    likely(wanted, names.iter().map(String::as_str)).map(str::to_owned)
}

impl Check<'_> {
    pub(super) fn measured(&mut self, measured: &Measured) {
        let at = JsonPath::keys(&["sun", "measured"]);
        let text = match series_text(measured, self.base_dir) {
            Ok(text) => text,
            Err((text, hint)) => {
                let problem = Problem::new(ProblemKind::Unreadable, &text)
                    .at(self.spans, &at.key("file"), "named here")
                    .hint(&hint);
                self.found(problem);
                return;
            }
        };
        // The span must be a sound one before a series can be laid beside it.
        if !self.in_range {
            return;
        }
        let Some(clock) = self.clock() else { return };
        let Ok(stretch) = Stretch::of(self.scenario, &clock) else { return };
        let offset = clock.standard_offset(stretch.begin);
        let sky = Sky::new(
            &self.scenario.site,
            &self.scenario.sun,
            &self.scenario.arrays,
            offset,
            stretch.begin,
            stretch.weather_hours(offset),
            Some(&text),
        );
        match sky {
            Ok(sky) => {
                self.series = Some(text);
                self.sky = Some(sky);
            }
            Err(problems) => {
                let file = self.base_dir.join(&measured.file).display().to_string();
                for problem in problems.iter().take(MOST_SHOWN) {
                    let problem = self.placed(measured, problem, &file, &text, &clock);
                    self.found(problem);
                }
                if let Some(more) = problems.len().checked_sub(MOST_SHOWN).filter(|more| *more > 0)
                {
                    let said = format!("and {more} more faults in `{file}`");
                    let line = problems[MOST_SHOWN].line;
                    let problem = Problem::new(ProblemKind::Table, &said).about(&at.key("file"));
                    self.found(problem.table(TableLine {
                        file,
                        line,
                        text: None,
                        label: String::new(),
                        span: None,
                    }));
                }
            }
        }
    }

    /// The run reaches beyond the series, told in times of the site's clock.
    fn not_covered(&self, needed: Hours, has: Hours, clock: &LocalClock) -> Problem {
        let shown = |(from, to): Hours| {
            let local = |at| clock.local(at).format(local_minute::FORMAT);
            format!("{} to {}", local(from), local(to))
        };
        let needs = JsonPath::keys(&["span"]);
        let problem = Problem::new(ProblemKind::Table, "the series does not cover the run")
            .at(
                self.spans,
                &JsonPath::keys(&["sun", "measured", "file"]),
                &format!("the series has {}", shown(has)),
            )
            .at(self.spans, &needs, &format!("the run needs {}", shown(needed)));
        let settles = JsonPath::keys(&["start", "warmup_days"]);
        if self.spans.place(&settles).is_some() {
            problem
                .at(self.spans, &settles, "these days before the span count too")
                .hint("Move the span, take fewer `warmup_days`, or take a longer series.")
        } else {
            problem.hint("Move or shorten the span, or take a longer series.")
        }
    }

    /// A problem of the sky with its place.
    fn placed(
        &self,
        measured: &Measured,
        problem: &SkyProblem,
        file: &str,
        table: &str,
        clock: &LocalClock,
    ) -> Problem {
        let at = JsonPath::keys(&["sun", "measured"]);
        let line_text = |line: usize| table.lines().nth(line - 1).map(str::to_owned);
        if let SkyProblemKind::ColumnMissing { name, key, there, like } = &problem.kind {
            let path = match *key {
                "time" => {
                    let time = at.key("time");
                    let inner = ["stamps", "hours_of"].map(|form| time.key(form).key("column"));
                    let there = inner.iter().find(|path| self.spans.place(path).is_some());
                    there.cloned().unwrap_or(time)
                }
                key => at.key(key),
            };
            let text = format!("the table has no column `{name}`");
            let label = match like {
                Some(like) => format!("did you mean `{like}`?"),
                None => "asked for here".to_owned(),
            };
            let line = problem.line.map(|line| TableLine {
                file: file.to_owned(),
                line: Some(line),
                text: line_text(line),
                label: "the columns that there are".to_owned(),
                span: None,
            });
            let found = Problem::new(ProblemKind::Table, &text)
                .at(self.spans, &path, &label)
                .allowed(&list_of(there.iter().map(String::as_str)));
            return match line {
                Some(line) => found.table(line),
                None => found,
            };
        }
        let said = problem.kind.to_string();
        let Some(line) = problem.line else {
            let (key, label) = match &problem.kind {
                SkyProblemKind::Offset(_) | SkyProblemKind::HoursApart { .. } => {
                    ("utc_offset", "found this")
                }
                SkyProblemKind::SameMark => ("delimiter", "the mark between two fields"),
                SkyProblemKind::Format(_) => ("time", "found this"),
                _ => ("file", "named here"),
            };
            return match &problem.kind {
                SkyProblemKind::NotCovered { needed, has } => {
                    self.not_covered(*needed, *has, clock)
                }
                _ => Problem::new(ProblemKind::Table, &said).at(self.spans, &at.key(key), label),
            };
        };
        let text = line_text(line);
        let (label, field) = match &problem.kind {
            SkyProblemKind::Gap { .. } => ("the first line after the gap", None),
            SkyProblemKind::Repeated(_) => ("the same hour again", None),
            SkyProblemKind::OutOfOrder { .. } => ("out of order", None),
            SkyProblemKind::Number { found, .. } => ("not a number", Some(found)),
            SkyProblemKind::Stamp { found, .. } => ("not a stamp of that form", Some(found)),
            SkyProblemKind::OffTheHour(found) => ("not a full hour", Some(found)),
            SkyProblemKind::HourNumber { found, .. } => ("not an hour of the year", Some(found)),
            SkyProblemKind::FieldCount { .. } => ("too few fields or too many", None),
            _ => ("in this line", None),
        };
        let span = field
            .zip(text.as_ref())
            .and_then(|(field, text)| field_span(text, field, measured.delimiter));
        Problem::new(ProblemKind::Table, &said).about(&at.key("file")).table(TableLine {
            file: file.to_owned(),
            line: Some(line),
            text,
            label: label.to_owned(),
            span,
        })
    }
}

/// Bytes of the first field of a line that reads `field`.
fn field_span(line: &str, field: &str, delimiter: Delimiter) -> Option<Range<usize>> {
    let between = match delimiter {
        Delimiter::Comma => ',',
        Delimiter::Semicolon => ';',
        Delimiter::Tab => '\t',
    };
    let mut begin = 0;
    for part in line.split(between) {
        if part.trim() == field && !field.is_empty() {
            let start = begin + (part.len() - part.trim_start().len());
            return Some(start..start + field.len());
        }
        begin += part.len() + 1;
    }
    None
}
