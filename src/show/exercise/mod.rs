//! What people and other programs see of a club exercise.
//!
//! Lives here: the first sentence, the table, the CSV files, the timeline of one trial as a picture, and
//! the sheets that go along on paper. Does not live here: what is counted, which belongs to decide.

pub mod chart;
pub mod clock_axis;
pub mod export;
mod paragraphs;
pub mod sheets;
pub mod table;
mod told;

use rayon::prelude::*;

use super::canvas::Picture;
use super::odds::sentence::{Words, whole};
use super::words::hours;
use crate::decide::exercise::{ClubTimeline, Exercise};

/// All pictures of a club: a timeline for each trial to look at.
#[must_use]
pub fn pictures(exercise: &Exercise, timelines: &[ClubTimeline]) -> Vec<Picture> {
    timelines.par_iter().map(|timeline| chart::timeline(exercise, timeline)).collect()
}

/// What must be up: `all four stations`, `at least 3 of 4 stations`.
#[must_use]
pub fn what_counts(exercise: &Exercise) -> String {
    let of = exercise.stations.len();
    match exercise.stations_needed {
        1 if of == 1 => "the station".to_owned(),
        needed if needed == of => format!("all {of} stations"),
        needed => format!("at least {needed} of {of} stations"),
    }
}

/// `The club was up for all 27 hours in 1,432 of 2,000 simulated periods: at least 3 of 4 stations on the air at
/// every moment.`
#[must_use]
pub fn first_sentence(exercise: &Exercise) -> String {
    let words = Words::of(exercise.occasion);
    let counted = words.counted(exercise.trials);
    let up = exercise.trials.saturating_sub(exercise.club.failures);
    let span = hours(exercise.hours);
    let kept = if exercise.club.failures == 0 {
        format!("The club was up for all {span} in all {counted}")
    } else if up == 0 {
        format!("The club was up for all {span} in none of {counted}")
    } else {
        format!("The club was up for all {span} in {} of {counted}", whole(up))
    };
    let early = if exercise.ended_early {
        format!(" Ended early: {} were asked for.", whole(exercise.trials_asked))
    } else {
        String::new()
    };
    format!("{kept}: {} on the air at every moment.{early}", what_counts(exercise))
}
