//! The regularised upper incomplete gamma function Q(a, x).
//!
//! Below `x = a + 1` the power series of NIST DLMF 8.7.1, above it the continued fraction of
//! DLMF 8.9.2 by the modified Lentz method. Written for the shapes of durations, a from 0.01 to
//! 100. Trust: checked against published values.

/// Chance that a value with the gamma law of shape `a` and scale 1 is above `x`.
#[must_use]
pub fn upper_gamma_share(a: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 1.0;
    }
    if x == f64::INFINITY {
        return 0.0;
    }
    // x^a e^-x / Gamma(a)
    let front = libm::exp(a * libm::log(x) - x - libm::lgamma(a));
    if x < a + 1.0 { 1.0 - front * series(a, x) } else { front * fraction(a, x) }
}

/// `sum over n of x^n / (a (a + 1) ... (a + n))`.
fn series(a: f64, x: f64) -> f64 {
    let mut term = 1.0 / a;
    let mut sum = term;
    let mut above = a;
    // x is below a + 1, so the terms fall at least as fast as those of the exponential.
    for _ in 0..10_000 {
        above += 1.0;
        term *= x / above;
        sum += term;
        if term < sum * f64::EPSILON / 4.0 {
            break;
        }
    }
    sum
}

/// `1/(x + 1 - a - 1(1 - a)/(x + 3 - a - 2(2 - a)/(x + 5 - a - ...)))`.
fn fraction(a: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let away = |value: f64| if value.abs() < TINY { TINY } else { value };
    let mut base = x + 1.0 - a;
    let mut over = 1.0 / TINY;
    let mut under = 1.0 / away(base);
    let mut value = under;
    let mut n = 1.0;
    while n < 10_000.0 {
        let part = -n * (n - a);
        base += 2.0;
        under = 1.0 / away(part * under + base);
        over = away(base + part / over);
        let change = over * under;
        value *= change;
        if (change - 1.0).abs() < f64::EPSILON {
            break;
        }
        n += 1.0;
    }
    value
}
