//! A law given by some of its quantiles, straight between them.
//!
//! For spreads that people or records state as "a tenth is below this, half below that". The law
//! is even between two stated values, so mean and mean excess are exact sums over the pieces.
//! Trust: exact for the law as stated.

use super::super::problem::ChanceProblem;

/// A law by its quantiles.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantiles {
    chances: Vec<f64>,
    values: Vec<f64>,
    /// For the n-th of as many even steps in chance as there are pieces: the piece it begins in.
    guide: Vec<u32>,
}

impl Quantiles {
    /// The law whose `(chance, value)` pairs are given: chances rise from exactly 0 to exactly 1,
    /// values are finite and never fall.
    ///
    /// # Errors
    /// If they do not, or if there are fewer than two pairs or more than 2^24.
    pub fn new(pairs: &[(f64, f64)]) -> Result<Self, ChanceProblem> {
        #[allow(clippy::cast_precision_loss)]
        let count = pairs.len() as f64;
        let enough = (2..=1 << 24).contains(&pairs.len());
        ChanceProblem::unless(enough, "the number of quantiles", count, "2 to 16,777,216")?;
        let (first, last) = (pairs[0].0, pairs[pairs.len() - 1].0);
        ChanceProblem::unless(first == 0.0, "the first chance", first, "0")?;
        ChanceProblem::unless(last == 1.0, "the last chance", last, "1")?;
        for (_, value) in pairs {
            ChanceProblem::unless(value.is_finite(), "a quantile", *value, "a finite number")?;
        }
        for two in pairs.windows(2) {
            let (rises, holds) = (two[0].0 < two[1].0, two[0].1 <= two[1].1);
            ChanceProblem::unless(rises, "a chance", two[1].0, "above the one before")?;
            ChanceProblem::unless(holds, "a quantile", two[1].1, "not below the one before")?;
        }
        let chances: Vec<f64> = pairs.iter().map(|pair| pair.0).collect();
        let values = pairs.iter().map(|pair| pair.1).collect();
        let pieces = chances.len() - 1;
        let mut guide = Vec::with_capacity(pieces);
        let mut piece = 0;
        for step in 0..pieces {
            #[allow(clippy::cast_precision_loss)]
            let chance = step as f64 / pieces as f64;
            while piece + 1 < pieces && chances[piece + 1] <= chance {
                piece += 1;
            }
            #[allow(clippy::cast_possible_truncation)]
            guide.push(piece as u32);
        }
        Ok(Self { chances, values, guide })
    }

    /// The value below which the chance lies, for a chance in (0, 1).
    ///
    /// The piece is found by a guide table: H.-C. Chen and Y. Asau, "On generating random variates
    /// from an empirical distribution", AIIE Transactions 6, 163 (1974).
    #[must_use]
    pub fn value(&self, chance: f64) -> f64 {
        let pieces = self.guide.len();
        #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)]
        #[allow(clippy::cast_sign_loss)]
        let step = ((chance * pieces as f64) as usize).min(pieces - 1);
        let mut piece = self.guide[step] as usize;
        while piece + 1 < pieces && self.chances[piece + 1] < chance {
            piece += 1;
        }
        let within =
            (chance - self.chances[piece]) / (self.chances[piece + 1] - self.chances[piece]);
        self.values[piece] + (self.values[piece + 1] - self.values[piece]) * within
    }

    /// Chance of a value above `x`.
    #[must_use]
    pub fn survival(&self, x: f64) -> f64 {
        // The last node at or below x.
        let above = self.values.partition_point(|value| *value <= x);
        if above == 0 {
            return 1.0;
        }
        if above == self.values.len() {
            return 0.0;
        }
        let (low, high) = (self.values[above - 1], self.values[above]);
        let step = self.chances[above] - self.chances[above - 1];
        1.0 - (self.chances[above - 1] + step * (x - low) / (high - low))
    }

    /// Mean.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.values[0] + self.mean_excess(self.values[0])
    }

    /// Mean of what lies beyond `x`, nothing where the value is below.
    #[must_use]
    pub fn mean_excess(&self, x: f64) -> f64 {
        let mut sum = 0.0;
        for piece in 0..self.guide.len() {
            let (low, high) = (self.values[piece], self.values[piece + 1]);
            let step = self.chances[piece + 1] - self.chances[piece];
            if x <= low {
                sum += step * ((low - x) + (high - low) / 2.0);
            } else if x < high {
                sum += step * (high - x) * (high - x) / (2.0 * (high - low));
            }
        }
        sum
    }

    /// The lowest and the highest value.
    #[must_use]
    pub fn ends(&self) -> (f64, f64) {
        (self.values[0], self.values[self.values.len() - 1])
    }
}
