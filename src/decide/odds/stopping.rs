//! When there are trials enough.
//!
//! `--until-half-width w` runs rounds of a thousand trials and stops after the first round at whose
//! end the Wilson interval (95 %) is at most w to either side of its middle. Looking again and again
//! costs something: the interval printed then holds the true chance not quite as often as one of
//! a number of trials fixed beforehand, and the chance printed is a little too high, since a lucky
//! beginning looks narrow earlier. Both are small and computed exactly in the tests by dynamic
//! programming over the number of failures: with rounds of a thousand the interval still holds the
//! truth in at least 95 % of runs for chance 0.95 to 0.999 and w 0.001 to 0.01; the chance is
//! too high by less than 0.07 w up to chance 0.99, by 0.17 w at 0.999 and w 0.001. Who needs
//! neither fixes the trials beforehand, and
//! [`trials_for_wilson_half_width`](crate::chance::intervals::trials_for_wilson_half_width) says how
//! many. Trust: checked against published values.

use serde::Serialize;

use crate::chance::intervals::{Confidence, wilson};
use crate::chance::merge::Tally;

/// Trials of a round.
pub const ROUND_TRIALS: u64 = 1_000;

/// Trials after which it ends in any case.
pub const MOST_TRIALS: u64 = 10_000_000;

/// What was asked of the interval and what it came to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stopping {
    /// Half-width asked for.
    pub half_width_asked: f64,
    /// Half-width reached.
    pub half_width_reached: f64,
    /// Trials of a round; the width was looked at after each.
    pub round_trials: u64,
}

/// Half the width of the Wilson interval, 95 %.
#[must_use]
pub fn half_width(tally: Tally) -> f64 {
    let interval = wilson(tally, Confidence::NINETY_FIVE);
    (interval.high - interval.low) / 2.0
}

/// Whether a round ends the trials.
#[must_use]
pub fn is_enough(tally: Tally, half_width_asked: f64) -> bool {
    half_width(tally) <= half_width_asked
}
