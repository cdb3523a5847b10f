//! On which day of each month the branches of a trial leave.
//!
//! Systematic sampling with a random start: W. G. Madow and L. H. Madow, "On theory of
//! systematic sampling", Annals of Mathematical Statistics 15, 1 (1944). Trials fall into
//! [`CLASSES`] classes in turn; class c takes day `floor((c + u) L / 31)` of a month of L days,
//! counted from 0, with one u in 0 to 1 for the month. So every day has the same chance to be taken,
//! all days are taken evenly, and trials of a class meet the same hours and run side by side.
//! Classes come in steps of 12, so that few trials spread over the month too. Trust: exact.

use crate::chance::draw::{Draw, Purpose};

/// How many classes: days of the longest month.
pub(super) const CLASSES: u64 = 31;
/// From trial to trial; no factor in common with the classes.
const APART: u64 = 12;

/// The class of a trial.
pub(super) fn class_of(trial: u64) -> u64 {
    trial % CLASSES * APART % CLASSES
}

/// Day of a month (0 to 11) of `days` days that a class takes, from 0.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
pub(super) fn day_of(seed: u64, month0: usize, class: u64, days: usize) -> usize {
    let day = u32::try_from(month0 + 1).unwrap_or(0);
    let draw = Draw { branch: 1, ..Draw::new(seed, 0, day, Purpose::OutageHour) };
    let place = (class as f64 + draw.uniform()) * days as f64 / CLASSES as f64;
    (place as usize).min(days.saturating_sub(1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn trials_take_all_classes_in_turn_and_spread_early() {
        let mut all: Vec<u64> = (62..93).map(class_of).collect();
        all.sort_unstable();
        assert_eq!(all, (0..31).collect::<Vec<u64>>());
        let mut few: Vec<u64> = (0..8).map(class_of).collect();
        few.sort_unstable();
        let gaps = few.windows(2).map(|pair| pair[1] - pair[0]);
        assert!(gaps.max() <= Some(7), "{few:?}");
    }

    /// Every day is taken once or twice, and over many seeds each as often as the others.
    #[test]
    fn every_day_has_the_same_chance() {
        for days in [28_usize, 29, 30, 31] {
            let mut taken = vec![0_u32; days];
            let seeds = 3000;
            for seed in 0..seeds {
                let mut here = vec![0_u32; days];
                for class in 0..CLASSES {
                    here[day_of(seed, 1, class, days)] += 1;
                }
                assert!(here.iter().all(|count| (1..=2).contains(count)), "{days}: {here:?}");
                for (sum, count) in taken.iter_mut().zip(&here) {
                    *sum += count;
                }
            }
            let expected = f64::from(31 * seeds as u32) / days as f64;
            for count in taken {
                // Bernoulli on top of one: 4.5 standard errors of at most sqrt(3000) / 2 each.
                assert!((f64::from(count) - expected).abs() < 4.5 * 27.4, "{days}: {count}");
            }
        }
    }
}
