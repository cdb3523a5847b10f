//! Whole numbers in their order, each with how often it came and the first trial that had it.
//!
//! Values are whole small units (a hundred-thousandth of the charge, a minute), so that equal ones
//! meet: memory grows with the values that differ, not with the trials, and every rank is known
//! exactly, with a trial to show for it. Counts add and the lowest number of a trial wins, so parts
//! join to the same whatever was first. Trust: exact for the rounded values.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// Values in ascending order.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Vec<(i64, u64, u64)>", into = "Vec<(i64, u64, u64)>")]
pub struct Ranked {
    values: BTreeMap<i64, Held>,
    count: u64,
}

/// How often a value came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Held {
    count: u64,
    first_trial: u64,
}

/// One value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// In small units.
    pub value: i64,
    /// How often it came.
    pub count: u64,
    /// The first trial that had it.
    pub first_trial: u64,
}

impl Ranked {
    /// Counts one value.
    pub fn add(&mut self, value: i64, trial: u64) {
        self.put(value, Held { count: 1, first_trial: trial });
    }

    fn put(&mut self, value: i64, more: Held) {
        self.count = self.count.saturating_add(more.count);
        self.values
            .entry(value)
            .and_modify(|held| {
                held.count = held.count.saturating_add(more.count);
                held.first_trial = held.first_trial.min(more.first_trial);
            })
            .or_insert(more);
    }

    /// Adds the values of another.
    pub fn merge(&mut self, other: &Self) {
        for (value, held) in &other.values {
            self.put(*value, *held);
        }
    }

    /// How many values.
    #[must_use]
    pub fn count(&self) -> u64 {
        self.count
    }

    /// All values that differ, ascending.
    #[must_use]
    pub fn places(&self) -> impl DoubleEndedIterator<Item = Place> + '_ {
        self.values.iter().map(|(value, held)| Place {
            value: *value,
            count: held.count,
            first_trial: held.first_trial,
        })
    }

    /// The value of a rank, from 1 on, if there are so many.
    #[must_use]
    pub fn at_rank(&self, rank: u64) -> Option<Place> {
        let mut passed = 0_u64;
        self.places().find(|place| {
            passed = passed.saturating_add(place.count);
            rank >= 1 && rank <= passed
        })
    }

    /// The smallest value of which at least that share of `of` values lies at or below, `of` being
    /// no fewer than there are: what is missing counts as above all (R. J. Hyndman and Y. Fan,
    /// "Sample quantiles in statistical packages", 1996, type 1).
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
    pub fn quantile_of(&self, share: f64, of: u64) -> Option<Place> {
        let rank = ((share * of as f64).ceil() as u64).clamp(1, of.max(1));
        self.at_rank(rank)
    }

    /// The lower median: the value in the middle, of two the lower.
    #[must_use]
    pub fn lower_median(&self) -> Option<Place> {
        self.at_rank(self.count.div_ceil(2))
    }

    /// How many values are less than this.
    #[must_use]
    pub fn below(&self, value: i64) -> u64 {
        self.values.range(..value).fold(0, |sum, (_, held)| sum.saturating_add(held.count))
    }
}

impl From<Ranked> for Vec<(i64, u64, u64)> {
    fn from(ranked: Ranked) -> Self {
        ranked.places().map(|place| (place.value, place.count, place.first_trial)).collect()
    }
}

impl TryFrom<Vec<(i64, u64, u64)>> for Ranked {
    type Error = String;

    fn try_from(written: Vec<(i64, u64, u64)>) -> Result<Self, String> {
        let mut ranked = Self::default();
        let mut before = None;
        for (value, count, first_trial) in written {
            if before.is_some_and(|before| value <= before) {
                return Err(format!("the value {value} does not stand in ascending order"));
            }
            if count == 0 {
                return Err(format!("the value {value} came no time"));
            }
            before = Some(value);
            ranked.put(value, Held { count, first_trial });
        }
        Ok(ranked)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(values: &[(i64, u64)]) -> Ranked {
        let mut ranked = Ranked::default();
        for (value, trial) in values {
            ranked.add(*value, *trial);
        }
        ranked
    }

    #[test]
    fn ranks_medians_and_first_trials_by_hand() {
        let ranked = of(&[(5, 10), (3, 11), (5, 2), (9, 12), (3, 13), (4, 14)]);
        assert_eq!(ranked.count(), 6);
        // 3 3 4 5 5 9
        let values: Vec<i64> = (1..=6).map(|rank| ranked.at_rank(rank).unwrap().value).collect();
        assert_eq!(values, [3, 3, 4, 5, 5, 9]);
        assert_eq!((ranked.at_rank(0), ranked.at_rank(7)), (None, None));
        let median = ranked.lower_median().unwrap();
        assert_eq!((median.value, median.first_trial), (4, 14));
        assert_eq!(ranked.at_rank(5).unwrap().first_trial, 2);
        assert_eq!((ranked.below(5), ranked.below(3), ranked.below(100)), (3, 0, 6));
        // Of twelve, six of which never came: half of them are at or below 9.
        assert_eq!(ranked.quantile_of(0.5, 12).unwrap().value, 9);
        assert_eq!(ranked.quantile_of(0.51, 12), None);
        assert_eq!(Ranked::default().lower_median(), None);
    }

    #[test]
    fn what_was_written_comes_back_and_nonsense_is_refused() {
        let ranked = of(&[(5, 10), (3, 11), (5, 2)]);
        let text = serde_json::to_string(&ranked).unwrap();
        assert_eq!(text, "[[3,1,11],[5,2,2]]");
        assert_eq!(serde_json::from_str::<Ranked>(&text).unwrap(), ranked);
        for wrong in ["[[3,0,1]]", "[[3,1,1],[3,1,1]]", "[[3,1]]", "[[3,-1,1]]"] {
            assert!(serde_json::from_str::<Ranked>(wrong).is_err(), "{wrong}");
        }
    }
}
