//! Between which two of the sorted values a quantile lies.
//!
//! H. A. David and H. N. Nagaraja, "Order Statistics" (2003), section 7.1: of n sorted values the
//! l-th lies at or below the q-quantile and the u-th above it with chance
//! `P(l <= B < u)`, B binomial(n, q), whatever the law. Trust: checked against published values.

use super::super::problem::ChanceProblem;
use super::super::special::beta::{Split, incomplete_beta};
use super::Confidence;

/// Ranks, from 1 on, in ascending order; none where no value is far enough out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ranks {
    /// The greatest rank that is low enough.
    pub lower: Option<u64>,
    /// The least rank that is high enough.
    pub upper: Option<u64>,
    /// The chance that the quantile lies between them.
    pub coverage: f64,
}

/// The ranks that hold the `share`-quantile of `count` values between them, each side missing it
/// with at most half of what the confidence leaves.
///
/// # Errors
/// If the share is not within 0 to 1, or there are no values or more than 2^53.
pub fn quantile_ranks(
    count: u64,
    share: f64,
    confidence: Confidence,
) -> Result<Ranks, ChanceProblem> {
    let good = (0.0..=1.0).contains(&share);
    ChanceProblem::unless(good, "the quantile", share, "0 to 1")?;
    #[allow(clippy::cast_precision_loss)]
    let values = count as f64;
    let good = (1..=1 << 53).contains(&count);
    ChanceProblem::unless(good, "the number of values", values, "1 to 2^53")?;
    let at = Split { share, rest: 1.0 - share };
    // P(B < rank) and P(B >= rank), B binomial
    let split = |rank: u64| {
        #[allow(clippy::cast_precision_loss)]
        let rank = rank as f64;
        let least = incomplete_beta(rank, values - rank + 1.0, at);
        Split { share: least.rest, rest: least.share }
    };
    let tail = confidence.each_tail();
    let lower = last_that(count, |rank| split(rank).share <= tail);
    let upper = last_that(count, |rank| split(rank).rest > tail) + 1;
    let lower = (lower >= 1).then_some(lower);
    let upper = (upper <= count).then_some(upper);
    let missed =
        lower.map_or(0.0, |rank| split(rank).share) + upper.map_or(0.0, |rank| split(rank).rest);
    Ok(Ranks { lower, upper, coverage: 1.0 - missed })
}

/// The greatest rank from 1 to `count` at which a falling condition still holds, 0 if none.
fn last_that(count: u64, holds: impl Fn(u64) -> bool) -> u64 {
    let (mut low, mut high) = (0, count + 1);
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if holds(middle) { low = middle } else { high = middle }
    }
    low
}
