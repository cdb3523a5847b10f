//! Whether fresh trials show that a card keeps the chance, and how often another may be tried.
//!
//! A card was chosen because it did well in some trials, and did too well in them. So it is tried on
//! fresh ones. Where these do not show the chance, the next stricter candidate is tried on trials that
//! none has seen, at most three in all. Each of them could pass by luck, so all are held to the lower
//! bound at a confidence of 1 - 0.05/3 (Bonferroni's inequality), the first one too: a card that
//! does not keep the chance then passes in at most 5 of 100 cases, however many are tried.

use serde::Serialize;

use super::tried::Tried;
use crate::chance::intervals::{Confidence, clopper_pearson_lower};
use crate::chance::merge::Tally;

/// Most cards that are tried on fresh trials.
pub const MOST_ATTEMPTS: u64 = 3;
/// What all of them together may pass by luck.
const LUCK: f64 = 0.05;

/// A card on fresh trials.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Attempt {
    /// The first of its trials.
    pub first_trial: u64,
    /// How many there were.
    pub trials: u64,
    /// How many of them stayed on the air.
    pub stayed: u64,
    /// Share of them.
    pub on_air_share: f64,
    /// Confidence of the one-sided lower bound: the same for every attempt.
    pub confidence: f64,
    /// That bound (Clopper and Pearson).
    pub on_air_lower_one_sided: f64,
    /// Whether it reaches the chance.
    pub holds: bool,
    /// Whether this card is the one that is printed.
    pub printed: bool,
}

/// The confidence of each lower bound.
fn confidence() -> Confidence {
    #[allow(clippy::cast_precision_loss)]
    let each = 1.0 - LUCK / MOST_ATTEMPTS as f64;
    Confidence::new(each).unwrap_or(Confidence::NINETY_FIVE)
}

/// The lower bound of a count.
fn lower(stayed: u64, trials: u64) -> f64 {
    Tally::of_trials(stayed, trials).map_or(0.0, |it| clopper_pearson_lower(it, confidence()))
}

impl Attempt {
    /// How a card fared on trials from `first_trial` on.
    #[must_use]
    pub fn of(tried: &Tried, first_trial: u64, target_chance: f64) -> Self {
        let bound = lower(tried.stayed, tried.trials);
        Self {
            first_trial,
            trials: tried.trials,
            stayed: tried.stayed,
            on_air_share: tried.on_air_share,
            confidence: confidence().share(),
            on_air_lower_one_sided: bound,
            holds: bound >= target_chance,
            printed: false,
        }
    }

    /// What it lacks of the chance, share; `None` where no other card need be tried. Where the trials
    /// are too few to show the chance even if all stay, their plain share says so.
    #[must_use]
    pub fn lacks_share(&self, target_chance: f64) -> Option<f64> {
        let few = lower(self.trials, self.trials) < target_chance;
        let reached = if few { self.on_air_share } else { self.on_air_lower_one_sided };
        Some(target_chance - reached).filter(|lacks| *lacks > 0.0)
    }
}

/// Which of some attempts is printed: the last where it lacks nothing, else that of the greatest
/// share; of equal ones the first.
#[must_use]
pub fn printed(attempts: &[Attempt], target_chance: f64) -> usize {
    let last = attempts.len().saturating_sub(1);
    if attempts.last().is_some_and(|it| it.lacks_share(target_chance).is_none()) {
        return last;
    }
    let stayed = |at: usize| attempts.get(at).map_or(0, |it| it.stayed);
    (0..=last).fold(0, |best, at| if stayed(at) > stayed(best) { at } else { best })
}
