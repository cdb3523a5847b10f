//! The trial with the greatest value.

use std::cmp::Ordering;

/// The trial with the greatest value so far; of equal ones that with the lowest number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extreme {
    /// Its value.
    pub value: f64,
    /// Number of the trial.
    pub trial: u64,
}

impl Extreme {
    /// One of two. Values are ordered as by [`f64::total_cmp`], so that even what is not a number
    /// has its place.
    #[must_use]
    pub fn merged(self, other: Self) -> Self {
        match self.value.total_cmp(&other.value).then(other.trial.cmp(&self.trial)) {
            Ordering::Less => other,
            Ordering::Equal | Ordering::Greater => self,
        }
    }
}
