//! `exp(-x)` and `ln(x)` written out, so that their bits depend on no system library and they run
//! in lanes.
//!
//! Range: `exp_of_minus` for 0 <= x, `natural_log` for normal positive numbers. Stated and tested
//! error: 4e-15 relative (`exp_of_minus`, x <= 80), 2e-14 relative (`fading_mean`), 4e-15 absolute per
//! unit (`natural_log`).

use super::lane::{Lane, Mask, Width};

/// 1.5 * 2^52: adding and taking it away rounds to the nearest whole number.
const ROUND: f64 = 6_755_399_441_055_744.0;
const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;

/// `exp(-x)` for `x >= 0`; beyond 80 the value at 80 (1.8e-35) is given.
#[must_use]
#[inline(always)]
pub fn exp_of_minus<F: Lane>(x: F) -> F {
    let w = x.width();
    let x = F::select(x.lt(w.splat(80.0)), x, w.splat(80.0));
    let whole = (x * w.splat(std::f64::consts::LOG2_E) + w.splat(ROUND)) - w.splat(ROUND);
    // -x = -whole ln 2 + rest, |rest| <= ln 2 / 2
    let rest = (whole * w.splat(LN_2_HIGH) - x) + whole * w.splat(LN_2_LOW);
    // The series in pairs, fours and eights, which wait for each other less than terms in a row.
    let square = rest * rest;
    let fourth = square * square;
    let low = (pair(rest, 1.0, 1.0) + pair(rest, 0.5, 1.0 / 6.0) * square)
        + (pair(rest, 1.0 / 24.0, 1.0 / 120.0) + pair(rest, 1.0 / 720.0, 1.0 / 5_040.0) * square)
            * fourth;
    let high = (pair(rest, 1.0 / 40_320.0, 1.0 / 362_880.0)
        + pair(rest, 1.0 / 3_628_800.0, 1.0 / 39_916_800.0) * square)
        + pair(rest, 1.0 / 479_001_600.0, 1.0 / 6_227_020_800.0) * fourth;
    let sum = low + high * (fourth * fourth);
    (-whole).two_to() * sum
}

/// Two terms in a row of a series; a function because closures are not inlined into lanes.
#[inline(always)]
fn pair<F: Lane>(rest: F, even: f64, odd: f64) -> F {
    rest.like(even) + rest.like(odd) * rest
}

/// Mean of `exp(-t)` over t from 0 to `x`: `(1 - exp(-x)) / x`, 1 at 0.
#[must_use]
#[inline(always)]
pub fn fading_mean<F: Lane>(x: F) -> F {
    let w = x.width();
    let one = w.splat(1.0);
    let short = x.lt(w.splat(0.05));
    let mut series = one - x * w.splat(1.0 / 9.0);
    for divisor in [8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0] {
        series = one - series * x * w.splat(1.0 / divisor);
    }
    if !short.not().any() {
        return series;
    }
    let long = (one - exp_of_minus(x)) / x;
    F::select(short, series, long)
}

/// Natural logarithm of a normal positive number.
#[must_use]
#[inline(always)]
pub fn natural_log<F: Lane>(x: F) -> F {
    let w = x.width();
    let (exponent, mantissa) = x.exponent_and_mantissa();
    let f = (mantissa - w.splat(1.0)) / (mantissa + w.splat(1.0));
    let g = f * f;
    let mut sum = w.splat(1.0 / 23.0);
    for factor in [
        1.0 / 21.0,
        1.0 / 19.0,
        1.0 / 17.0,
        1.0 / 15.0,
        1.0 / 13.0,
        1.0 / 11.0,
        1.0 / 9.0,
        1.0 / 7.0,
        1.0 / 5.0,
        1.0 / 3.0,
    ] {
        sum = sum * g + w.splat(factor);
    }
    let double = f + f;
    let part = double + double * g * sum;
    exponent * w.splat(LN_2_HIGH) + (part + exponent * w.splat(LN_2_LOW))
}

#[cfg(test)]
mod tests {
    use super::{exp_of_minus, fading_mean, natural_log};
    use crate::numbers::lane::{Lane, Width};
    use crate::numbers::packed::{Work, plainly, side_by_side};

    #[test]
    fn exp_is_within_its_stated_error() {
        for n in 0..80_000 {
            let x = f64::from(n) * 1e-3;
            let want = libm::exp(-x);
            assert!((exp_of_minus(x) / want - 1.0).abs() < 4e-15, "{x}");
        }
        assert!(exp_of_minus(1e9) < 1e-34);
        assert_eq!(exp_of_minus(0.0), 1.0);
    }

    /// In the registers of this processor, and on any, the bits are those of a single number.
    #[test]
    fn bits_are_the_same_side_by_side() {
        struct Sweep;
        impl Work for Sweep {
            type Output = ();
            fn with<W: Width>(self, w: W) {
                for n in 0..4_000 {
                    #[allow(clippy::cast_precision_loss)]
                    let x = w.by_lane(|lane| (f64::from(n) + lane as f64 * 0.13) * 0.021 + 1e-12);
                    for lane in 0..W::LANES {
                        let one = x.lane(lane);
                        assert_eq!(
                            exp_of_minus(x).lane(lane).to_bits(),
                            exp_of_minus(one).to_bits()
                        );
                        assert_eq!(fading_mean(x).lane(lane).to_bits(), fading_mean(one).to_bits());
                        assert_eq!(natural_log(x).lane(lane).to_bits(), natural_log(one).to_bits());
                        assert_eq!(x.sqrt().lane(lane).to_bits(), one.sqrt().to_bits());
                    }
                }
            }
        }
        side_by_side(Sweep);
        plainly(Sweep);
    }

    #[test]
    fn fading_mean_is_within_its_stated_error() {
        assert_eq!(fading_mean(0.0), 1.0);
        for n in 1..20_000 {
            let x = f64::from(n) * 1e-3;
            let want = -libm::expm1(-x) / x;
            assert!((fading_mean(x) / want - 1.0).abs() < 2e-14, "{x}");
        }
    }

    #[test]
    fn log_is_within_its_stated_error() {
        for n in 1..200_000 {
            let x = f64::from(n) * 1e-3;
            let want = libm::log(x);
            assert!((natural_log(x) - want).abs() <= 4e-15 * want.abs().max(1.0), "{x}");
        }
        for power in -300..300 {
            let x = libm::exp10(f64::from(power));
            assert!((natural_log(x) / libm::log(x) - 1.0).abs() < 4e-15 || power == 0, "{x}");
        }
    }
}
