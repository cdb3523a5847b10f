//! How many trials a station needs before it is clear on which side of the target it lies.
//!
//! Trials come in rounds: 512, then as many again, then twice as many, up to the number asked for.
//! After each round but the last a station is done if it is clearly above or below: the target lies
//! below the lower, or above the upper, one-sided 99.9 % bound of Clopper and Pearson. What is not
//! clear by then is decided by all trials: the one-sided 95 % lower bound reaches the target, or it does
//! not. A look that is wrong once in a thousand, at most eleven times, misplaces a step of the
//! staircase now and then; that is why the station that is told is always run again on fresh trials.
//! Trust: checked against published values (the bounds).

use serde::Serialize;

use crate::chance::intervals::{Confidence, clopper_pearson_lower};
use crate::chance::merge::Tally;

/// Trials of the first round.
pub const FIRST_ROUND: u64 = 512;

/// On which side of the target a station lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// It reaches it.
    Reaches,
    /// It misses it.
    Misses,
}

/// How sure a look must be to end before all trials are done.
fn sure() -> Confidence {
    Confidence::new(0.999).unwrap_or(Confidence::NINETY_FIVE)
}

/// The one-sided 95 % lower bound: what decisions rest on.
#[must_use]
pub fn at_least(tally: Tally) -> f64 {
    clopper_pearson_lower(tally, Confidence::NINETY_FIVE)
}

/// Whether trials show that a station reaches a target.
#[must_use]
pub fn shows(tally: Tally, target: f64) -> bool {
    at_least(tally) >= target
}

/// On which side it is after some of the trials; `None` when more are needed. `last`: these are all.
#[must_use]
pub fn side(tally: Tally, target: f64, last: bool) -> Option<Side> {
    if last {
        return Some(if shows(tally, target) { Side::Reaches } else { Side::Misses });
    }
    if clopper_pearson_lower(tally, sure()) >= target {
        return Some(Side::Reaches);
    }
    let failed = Tally::of(tally.failures(), tally.successes()).ok()?;
    (1.0 - clopper_pearson_lower(failed, sure()) < target).then_some(Side::Misses)
}

/// Trials after which looks are taken, up to `most`.
pub fn looks(most: u64) -> impl Iterator<Item = u64> {
    std::iter::successors(Some(FIRST_ROUND.min(most)), move |done| {
        (*done < most).then(|| done.saturating_mul(2).min(most))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounds_double_and_end_with_all() {
        assert_eq!(looks(10_000).collect::<Vec<_>>(), [512, 1024, 2048, 4096, 8192, 10_000]);
        assert_eq!(looks(512).collect::<Vec<_>>(), [512]);
        assert_eq!(looks(100).collect::<Vec<_>>(), [100]);
    }

    #[test]
    fn only_what_is_clear_ends_early() {
        let of = |k, n| Tally::of_trials(k, n).unwrap();
        assert_eq!(side(of(512, 512), 0.95, false), Some(Side::Reaches));
        assert_eq!(side(of(500, 512), 0.95, false), None);
        assert_eq!(side(of(470, 512), 0.95, false), None);
        assert_eq!(side(of(440, 512), 0.95, false), Some(Side::Misses));
        // All trials decide by the one-sided 95 % bound.
        assert_eq!(side(of(9_535, 10_000), 0.95, true), Some(Side::Misses));
        assert_eq!(side(of(9_536, 10_000), 0.95, true), Some(Side::Misses));
        assert_eq!(side(of(9_540, 10_000), 0.95, true), Some(Side::Reaches));
        // Few trials show no high chance of staying on the air, however well they go.
        assert_eq!(side(of(58, 58), 0.95, true), Some(Side::Misses));
        assert_eq!(side(of(59, 59), 0.95, true), Some(Side::Reaches));
    }

    /// A look says early what all trials would say, when it says anything, for the same share.
    #[test]
    fn an_early_look_never_contradicts_its_own_share() {
        let of = |k: u64| Tally::of_trials(k, 512).unwrap();
        for target in [0.5, 0.9, 0.95, 0.99, 0.999] {
            for k in 0..=512 {
                match side(of(k), target, false) {
                    Some(Side::Reaches) => assert!(shows(of(k), target)),
                    Some(Side::Misses) => assert!(!shows(of(k), target)),
                    None => {}
                }
            }
        }
    }
}
