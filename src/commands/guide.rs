//! `guide`: the manual, as wide as the terminal.

use super::{files, screen};
use crate::cli::GuideArgs;
use crate::error::Error;
use crate::guide;

/// Longer lines are hard to read.
const MOST_COLUMNS: usize = 100;
/// Below this no page can be folded.
const LEAST_COLUMNS: usize = 24;

/// Prints the list of topics, a page, or the places of a word.
///
/// # Errors
/// When there is no such topic, key or word, or standard output cannot be written.
pub fn run(args: &GuideArgs) -> Result<(), Error> {
    let width = screen::columns().clamp(LEAST_COLUMNS, MOST_COLUMNS);
    let text = match (&args.find, &args.topic) {
        (Some(word), _) => guide::places_of(word, width)?,
        (None, Some(asked)) => guide::page(asked, width)?,
        (None, None) => guide::contents(width),
    };
    files::print(&text)
}
