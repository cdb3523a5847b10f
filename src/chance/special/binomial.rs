//! The chance of a count.
//!
//! C. Loader, "Fast and accurate computation of binomial probabilities" (2000): the mass is a
//! square root times the exponential of small differences, so that it keeps its digits for any
//! number of trials, where differences of log-gamma functions lose them. Counts may be fractions:
//! the incomplete beta function needs that. Trust: checked against published values.

use std::f64::consts::TAU;

/// Chance of `count` out of `trials`, each with chance `share`; `rest` is `1 - share`, given apart
/// so that neither loses digits. Counts beyond the ends have chance 0.
#[must_use]
pub fn binomial_mass(count: f64, trials: f64, share: f64, rest: f64) -> f64 {
    let others = trials - count;
    if count < 0.0 || others < 0.0 {
        return 0.0;
    }
    if share <= 0.0 || rest <= 0.0 {
        let sure = if share <= 0.0 { count } else { others };
        return if sure == 0.0 { 1.0 } else { 0.0 };
    }
    if count == 0.0 {
        return libm::exp(trials * log_of_rest(share, rest));
    }
    if others == 0.0 {
        return libm::exp(trials * log_of_rest(rest, share));
    }
    let exponent = stirling_error(trials)
        - stirling_error(count)
        - stirling_error(others)
        - deviance(count, trials * share)
        - deviance(others, trials * rest);
    libm::exp(exponent) * (trials / (TAU * count * others)).sqrt()
}

/// ln(rest), by way of `share` when that is the smaller.
fn log_of_rest(share: f64, rest: f64) -> f64 {
    if share < 0.5 { libm::log1p(-share) } else { libm::log(rest) }
}

/// `ln n! - ln(sqrt(2 pi n) (n/e)^n)` for n > 0: the series from 16 on, below it climbing there by
/// `d(n) - d(n + 1) = (n + 1/2) ln(1 + 1/n) - 1`.
fn stirling_error(n: f64) -> f64 {
    let mut n = n;
    let mut climbed = 0.0;
    while n < 16.0 {
        climbed += (n + 0.5) * libm::log1p(1.0 / n) - 1.0;
        n += 1.0;
    }
    let square = n * n;
    let series = 1.0 / 1_260.0 - (1.0 / 1_680.0 - 1.0 / 1_188.0 / square) / square;
    climbed + (1.0 / 12.0 - (1.0 / 360.0 - series / square) / square) / n
}

/// `x ln(x/m) + m - x`, by a series where x is near m.
fn deviance(x: f64, m: f64) -> f64 {
    if (x - m).abs() >= 0.1 * (x + m) {
        return x * libm::log(x / m) + m - x;
    }
    let v = (x - m) / (x + m);
    let mut sum = (x - m) * v;
    let mut term = 2.0 * x * v;
    let mut odd = 3.0;
    loop {
        term *= v * v;
        let next = sum + term / odd;
        // v is below 0.1: 16 terms at most.
        if next == sum || odd > 64.0 {
            return next;
        }
        sum = next;
        odd += 2.0;
    }
}
