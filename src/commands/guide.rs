//! `guide`: the manual, as wide as the terminal.

use super::files;
use crate::cli::GuideArgs;
use crate::error::Error;
use crate::guide;

/// Columns where nobody says how wide the page may be: a pipe, a file.
const USUAL_COLUMNS: usize = 80;
/// Longer lines are hard to read.
const MOST_COLUMNS: usize = 100;
/// Below this no page can be folded.
const LEAST_COLUMNS: usize = 24;

/// Prints the list of topics, a page, or the places of a word.
///
/// # Errors
/// When there is no such topic, key or word, or standard output cannot be written.
pub fn run(args: &GuideArgs) -> Result<(), Error> {
    let width = columns();
    let text = match (&args.find, &args.topic) {
        (Some(word), _) => guide::places_of(word, width)?,
        (None, Some(asked)) => guide::page(asked, width)?,
        (None, None) => guide::contents(width),
    };
    files::print(&text)
}

/// Columns of the terminal; those that `COLUMNS` names where there is none.
fn columns() -> usize {
    let terminal = terminal_size::terminal_size_of(std::io::stdout());
    let named = || std::env::var("COLUMNS").ok()?.trim().parse().ok();
    let columns =
        terminal.map(|(width, _)| usize::from(width.0)).or_else(named).unwrap_or(USUAL_COLUMNS);
    columns.clamp(LEAST_COLUMNS, MOST_COLUMNS)
}
