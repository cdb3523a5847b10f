//! What people and other programs see of a calendar.
//!
//! Lives here: the first sentence, the table, `calendar.csv` and the picture: curves over the months
//! for a few hours of the clock, a panel for each strategy. Does not live here: what is counted,
//! which belongs to decide.

pub mod curves;
pub mod export;
pub mod sentence;
pub mod table;

pub use curves::curves;
pub use sentence::first_sentence;
pub use table::{calendar_page, calendar_table};

use super::odds::sentence::Words;
use super::words::hours;
use crate::decide::calendar::{Calendar, Outages};
use crate::decide::odds::Occasion;
pub use crate::scenario::problem::MONTHS;

/// The name of a month, 1 to 12.
#[must_use]
pub fn month_name(month: u32) -> &'static str {
    let at = usize::try_from(month).unwrap_or(0).wrapping_sub(1);
    MONTHS.get(at).copied().unwrap_or("-")
}

/// `06:00`.
#[must_use]
pub fn clock(hour: u32) -> String {
    format!("{hour:02}:00")
}

/// What a branch is called.
fn cases(calendar: &Calendar) -> &'static str {
    let occasion = match calendar.outages {
        Outages::WithStorm => Occasion::OutageWithStorm,
        Outages::AnySky => Occasion::Outage,
        Outages::None => Occasion::Weather,
    };
    Words::of(occasion).many
}

/// `72 hours`.
fn length(calendar: &Calendar) -> String {
    hours(f64::from(calendar.hours))
}

/// What the branches are, in a sentence.
fn what(calendar: &Calendar) -> String {
    let length = length(calendar);
    match calendar.outages {
        Outages::WithStorm => {
            format!("the mains fails for {length} and a storm dims the sun")
        }
        Outages::AnySky => format!("the mains fails for {length} in any weather"),
        Outages::None => format!("{length} of a station without mains"),
    }
}
