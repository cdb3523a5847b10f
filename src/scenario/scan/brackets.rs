//! Brackets: which are open, and what went wrong when they do not close.

use std::ops::Range;

use super::super::problem::{Problem, ProblemKind};
use super::super::spans::line_col;
use super::{Lost, Scanner};

/// Deeper nesting is refused; a scenario needs about eight levels.
const DEEPEST: usize = 64;

impl Scanner<'_> {
    pub(super) fn enter(&mut self) -> Result<usize, Lost> {
        let start = self.at;
        self.open.push(start);
        self.at += 1;
        if self.open.len() > DEEPEST {
            let allowed = format!("{DEEPEST} levels");
            self.problems.push(
                Problem::new(ProblemKind::Syntax, "brackets are nested too deep")
                    .mark(start..start + 1, "one level too many")
                    .allowed(&allowed),
            );
            return Err(Lost);
        }
        Ok(start)
    }

    pub(super) fn leave(&mut self, start: usize) -> Range<usize> {
        self.open.pop();
        let indent = |byte: usize| {
            let line_start = self.text[..byte].rfind('\n').map_or(0, |at| at + 1);
            let line = &self.text[line_start..];
            (line_start, line.len() - line.trim_start_matches([' ', '\t']).len())
        };
        let (from_line, from) = indent(start);
        let (to_line, to) = indent(self.at);
        let first_on_line = self.text[to_line..self.at].trim().is_empty();
        if self.slanted.is_none() && from_line != to_line && from != to && first_on_line {
            self.slanted = Some((start, self.at));
        }
        self.at += 1;
        start..self.at
    }

    pub(super) fn wrong_bracket(&mut self, opened: usize) -> Lost {
        let (open, close) =
            if self.text[opened..].starts_with('{') { ('{', '}') } else { ('[', ']') };
        let found = self.here();
        let text = format!("`{open}` is closed by the wrong bracket");
        let label = format!("`{close}` belongs here, or before");
        self.problems.push(
            Problem::new(ProblemKind::Syntax, &text)
                .mark(found, &label)
                .mark(opened..opened + 1, "opened here"),
        );
        Lost
    }

    /// The file ends with brackets open: say where the innermost began.
    pub(super) fn truncated(&mut self) -> Lost {
        let end = self.here();
        let mut problem = Problem::new(ProblemKind::Syntax, "the file ends too early");
        if let Some(&innermost) = self.open.last() {
            let bracket = &self.text[innermost..=innermost];
            let label = format!("this `{bracket}` is still open");
            problem = if end.start == innermost {
                problem.mark(end, &format!("the file ends here, and {label}"))
            } else {
                problem.mark(end, "the file ends here").mark(innermost..innermost + 1, &label)
            };
            let count = self.open.len();
            let lines: Vec<String> =
                self.open.iter().map(|&at| line_col(self.text, at).0.to_string()).collect();
            problem = problem.hint(&self.slant_hint().unwrap_or_else(|| match count {
                1 => "One bracket is still open. Was the file copied whole?".to_owned(),
                _ => format!(
                    "{count} brackets are still open, begun on lines {}. Was the file copied whole?",
                    lines.join(", ")
                ),
            }));
        }
        self.problems.push(problem);
        Lost
    }

    pub(super) fn slant_hint(&self) -> Option<String> {
        let (opened, closed) = self.slanted?;
        let (opened, closed) = (line_col(self.text, opened).0, line_col(self.text, closed).0);
        Some(format!(
            "Going by the indentation, look between lines {opened} and {closed}: the bracket that \
             begins line {closed} closes the one opened on line {opened}."
        ))
    }
}
