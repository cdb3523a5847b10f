//! The check in words: its sentence, what needs mending, and the table by item.
//!
//! Lives here: text of 80 columns, and the entries of its table for pages. Does not live here: what
//! is examined (`decide::preflight`), and the picture of the station ([`super::diagram`]).

mod guesses;
mod screen;
mod table;

pub use guesses::{Unsure, guesses_text};
pub use screen::{Beside, first_screen};
pub use table::{
    always_on_table, amount, bases, finding_table, first_sentence, notes, preflight_text, unstated,
};
