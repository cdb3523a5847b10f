//! How many trials a claim needs.
//!
//! Half-width: the Wilson interval (Wilson 1927) solved for the number of trials. Showing a
//! chance: the number of trials at which the one-sided Clopper-Pearson bound (1934) with a few
//! failures just reaches it; without failures that is the success run `ln(1 - C) / ln R`. Trust:
//! checked against published values.

use super::super::problem::ChanceProblem;
use super::super::special::beta::{Split, incomplete_beta};
use super::Confidence;

/// Beyond this many trials the answer is "never".
const MOST_TRIALS: u64 = 1 << 40;

/// The fewest trials whose Wilson interval is at most `half_width` to either side of its middle
/// when the share seen is `share`.
///
/// With `q = p (1 - p)`: `z^2 (q n + z^2/4) <= h^2 (n + z^2)^2`, a quadratic in n.
///
/// # Errors
/// If the share is not within 0 to 1, or the half-width not within 1e-5 to 0.5.
#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
pub fn trials_for_wilson_half_width(
    share: f64,
    half_width: f64,
    confidence: Confidence,
) -> Result<u64, ChanceProblem> {
    let good = (0.0..=1.0).contains(&share);
    ChanceProblem::unless(good, "the share", share, "0 to 1")?;
    let good = (1e-5..=0.5).contains(&half_width);
    ChanceProblem::unless(good, "the half-width", half_width, "0.00001 to 0.5")?;
    let z = confidence.two_sided_deviate();
    let (q, h, zz) = (share * (1.0 - share), half_width, z * z);
    let narrow = |trials: u64| {
        let n = trials as f64;
        z * (q * n + zz / 4.0).sqrt() <= h * (n + zz)
    };
    let linear = zz * (q - 2.0 * h * h);
    let constant = zz * zz * (0.25 - h * h);
    let root =
        (linear + (linear * linear + 4.0 * h * h * constant).max(0.0).sqrt()) / (2.0 * h * h);
    let mut trials = (root.ceil().max(1.0)) as u64;
    // The root may be off by its rounding.
    while trials > 1 && narrow(trials - 1) {
        trials -= 1;
    }
    while !narrow(trials) && trials < MOST_TRIALS {
        trials += 1;
    }
    Ok(trials)
}

/// The fewest trials that show a chance when `failures` of them fail: the chance of so few
/// failures at exactly that chance of staying on the air is at most one less the confidence.
///
/// # Errors
/// If the chance is not within 0 to 0.999 999, or there are more than a million failures.
pub fn trials_to_show(
    readiness: f64,
    failures: u64,
    confidence: Confidence,
) -> Result<u64, ChanceProblem> {
    let good = (0.0..=0.999_999).contains(&readiness);
    ChanceProblem::unless(good, "the readiness", readiness, "0 to 0.999999")?;
    #[allow(clippy::cast_precision_loss)]
    let failed = failures as f64;
    let good = failures <= 1_000_000;
    ChanceProblem::unless(good, "the failures allowed", failed, "at most 1,000,000")?;
    let at = Split { share: readiness, rest: 1.0 - readiness };
    // P(at most f failures in n) = I_R(n - f, f + 1)
    let shown = |trials: u64| {
        #[allow(clippy::cast_precision_loss)]
        let successes = (trials - failures) as f64;
        incomplete_beta(successes, failed + 1.0, at).share <= 1.0 - confidence.share()
    };
    let mut enough = failures + 1;
    while !shown(enough) && enough < MOST_TRIALS {
        enough *= 2;
    }
    let mut short = failures;
    while enough - short > 1 {
        let middle = short + (enough - short) / 2;
        if shown(middle) { enough = middle } else { short = middle }
    }
    Ok(enough)
}
