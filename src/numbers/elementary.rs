//! `exp(-x)` and `ln(x)` written out, so that their bits depend on no system library and they run
//! in lanes.
//!
//! Range: `exp_of_minus` for 0 <= x, `natural_log` for normal positive numbers. Stated and tested
//! error: 4e-15 relative (`exp_of_minus`, x <= 80), 2e-14 relative (`fading_mean`), 4e-15 absolute per
//! unit (`natural_log`).

/// 1.5 * 2^52: adding and taking it away rounds to the nearest whole number.
const ROUND: f64 = 6_755_399_441_055_744.0;
const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;

/// `exp(-x)` for `x >= 0`; beyond 80 the value at 80 (1.8e-35) is given.
#[must_use]
#[inline(always)]
pub fn exp_of_minus(x: f64) -> f64 {
    let x = if x < 80.0 { x } else { 80.0 };
    let whole = (x * std::f64::consts::LOG2_E + ROUND) - ROUND;
    // -x = -whole ln 2 + rest, |rest| <= ln 2 / 2
    let rest = (whole * LN_2_HIGH - x) + whole * LN_2_LOW;
    let mut sum = 1.0 / 6_227_020_800.0;
    for factor in [
        1.0 / 479_001_600.0,
        1.0 / 39_916_800.0,
        1.0 / 3_628_800.0,
        1.0 / 362_880.0,
        1.0 / 40_320.0,
        1.0 / 5_040.0,
        1.0 / 720.0,
        1.0 / 120.0,
        1.0 / 24.0,
        1.0 / 6.0,
        0.5,
        1.0,
        1.0,
    ] {
        sum = sum * rest + factor;
    }
    // 2^-whole by its exponent bits; `whole + ROUND` carries the whole number in its low bits.
    let low_bits = (whole + ROUND).to_bits() & 0xff;
    f64::from_bits((1023 - low_bits) << 52) * sum
}

/// Mean of `exp(-t)` over t from 0 to `x`: `(1 - exp(-x)) / x`, 1 at 0.
#[must_use]
#[inline(always)]
pub fn fading_mean(x: f64) -> f64 {
    if x < 0.05 {
        let mut sum = 1.0 - x / 9.0;
        for divisor in [8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0] {
            sum = 1.0 - sum * x / divisor;
        }
        sum
    } else {
        (1.0 - exp_of_minus(x)) / x
    }
}

/// Natural logarithm of a normal positive number.
#[must_use]
#[inline(always)]
pub fn natural_log(x: f64) -> f64 {
    let bits = x.to_bits();
    // Mantissa into [sqrt(1/2), sqrt(2)).
    let shifted = bits.wrapping_sub(0x3fe6_a09e_667f_3bcd);
    let exponent = (shifted as i64) >> 52;
    let mantissa = f64::from_bits(bits.wrapping_sub(shifted & 0xfff0_0000_0000_0000));
    #[allow(clippy::cast_precision_loss)]
    let exponent = exponent as f64;
    let f = (mantissa - 1.0) / (mantissa + 1.0);
    let g = f * f;
    let mut sum = 1.0 / 23.0;
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
        sum = sum * g + factor;
    }
    let part = 2.0 * f + 2.0 * f * g * sum;
    exponent * LN_2_HIGH + (part + exponent * LN_2_LOW)
}

#[cfg(test)]
mod tests {
    use super::{exp_of_minus, fading_mean, natural_log};

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
