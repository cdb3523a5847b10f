//! How long trials last, in order, and the hours that hold at stated odds.
//!
//! An answer holds at the chance when so many of the trials last that long that the share of all trials
//! which do is at least the chance, shown with 95 % confidence (the one-sided bound of Clopper and
//! Pearson): with 1,000 trials and chance of 0.95 at least 962 must. Where nothing is drawn one trial
//! is all there is. Trust: exact for the counts; the bound is checked against published values.

use super::Options;
use crate::chance::intervals::{Confidence, clopper_pearson_lower};
use crate::chance::merge::Tally;
use crate::error::Error;
use crate::simulate::trials::{Gather, Outcome, Prepared, Watch, run_trials};

/// Trials of one answer.
const TRIALS: u64 = 1_000;
/// So many trials may fail at the chance: fewer show nothing.
const MAY_FAIL: f64 = 8.0;

/// How trials are asked.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// How many.
    pub trials: u64,
    /// How many of them must last.
    pub must_last: u64,
    threads: usize,
}

impl Asked {
    /// As many trials as the chance need; one where all are alike.
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub fn new(prepared: &Prepared, options: &Options, days_held: bool) -> Self {
        let threads = options.threads;
        if prepared.all_alike(days_held) {
            return Self { trials: 1, must_last: 1, threads };
        }
        let wanted = (MAY_FAIL / (1.0 - options.target_chance)).ceil() as u64;
        let trials = TRIALS.max(wanted);
        Self { trials, must_last: must_last(trials, options.target_chance), threads }
    }

    /// Runs the trials.
    ///
    /// # Errors
    /// When threads cannot be started.
    pub fn lasted(&self, prepared: &Prepared) -> Result<Lasted, Error> {
        let empty =
            || Lasted { hours: Vec::new(), start_share: Vec::new(), must_last: self.must_last };
        let watch = Watch::default();
        let (mut lasted, _) = run_trials(prepared, 0..self.trials, self.threads, empty, &watch)?;
        lasted.hours.sort_by(f64::total_cmp);
        lasted.start_share.sort_by(f64::total_cmp);
        Ok(lasted)
    }

    /// Whether enough of the trials last to the end of the span.
    ///
    /// # Errors
    /// When threads cannot be started.
    pub fn last(&self, prepared: &Prepared) -> Result<bool, Error> {
        Ok(self.lasted(prepared)?.at_odds_h() == f64::INFINITY)
    }
}

/// How many of so many trials must last so that the true share is shown to be at least `target_chance`;
/// all of them where not even that would show it.
fn must_last(trials: u64, target_chance: f64) -> u64 {
    let shown = |lasted: u64| {
        let bound = |tally| clopper_pearson_lower(tally, Confidence::NINETY_FIVE);
        Tally::of_trials(lasted, trials).is_ok_and(|tally| bound(tally) >= target_chance)
    };
    let (mut low, mut high) = (0, trials);
    while low < high {
        let middle = low.midpoint(high);
        if shown(middle) { high = middle } else { low = middle + 1 }
    }
    high
}

/// How long each trial lasted, the shortest first, infinite where it lasted to the end; and with
/// which charges trials began, the lowest first.
#[derive(Debug, Clone, PartialEq)]
pub struct Lasted {
    hours: Vec<f64>,
    start_share: Vec<f64>,
    must_last: u64,
}

impl Gather for Lasted {
    fn trial(&mut self, outcome: &Outcome) {
        self.hours.push(outcome.first_off_air_h.unwrap_or(f64::INFINITY));
        self.start_share.push(outcome.start_charge_share);
    }

    fn join(&mut self, later: Self) {
        self.hours.extend(later.hours);
        self.start_share.extend(later.start_share);
    }
}

impl Lasted {
    /// Hours that enough of the trials last.
    #[must_use]
    pub fn at_odds_h(&self) -> f64 {
        self.at_odds(&self.hours)
    }

    /// The charge that enough of the trials begin with, or more.
    #[must_use]
    pub fn start_at_odds_share(&self) -> f64 {
        self.at_odds(&self.start_share)
    }

    fn at_odds(&self, sorted: &[f64]) -> f64 {
        let may_fail = sorted.len().saturating_sub(usize::try_from(self.must_last).unwrap_or(0));
        sorted.get(may_fail).copied().unwrap_or(0.0)
    }

    /// Hours that half of them last, or longer.
    #[must_use]
    pub fn half_h(&self) -> f64 {
        self.hours.get(self.hours.len() / 2).copied().unwrap_or(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn so_many_must_last_that_the_odds_are_shown() {
        // R. B. D'Agostino's "rule of three" for no failure: 0.05^(1/n) >= 0.95 from n = 59 on.
        assert_eq!(must_last(59, 0.95), 59);
        assert_eq!(must_last(1, 0.95), 1);
        let must = must_last(1000, 0.95);
        let bound = |lasted| {
            let tally = Tally::of_trials(lasted, 1000).unwrap();
            clopper_pearson_lower(tally, Confidence::NINETY_FIVE)
        };
        assert!(bound(must) >= 0.95 && bound(must - 1) < 0.95, "{must}");
    }

    #[test]
    fn hours_at_the_odds_are_those_that_enough_trials_last() {
        let hours: Vec<f64> = (1..=100).map(f64::from).collect();
        let start_share = hours.iter().map(|it| it / 100.0).collect();
        let lasted = Lasted { hours, start_share, must_last: 98 };
        // The third shortest: 98 of 100 last 3 h or longer.
        assert_eq!(lasted.at_odds_h(), 3.0);
        assert_eq!(lasted.half_h(), 51.0);
        assert_eq!(lasted.start_at_odds_share(), 0.03);
    }
}
