//! Numbers with a fixed number of decimal places, written quickly.
//!
//! What stands in the table is what the standard library writes for `{:.n}`, rounded to nearest on
//! the exact binary value, without trailing zeros and without a minus before zero. That formatting
//! takes most of the time of a long run; whole and fractional part as integers take a tenth. Where
//! the two could differ (near the middle between two places, large numbers) the library decides.
//! Trust: exact, checked against the library.

use std::io::Write as _;

/// Powers of ten up to the most places that are written as integers.
const SCALES: [f64; 10] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9];
/// Numbers from here on are left to the library.
const LARGE: f64 = 1e9;
/// How near to the middle the library decides. The product below is off by half a unit in the last
/// place of a number under 1e9 at most, 6e-8.
const NEAR_MIDDLE: f64 = 1e-6;

/// Writes a number rounded to decimal places, without trailing zeros or a minus before zero;
/// nothing for what is no number.
pub fn write_places(value: f64, decimals: usize, to: &mut Vec<u8>) {
    if !value.is_finite() {
        return;
    }
    if value == 0.0 {
        to.push(b'0');
        return;
    }
    match split(value.abs(), decimals) {
        Some((whole, part)) => write_integers(value < 0.0, whole, part, decimals, to),
        None => write_slowly(value, decimals, to),
    }
}

/// Whole part, and the rest in units of the last place; `None` when the library has to decide.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // both are within 0 to 1e9
fn split(magnitude: f64, decimals: usize) -> Option<(u64, u64)> {
    let scale = *SCALES.get(decimals)?;
    if magnitude >= LARGE {
        return None;
    }
    let whole = magnitude.trunc();
    let rest = (magnitude - whole) * scale;
    let below = rest.floor();
    let over = rest - below;
    if (over - 0.5).abs() < NEAR_MIDDLE {
        return None;
    }
    let part = if over > 0.5 { below + 1.0 } else { below };
    let carry = part >= scale;
    Some((whole as u64 + u64::from(carry), if carry { 0 } else { part as u64 }))
}

fn write_integers(minus: bool, whole: u64, part: u64, decimals: usize, to: &mut Vec<u8>) {
    // Sign, ten digits, point, nine digits: filled from the end.
    let mut text = [0_u8; 24];
    let mut at = text.len();
    let mut put = |digit: u8| {
        at -= 1;
        text[at] = digit;
    };
    let digit = |number: u64| b'0' + (number % 10) as u8;
    if part > 0 {
        let mut left = part;
        let mut trailing = true;
        for _ in 0..decimals {
            trailing &= left.is_multiple_of(10);
            if !trailing {
                put(digit(left));
            }
            left /= 10;
        }
        put(b'.');
    }
    let mut left = whole;
    loop {
        put(digit(left));
        left /= 10;
        if left == 0 {
            break;
        }
    }
    if minus && (whole > 0 || part > 0) {
        put(b'-');
    }
    to.extend_from_slice(&text[at..]);
}

fn write_slowly(value: f64, decimals: usize, to: &mut Vec<u8>) {
    let begin = to.len();
    // Writing to memory does not fail.
    let _ = write!(to, "{value:.decimals$}");
    if to[begin..].contains(&b'.') {
        while to.last() == Some(&b'0') {
            to.pop();
        }
        if to.last() == Some(&b'.') {
            to.pop();
        }
    }
    if to[begin..] == *b"-0" {
        to.remove(begin);
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::{write_places, write_slowly};

    fn written(value: f64, decimals: usize) -> String {
        let mut text = Vec::new();
        write_places(value, decimals, &mut text);
        String::from_utf8(text).expect("digits")
    }

    fn by_the_library(value: f64, decimals: usize) -> String {
        let mut text = Vec::new();
        write_slowly(value, decimals, &mut text);
        String::from_utf8(text).expect("digits")
    }

    #[test]
    fn ends_and_middles() {
        for (value, decimals, text) in [
            (0.0, 6, "0"),
            (-0.0, 6, "0"),
            (-4e-7, 6, "0"),
            (-6e-7, 6, "-0.000001"),
            (0.125, 2, "0.12"), // a tie goes to the even digit
            (0.375, 2, "0.38"),
            (2.5, 0, "2"),
            (1.0, 0, "1"),
            (0.999_999_9, 6, "1"),
            (99.999_999_96, 6, "100"),
            (-12.343_75, 4, "-12.3438"),
            (1200.0, 3, "1200"),
            (0.05, 3, "0.05"),
            (1e12, 2, "1000000000000"),
            (f64::NAN, 2, ""),
            (f64::NEG_INFINITY, 2, ""),
        ] {
            assert_eq!(written(value, decimals), text, "{value} to {decimals}");
        }
        assert_eq!(by_the_library(-0.0, 3), "0");
        assert_eq!(by_the_library(-1200.0, 0), "-1200");
    }

    proptest! {
        #[test]
        fn the_library_writes_the_same(
            value in prop_oneof![-1e3..1e3, -1e-5..1e-5, -2e9..2e9, any::<f64>()],
            eighths in -8000_i32..8000,
            decimals in 0..12_usize,
        ) {
            for value in [value, f64::from(eighths) / 8.0, f64::from(eighths) / 1e4] {
                if value.is_finite() {
                    prop_assert_eq!(written(value, decimals), by_the_library(value, decimals));
                }
            }
        }
    }
}
