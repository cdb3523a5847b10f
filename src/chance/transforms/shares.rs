//! One of several things, each with its share.
//!
//! Day types, rows of a transition matrix, months by their number of storms. Trust: exact to the
//! rounding of the running sums.

use super::super::problem::ChanceProblem;

/// Shares of several alternatives.
#[derive(Debug, Clone, PartialEq)]
pub struct Shares {
    /// Sum of the shares up to and including each, over the whole sum. The last is 1.
    sums: Vec<f64>,
}

impl Shares {
    /// Alternatives with weights; they need not add up to 1.
    ///
    /// # Errors
    /// If a weight is negative or not finite, or if none is above 0.
    pub fn new(weights: &[f64]) -> Result<Self, ChanceProblem> {
        let mut sum = 0.0;
        let mut sums = Vec::with_capacity(weights.len());
        for weight in weights {
            let good = weight.is_finite() && *weight >= 0.0;
            ChanceProblem::unless(good, "a weight", *weight, "0 or more")?;
            sum += weight;
            sums.push(sum);
        }
        let some = sum > 0.0 && sum.is_finite();
        ChanceProblem::unless(some, "the sum of the weights", sum, "above 0")?;
        for running in &mut sums {
            *running /= sum;
        }
        Ok(Self { sums })
    }

    /// Index of the alternative for a chance in (0, 1). One without weight is never taken.
    #[must_use]
    pub fn index(&self, chance: f64) -> usize {
        let place = self.sums.partition_point(|sum| *sum <= chance);
        // A chance of 1 or more is the last alternative with weight.
        if place < self.sums.len() {
            return place;
        }
        self.sums.partition_point(|sum| *sum < 1.0)
    }
}

/// A whole number from 0 to `count - 1`, all alike, for a chance in (0, 1); 0 if there is none.
///
/// A uniform deviate has 2^52 values, so two numbers differ in chance by at most 2^-52.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
pub fn whole_below(chance: f64, count: u32) -> u32 {
    ((chance * f64::from(count)) as u32).min(count.saturating_sub(1))
}
