//! Intervals for one share: so many successes in so many trials.
//!
//! E. B. Wilson, "Probable inference, the law of succession, and statistical inference", JASA 22,
//! 209 (1927); C. J. Clopper and E. S. Pearson, "The use of confidence or fiducial limits
//! illustrated in the case of the binomial", Biometrika 26, 404 (1934), by quantiles of the beta
//! law; Jeffreys as in L. D. Brown, T. T. Cai and A. DasGupta, "Interval estimation for a binomial
//! proportion", Statistical Science 16, 101 (2001), plain equal tails. Wilson covers 95 % on
//! average and is what is printed; Clopper-Pearson never covers less and is what decides. Without
//! a trial the interval is all of 0 to 1. Trust: checked against published values.

use super::super::merge::Tally;
use super::super::special::beta::inverse_incomplete_beta;
use super::{Confidence, Interval};

const ALL: Interval = Interval { low: 0.0, high: 1.0 };

#[allow(clippy::cast_precision_loss)]
fn numbers(tally: Tally) -> (f64, f64, f64) {
    let (successes, failures) = (tally.successes(), tally.failures());
    (successes as f64, failures as f64, tally.trials() as f64)
}

/// Wilson 1927: `(k + z^2/2 +- z sqrt(k (n - k)/n + z^2/4)) / (n + z^2)`.
#[must_use]
pub fn wilson(tally: Tally, confidence: Confidence) -> Interval {
    let (successes, failures, trials) = numbers(tally);
    if trials == 0.0 {
        return ALL;
    }
    let z = confidence.two_sided_deviate();
    let half_width = z * (successes / trials * failures + z * z / 4.0).sqrt();
    // Each end from the side on which nothing cancels: the ends multiply to k^2 / (n (n + z^2)).
    let lower_of = |count: f64| count * count / trials / (count + z * z / 2.0 + half_width);
    Interval { low: lower_of(successes), high: 1.0 - lower_of(failures) }
}

/// Clopper and Pearson 1934, two-sided: `Beta^-1(alpha/2; k, n - k + 1)` to
/// `Beta^-1(1 - alpha/2; k + 1, n - k)`.
#[must_use]
pub fn clopper_pearson(tally: Tally, confidence: Confidence) -> Interval {
    let tail = confidence.each_tail();
    Interval {
        low: exact_lower(tally.successes(), tally.failures(), tail).0,
        high: exact_lower(tally.failures(), tally.successes(), tail).1,
    }
}

/// Clopper and Pearson 1934, the lower bound alone: `Beta^-1(alpha; k, n - k + 1)`, alpha being one
/// less the confidence. The true share is below it at most that often.
#[must_use]
pub fn clopper_pearson_lower(tally: Tally, confidence: Confidence) -> f64 {
    exact_lower(tally.successes(), tally.failures(), 1.0 - confidence.share()).0
}

/// The share at which as many successes or more have chance `tail`, and one less it.
#[allow(clippy::cast_precision_loss)]
fn exact_lower(successes: u64, failures: u64, tail: f64) -> (f64, f64) {
    if successes == 0 {
        return (0.0, 1.0);
    }
    let split = inverse_incomplete_beta(successes as f64, failures as f64 + 1.0, tail);
    (split.share, split.rest)
}

/// Equal tails of Beta(k + 1/2, n - k + 1/2); the lower end is 0 without a success, the upper end 1
/// without a failure (Brown, Cai and DasGupta 2001).
#[must_use]
pub fn jeffreys(tally: Tally, confidence: Confidence) -> Interval {
    let (successes, failures, trials) = numbers(tally);
    if trials == 0.0 {
        return ALL;
    }
    let tail = confidence.each_tail();
    let low = inverse_incomplete_beta(successes + 0.5, failures + 0.5, tail).share;
    let high = inverse_incomplete_beta(failures + 0.5, successes + 0.5, tail).rest;
    Interval {
        low: if successes == 0.0 { 0.0 } else { low },
        high: if failures == 0.0 { 1.0 } else { high },
    }
}
