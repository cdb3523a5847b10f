//! How many trials went well.

use serde::{Deserialize, Serialize};

use super::super::problem::ChanceProblem;

/// Successes and failures, together at most 2^53: beyond that a count is no exact number.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "Written", into = "Written")]
pub struct Tally {
    successes: u64,
    failures: u64,
}

const MOST: u64 = 1 << 53;

impl Tally {
    /// A tally of both counts.
    ///
    /// # Errors
    /// If they are more than 2^53 together.
    pub fn of(successes: u64, failures: u64) -> Result<Self, ChanceProblem> {
        let trials = successes.saturating_add(failures);
        #[allow(clippy::cast_precision_loss)]
        let found = trials as f64;
        ChanceProblem::unless(trials <= MOST, "the number of trials", found, "at most 2^53")?;
        Ok(Self { successes, failures })
    }

    /// So many successes in so many trials.
    ///
    /// # Errors
    /// If there are more successes than trials, or more than 2^53 trials.
    pub fn of_trials(successes: u64, trials: u64) -> Result<Self, ChanceProblem> {
        #[allow(clippy::cast_precision_loss)]
        let found = successes as f64;
        let good = successes <= trials;
        ChanceProblem::unless(good, "the number of successes", found, "at most the trials")?;
        Self::of(successes, trials - successes)
    }

    /// Counts one trial.
    ///
    /// At 2^53 trials it stays as it is, which no run reaches.
    pub fn count(&mut self, success: bool) {
        if self.trials() < MOST {
            if success { self.successes += 1 } else { self.failures += 1 }
        }
    }

    /// Both as one.
    ///
    /// # Errors
    /// If they are more than 2^53 together.
    pub fn merged(self, other: Self) -> Result<Self, ChanceProblem> {
        Self::of(self.successes + other.successes, self.failures + other.failures)
    }

    /// Trials that went well.
    #[must_use]
    pub fn successes(self) -> u64 {
        self.successes
    }

    /// Trials that did not.
    #[must_use]
    pub fn failures(self) -> u64 {
        self.failures
    }

    /// All trials.
    #[must_use]
    pub fn trials(self) -> u64 {
        self.successes + self.failures
    }

    /// Successes over trials, 0 to 1; 0 without a trial.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn share(self) -> f64 {
        if self.trials() == 0 { 0.0 } else { self.successes as f64 / self.trials() as f64 }
    }
}

/// A tally as it is written.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    successes: u64,
    failures: u64,
}

impl From<Tally> for Written {
    fn from(tally: Tally) -> Self {
        Self { successes: tally.successes, failures: tally.failures }
    }
}

impl TryFrom<Written> for Tally {
    type Error = ChanceProblem;

    fn try_from(written: Written) -> Result<Self, ChanceProblem> {
        Self::of(written.successes, written.failures)
    }
}
