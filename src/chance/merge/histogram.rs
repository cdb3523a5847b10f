//! Counts by bin, and the quantiles they give.
//!
//! Even bins over a range fixed beforehand, values outside counted apart. A quantile is that of the
//! inverse empirical distribution: the smallest value of which at least that share lies at or
//! below (R. J. Hyndman and Y. Fan, "Sample quantiles in statistical packages", 1996, type 1). The
//! bin that holds it is known exactly, the value to within its width. Trust: exact for the bin.

use serde::{Deserialize, Serialize};

use super::super::problem::ChanceProblem;

/// Counts by bin.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Written", into = "Written")]
pub struct Histogram {
    low: f64,
    high: f64,
    counts: Vec<u64>,
    below: u64,
    above: u64,
    least: f64,
    greatest: f64,
}

/// Where a quantile lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantile {
    /// It is not below this.
    pub low: f64,
    /// It is not above this.
    pub high: f64,
    /// The best guess: the values of a bin spread evenly over it.
    pub value: f64,
}

impl Histogram {
    /// `bins` even bins from `low` to `high`. A bin holds its lower edge, the last one both edges.
    ///
    /// # Errors
    /// If the ends are not finite or not in order, or if there is no bin or more than 2^24.
    pub fn new(low: f64, high: f64, bins: usize) -> Result<Self, ChanceProblem> {
        let finite = low.is_finite() && (high - low).is_finite();
        ChanceProblem::unless(finite, "the low end of a histogram", low, "a finite number")?;
        ChanceProblem::unless(
            low < high,
            "the high end of a histogram",
            high,
            "above the low end",
        )?;
        #[allow(clippy::cast_precision_loss)]
        let found = bins as f64;
        let some = (1..=1 << 24).contains(&bins);
        ChanceProblem::unless(some, "the number of bins", found, "1 to 16,777,216")?;
        Ok(Self {
            low,
            high,
            counts: vec![0; bins],
            below: 0,
            above: 0,
            least: f64::INFINITY,
            greatest: f64::NEG_INFINITY,
        })
    }

    /// Counts one value.
    ///
    /// # Errors
    /// If it is not a finite number.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
    pub fn add(&mut self, value: f64) -> Result<(), ChanceProblem> {
        ChanceProblem::unless(value.is_finite(), "a value to be counted", value, "finite")?;
        // Adding 0 turns -0 into 0: the ends must not depend on which came first.
        let value = value + 0.0;
        self.least = self.least.min(value);
        self.greatest = self.greatest.max(value);
        let last = self.counts.len() - 1;
        let cell = if value < self.low {
            &mut self.below
        } else if value > self.high {
            &mut self.above
        } else {
            let share = (value - self.low) / (self.high - self.low);
            let bin = (share * self.counts.len() as f64) as usize;
            &mut self.counts[bin.min(last)]
        };
        *cell = cell.saturating_add(1);
        Ok(())
    }

    /// Adds the counts of another histogram over the same bins.
    ///
    /// # Errors
    /// If its bins are others; this one is then as it was.
    pub fn merge(&mut self, other: &Self) -> Result<(), ChanceProblem> {
        #[allow(clippy::cast_precision_loss)]
        let found = other.counts.len() as f64;
        let same = self.low == other.low
            && self.high == other.high
            && self.counts.len() == other.counts.len();
        ChanceProblem::unless(same, "the bins of a histogram to be added", found, "the same bins")?;
        for (count, more) in self.counts.iter_mut().zip(&other.counts) {
            *count = count.saturating_add(*more);
        }
        self.below = self.below.saturating_add(other.below);
        self.above = self.above.saturating_add(other.above);
        self.least = self.least.min(other.least);
        self.greatest = self.greatest.max(other.greatest);
        Ok(())
    }

    /// The counts: below the range, in each bin, above the range.
    #[must_use]
    pub fn counts(&self) -> (u64, &[u64], u64) {
        (self.below, &self.counts, self.above)
    }

    /// How many values.
    #[must_use]
    pub fn count(&self) -> u64 {
        let ends = self.below.saturating_add(self.above);
        self.counts.iter().fold(ends, |sum, count| sum.saturating_add(*count))
    }

    /// The least and the greatest value, if there is any.
    #[must_use]
    pub fn ends(&self) -> Option<(f64, f64)> {
        (self.count() > 0).then_some((self.least, self.greatest))
    }

    /// The quantile for a share of 0 to 1, if there is any value.
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
    pub fn quantile(&self, share: f64) -> Option<Quantile> {
        let count = self.count();
        if count == 0 {
            return None;
        }
        let rank = ((share * count as f64).ceil() as u64).clamp(1, count);
        let width = (self.high - self.low) / self.counts.len() as f64;
        let edge = |bin: usize| self.low + width * bin as f64;
        let bins = self.counts.iter().enumerate();
        let cells = std::iter::once((f64::NEG_INFINITY, self.low, self.below))
            .chain(bins.map(|(bin, within)| (edge(bin), edge(bin + 1), *within)))
            .chain(std::iter::once((self.high, f64::INFINITY, self.above)));
        let mut before = 0_u64;
        for (low, high, within) in cells {
            if rank <= before.saturating_add(within) {
                let (low, high) = (low.max(self.least), high.min(self.greatest));
                let part = ((rank - before) as f64 - 0.5) / within as f64;
                return Some(Quantile { low, high, value: low + (high - low) * part });
            }
            before = before.saturating_add(within);
        }
        None
    }
}

/// A histogram as it is written: the ends are missing where nothing was counted.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    low: f64,
    high: f64,
    counts: Vec<u64>,
    below: u64,
    above: u64,
    ends: Option<(f64, f64)>,
}

impl From<Histogram> for Written {
    fn from(histogram: Histogram) -> Self {
        let ends = histogram.ends();
        let Histogram { low, high, counts, below, above, .. } = histogram;
        Self { low, high, counts, below, above, ends }
    }
}

impl TryFrom<Written> for Histogram {
    type Error = String;

    fn try_from(written: Written) -> Result<Self, String> {
        let Written { low, high, counts, below, above, ends } = written;
        let mut histogram =
            Self::new(low, high, counts.len()).map_err(|problem| problem.to_string())?;
        (histogram.counts, histogram.below, histogram.above) = (counts, below, above);
        match ends {
            Some((least, greatest)) if least.is_finite() && least <= greatest => {
                (histogram.least, histogram.greatest) = (least, greatest);
            }
            None => {}
            Some((least, _)) => return Err(format!("{least} is not the least of the values")),
        }
        if ends.is_some() == (histogram.count() > 0) {
            Ok(histogram)
        } else {
            Err("the ends of a histogram belong to its values".to_owned())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_written_comes_back_and_nonsense_is_refused() {
        let mut histogram = Histogram::new(0.0, 1.0, 4).unwrap();
        let text = |histogram: &Histogram| serde_json::to_string(histogram).unwrap();
        assert_eq!(serde_json::from_str::<Histogram>(&text(&histogram)).unwrap(), histogram);
        for value in [0.1, 0.3, 1.25, -0.5, 1.0 / 3.0] {
            histogram.add(value).unwrap();
        }
        assert_eq!(serde_json::from_str::<Histogram>(&text(&histogram)).unwrap(), histogram);
        let good = r#"{"low":0.0,"high":1.0,"counts":[1],"below":0,"above":0,"ends":[0.5,0.5]}"#;
        assert!(serde_json::from_str::<Histogram>(good).is_ok());
        for (from, to) in [
            ("[0.5,0.5]", "null"),
            ("[0.5,0.5]", "[0.5,0.4]"),
            ("[1]", "[]"),
            ("[1]", "[0]"),
            ("1.0", "0.0"),
        ] {
            let wrong = good.replace(from, to);
            assert!(serde_json::from_str::<Histogram>(&wrong).is_err(), "{wrong}");
        }
    }
}
