//! What a command prints: the first screen, or everything with `--full`; warnings whole or in one line.

use super::files;
use crate::cli::ResultArgs;
use crate::error::Error;
use crate::scenario::Scenario;
use crate::scenario::basis::{Basis, known_numbers};
use crate::scenario::problem::render_warnings;
use crate::scenario::spans::Spans;
use crate::show::page_text::{Page, Screen, screen_lines};
use crate::warning::{Kind, Warning};

/// Columns where nobody says how wide a text may be: a pipe, a file.
const USUAL_COLUMNS: usize = 80;

/// Columns of the terminal; those that `COLUMNS` names where there is none.
#[must_use]
pub fn columns() -> usize {
    let terminal = terminal_size::terminal_size_of(std::io::stdout());
    let named = || std::env::var("COLUMNS").ok()?.trim().parse().ok();
    terminal.map(|(width, _)| usize::from(width.0)).or_else(named).unwrap_or(USUAL_COLUMNS)
}

/// What is said beside a result, on standard error, and how many lines of the screen that takes.
pub struct Beside {
    full: bool,
    columns: usize,
    taken: usize,
}

impl Beside {
    /// `whole`: everything is printed, as with `--full` and `--json`.
    #[must_use]
    pub fn new(whole: bool) -> Self {
        Self { full: whole, columns: columns(), taken: 0 }
    }

    /// As the flags of a command ask for.
    #[must_use]
    pub fn of(args: &ResultArgs) -> Self {
        Self::new(args.full || args.json)
    }

    /// Tells people something on standard error.
    pub fn tell(&mut self, text: &str) {
        self.taken += screen_lines(text, self.columns);
        files::tell(text);
    }

    /// Tells the warnings of a scenario: whole, or how many there are and which command shows them.
    pub fn warn(&mut self, scenario: &Scenario, warnings: &[Warning], spans: &Spans) {
        if self.full {
            files::tell(&render_warnings(warnings, spans, true));
        } else if let Some(line) = warnings_line(scenario, warnings) {
            self.tell(&line);
        }
    }

    /// Tells warnings that belong to no line of a file.
    pub fn warn_plainly(&mut self, warnings: &[Warning]) {
        for warning in warnings {
            let gap = if self.full { "\n" } else { "" };
            self.tell(&format!("warning: {}\n{gap}", warning.text));
        }
    }

    /// Counts a line that is told after the page.
    pub fn later(&mut self, text: &str) {
        self.taken += screen_lines(text, self.columns);
    }

    /// Prints the page on standard output.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn print(&self, page: &Page) -> Result<(), Error> {
        if self.full {
            return files::print(&page.full());
        }
        files::print(&page.first_screen(Screen { columns: self.columns, taken: self.taken }))
    }
}

/// `warning: 3 guesses, 1 rated value: \`check --guesses\`` and how many other warnings there are;
/// `None` without any.
fn warnings_line(scenario: &Scenario, warnings: &[Warning]) -> Option<String> {
    let counted = |count: usize, one: &str, many: &str| match count {
        0 => None,
        1 => Some(format!("1 {one}")),
        count => Some(format!("{count} {many}")),
    };
    let guesses = known_numbers(scenario).iter().filter(|it| it.basis == Basis::Guess).count();
    let of = |kind: Kind| warnings.iter().filter(|it| it.kind == kind).count();
    let rated = of(Kind::Nameplate);
    let unsure =
        [counted(guesses, "guess", "guesses"), counted(rated, "rated value", "rated values")];
    let unsure: Vec<String> = unsure.into_iter().flatten().collect();
    let others = warnings.len() - of(Kind::Guess) - rated;
    let mut parts = Vec::new();
    if !unsure.is_empty() {
        parts.push(format!("{}: `check --guesses`", unsure.join(", ")));
    }
    if let Some(others) = counted(others, "warning", "warnings") {
        parts.push(format!("{others}: `--full`"));
    }
    (!parts.is_empty()).then(|| format!("warning: {}\n", parts.join("; ")))
}
