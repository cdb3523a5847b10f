//! Two stations in the same trials: how far apart their shares are.
//!
//! Difference: R. G. Newcombe, "Improved confidence intervals for the difference between binomial
//! proportions based on paired data", Statistics in Medicine 17, 2635 (1998), method 10: the Wilson
//! ends of both shares, squared and added, with a correlation phi whose numerator is drawn towards
//! zero by half the trials. Test: Q. McNemar, "Note on the sampling error of the difference
//! between correlated proportions or percentages", Psychometrika 12, 153 (1947), in its exact form:
//! the trials that only one survives are coin throws if neither is better. Trust: checked against
//! published values.

use super::super::merge::Tally;
use super::super::problem::ChanceProblem;
use super::super::special::beta::{Split, incomplete_beta};
use super::super::special::binomial::binomial_mass;
use super::single::wilson;
use super::{Confidence, Interval};

/// How the same trials went for two stations, A and B.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub struct Paired {
    /// Both last.
    pub both: u64,
    /// Only A lasts.
    pub only_a: u64,
    /// Only B lasts.
    pub only_b: u64,
    /// Neither lasts.
    pub neither: u64,
}

impl Paired {
    /// Counts one trial.
    pub fn count(&mut self, a_lasts: bool, b_lasts: bool) {
        let cell = match (a_lasts, b_lasts) {
            (true, true) => &mut self.both,
            (true, false) => &mut self.only_a,
            (false, true) => &mut self.only_b,
            (false, false) => &mut self.neither,
        };
        *cell = cell.saturating_add(1);
    }

    /// Both sets of trials as one.
    #[must_use]
    pub fn merged(self, other: Self) -> Self {
        Self {
            both: self.both.saturating_add(other.both),
            only_a: self.only_a.saturating_add(other.only_a),
            only_b: self.only_b.saturating_add(other.only_b),
            neither: self.neither.saturating_add(other.neither),
        }
    }

    /// The count of A alone, then that of B alone.
    ///
    /// # Errors
    /// If there are more than 2^53 trials.
    pub fn tallies(self) -> Result<[Tally; 2], ChanceProblem> {
        let sum = |cells: [u64; 2]| cells[0].saturating_add(cells[1]);
        Ok([
            Tally::of(sum([self.both, self.only_a]), sum([self.only_b, self.neither]))?,
            Tally::of(sum([self.both, self.only_b]), sum([self.only_a, self.neither]))?,
        ])
    }
}

/// How much greater A's share is than B's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// Share of A less share of B in the trials, -1 to 1.
    pub difference: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// The difference with its interval, Newcombe 1998, method 10 (square and add).
///
/// With l, u the Wilson ends and p the shares:
/// `low = d - sqrt((p1 - l1)^2 - 2 phi (p1 - l1)(u2 - p2) + (u2 - p2)^2)` and
/// `high = d + sqrt((u1 - p1)^2 - 2 phi (u1 - p1)(p2 - l2) + (p2 - l2)^2)`.
///
/// # Errors
/// If there are more than 2^53 trials.
pub fn newcombe_difference(
    paired: Paired,
    confidence: Confidence,
) -> Result<Difference, ChanceProblem> {
    let [a, b] = paired.tallies()?;
    if a.trials() == 0 {
        return Ok(Difference { difference: 0.0, low: -1.0, high: 1.0 });
    }
    let (share_a, share_b) = (a.share(), b.share());
    let (ends_a, ends_b) = (wilson(a, confidence), wilson(b, confidence));
    let phi = corrected_phi(paired, a, b);
    let added = |one: f64, other: f64| {
        (one * one - 2.0 * phi * one * other + other * other).max(0.0).sqrt()
    };
    let (below_a, above_a) = arms(share_a, ends_a);
    let (below_b, above_b) = arms(share_b, ends_b);
    #[allow(clippy::cast_precision_loss)]
    let difference =
        (i128::from(paired.only_a) - i128::from(paired.only_b)) as f64 / a.trials() as f64;
    Ok(Difference {
        difference,
        low: difference - added(below_a, above_b),
        high: difference + added(above_a, below_b),
    })
}

fn arms(share: f64, ends: Interval) -> (f64, f64) {
    (share - ends.low, ends.high - share)
}

/// The correlation of both outcomes, its numerator n11 n22 - n12 n21 lessened by n/2 down to 0
/// where it is positive; 0 where one station always lasts or never does.
#[allow(clippy::cast_precision_loss)]
fn corrected_phi(paired: Paired, a: Tally, b: Tally) -> f64 {
    let product = |one: u64, other: u64| i128::from(one) * i128::from(other);
    // Twice the numerator, to stay whole.
    let twice = 2 * (product(paired.both, paired.neither) - product(paired.only_a, paired.only_b));
    let twice = if twice > 0 { (twice - i128::from(a.trials())).max(0) } else { twice };
    let spread = |tally: Tally| (product(tally.successes(), tally.failures()) as f64).sqrt();
    let under = spread(a) * spread(b);
    if under == 0.0 { 0.0 } else { twice as f64 / 2.0 / under }
}

/// Chance of a split at least as uneven as this if neither is better: two-sided, exact.
#[must_use]
pub fn mcnemar_exact_p(only_a: u64, only_b: u64) -> f64 {
    let (fewer, _, more) = sides(only_a, only_b);
    if fewer == more {
        return 1.0;
    }
    // P(X <= fewer) of a fair coin
    (2.0 * incomplete_beta(more, fewer + 1.0, FAIR).share).min(1.0)
}

/// The same with half the chance of this very split left out: less cautious, nearer to the stated
/// level on average (H. O. Lancaster, "Significance tests in discrete distributions", 1961).
#[must_use]
pub fn mcnemar_mid_p(only_a: u64, only_b: u64) -> f64 {
    let (fewer, both, more) = sides(only_a, only_b);
    if fewer == more {
        return 1.0;
    }
    mcnemar_exact_p(only_a, only_b) - binomial_mass(fewer, both, 0.5, 0.5)
}

const FAIR: Split = Split { share: 0.5, rest: 0.5 };

#[allow(clippy::cast_precision_loss)]
fn sides(only_a: u64, only_b: u64) -> (f64, f64, f64) {
    let (fewer, more) = (only_a.min(only_b) as f64, only_a.max(only_b) as f64);
    (fewer, fewer + more, more)
}
