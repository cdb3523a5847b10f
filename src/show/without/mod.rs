//! What people and other programs see of a station without its parts, and of its guesses moved.
//!
//! Lives here: both sentences, the tables and the pictures: what each loss costs, how far each guess
//! swings the answer. Does not live here: what is counted, which belongs to decide.

pub mod lost;
pub mod sentence;
pub mod swings;
pub mod table;

use super::canvas::Picture;
use super::odds::sentence::Words;
use super::page::ROOM_PX;
use super::text::{clean, fit};
use super::theme::SUBTITLE;
use crate::decide::without::Without;

pub use sentence::{first_sentence, measure_sentence};
pub use table::{without_page, without_table};

/// All pictures: what each loss costs; what each guess does, where there are guesses.
#[must_use]
pub fn pictures(it: &Without) -> Vec<Picture> {
    let lost = (!it.lost.is_empty()).then(|| lost::lost(it));
    let swings = (!it.swings.is_empty()).then(|| swings::swings(it));
    lost.into_iter().chain(swings).collect()
}

/// Which station, under which strategy, how many trials.
fn trials_line(it: &Without) -> String {
    let many = Words::of(it.occasion).counted(it.trials);
    fit(&format!("{}; {many} (seed {})", whose(it), it.seed), SUBTITLE, ROOM_PX)
}

/// Which station, under which strategy. A variant stands in the title.
fn whose(it: &Without) -> String {
    format!("{}; strategy \"{}\"", clean(&it.title), clean(&it.strategy))
}
