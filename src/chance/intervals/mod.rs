//! How sure a count is.
//!
//! Lives here: intervals for one share ([`single`]), for the difference of two shares of the same
//! trials ([`paired`]), how many trials a claim needs ([`size`]), which of sorted values bound a
//! quantile ([`ranks`]). Does not live here: what counts as a success, and any decision.

use super::problem::ChanceProblem;
use super::transforms::normal_deviate;

pub mod paired;
pub mod ranks;
pub mod single;
pub mod size;

pub use paired::{Difference, Paired, mcnemar_exact_p, mcnemar_mid_p, newcombe_difference};
pub use ranks::{Ranks, quantile_ranks};
pub use single::{clopper_pearson, clopper_pearson_lower, jeffreys, wilson};
pub use size::{trials_for_wilson_half_width, trials_to_show};

/// From `low` to `high`, both shares of 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// How often an interval made this way holds the true value, within 0.5 to 0.999 999 999.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Confidence(f64);

impl Confidence {
    /// 19 in 20: what is printed unless the user asks otherwise.
    pub const NINETY_FIVE: Self = Self(0.95);

    /// A confidence as a share.
    ///
    /// # Errors
    /// If it is not within 0.5 to 0.999 999 999.
    pub fn new(share: f64) -> Result<Self, ChanceProblem> {
        let good = (0.5..=0.999_999_999).contains(&share);
        ChanceProblem::unless(good, "the confidence", share, "0.5 to 0.999999999").map(Self)
    }

    /// The share.
    #[must_use]
    pub fn share(self) -> f64 {
        self.0
    }

    /// What is left out on one side of a two-sided interval.
    #[must_use]
    pub fn each_tail(self) -> f64 {
        (1.0 - self.0) / 2.0
    }

    /// Standard deviations from the middle to either end of a two-sided interval.
    #[must_use]
    pub fn two_sided_deviate(self) -> f64 {
        -normal_deviate(self.each_tail())
    }
}
