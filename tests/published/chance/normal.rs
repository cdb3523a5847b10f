//! The normal law both ways.

use longwatch::chance::transforms::{normal_cumulative, normal_deviate};
use longwatch::chance::{Draw, Purpose};
use longwatch::numbers::lane::Wide;

use super::common::{SEED, check, sample, sampled};
use crate::support::figures::rows;

const COMPUTED: &str = "Normal law to 50 digits (mpmath 1.4.1)";

/// The values that stand in print, to half a unit of their last place.
#[test]
fn printed_values() {
    let wichura = "Wichura 1988, Applied Statistics 37, 477 (AS 241), check values";
    let handbook = "Abramowitz & Stegun 1964";
    let mut deviates = check(wichura, "deviate", "1", 1e-15);
    let mut chances = check(handbook, "table 26.1, 15 decimals", "1", 6e-16);
    let mut tails = check(handbook, "table 26.2, -log10 of the tail, 5 decimals", "1", 5.1e-6);
    for row in rows("risk/normal_distribution.csv") {
        let argument = row.number("argument");
        let name = row.text("argument");
        match row.text("published") {
            // Its last digit is the sixteenth.
            "AS241" => {
                deviates.relative(name, normal_deviate(argument), row.number("published_value"));
            }
            "AS26.1" => {
                chances.case(name, normal_cumulative(argument), row.number("published_value"));
            }
            "AS26.2" => {
                let tail = -normal_cumulative(argument).log10();
                tails.case(name, tail, row.number("published_value"));
            }
            _ => {}
        }
    }
    deviates.done();
    chances.done();
    tails.done();
}

/// The errors that the module states.
#[test]
fn stated_errors() {
    let mut deviates = check(COMPUTED, "deviate, relative, 1e-300 to 1 - 2^-53", "1", 1.5e-15);
    let mut near = check(COMPUTED, "chance, relative, within 3", "1", 1e-15);
    let mut far = check(COMPUTED, "chance, relative, -12.5 to 8", "1", 8e-15);
    let mut absolute = check(COMPUTED, "chance, absolute", "1", 3e-16);
    for row in rows("risk/normal_distribution.csv") {
        let (name, argument) = (row.text("argument"), row.number("argument"));
        let value = row.number("value");
        if row.text("quantity") == "deviate" {
            let ours = normal_deviate(argument);
            // At one half the deviate is 0 and must be exactly that.
            if value == 0.0 {
                deviates.case(name, ours, value);
            } else {
                deviates.relative(name, ours, value);
            }
        } else {
            let ours = normal_cumulative(argument);
            absolute.case(name, ours, value);
            if argument.abs() <= 3.0 {
                near.relative(name, ours, value);
            }
            far.relative(name, ours, value);
        }
    }
    deviates.done();
    near.done();
    far.done();
    absolute.done();
}

/// Between the rows of the table: the complementary error function of libm.
#[test]
fn chance_agrees_with_the_error_function() {
    let libm = "Complementary error function of libm 0.2";
    let mut fit = check(libm, "chance, relative, -12 to 8 in steps of 0.001", "1", 4e-14);
    // The argument of erfc is rounded twice: 2 x^2 half-ulps, 3.2e-14 at -12; ours adds 8e-15.
    for step in -12_000..=8_000 {
        let x = f64::from(step) / 1_000.0;
        let theirs = libm::erfc(-x / std::f64::consts::SQRT_2) / 2.0;
        fit.relative(&format!("{x}"), normal_cumulative(x), theirs);
    }
    fit.done();
}

/// There and back, over all branches.
#[test]
fn deviate_and_chance_are_inverse() {
    let mut last = f64::NEG_INFINITY;
    for step in 1..200_000 {
        let chance = f64::from(step) / 200_000.0;
        let deviate = normal_deviate(chance);
        assert!(deviate > last, "{chance}");
        last = deviate;
        let back: f64 = normal_cumulative(deviate);
        assert!((back - chance).abs() < 1e-15, "{chance} came back as {back}");
        assert_eq!(normal_deviate(1.0 - chance), -normal_deviate(1.0 - (1.0 - chance)));
    }
    assert_eq!(normal_deviate(0.5), 0.0);
    assert_eq!(normal_cumulative(0.0), 0.5);
    assert!(normal_cumulative(f64::NAN).is_nan());
    assert!(normal_cumulative(-40.0) < 1e-36 && normal_cumulative(40.0) == 1.0);
    assert!(normal_cumulative(f64::NEG_INFINITY) < 1e-36);
    assert_eq!(normal_cumulative(f64::INFINITY), 1.0);
}

/// Lanes have the bits of the single value, whichever branches their neighbours take.
#[test]
fn lanes_have_the_bits_of_single_values() {
    let special = [0.5, 1e-300, 1.4e-11, 0.075, 0.925, 1.0 - f64::EPSILON / 2.0, 1e-5, 0.3];
    for trial in 0..20_000_u64 {
        let draw = Draw::new(SEED, trial * 8, 0, Purpose::Check);
        let mut chances = draw.pair_in_lanes::<8>()[0];
        if trial % 2 == 0 {
            let lane = (trial / 2 % 8) as usize;
            chances.0[lane] = special[(trial / 16 % 8) as usize];
        }
        let deviates = normal_deviate(chances);
        let back = normal_cumulative(deviates);
        for lane in 0..8 {
            let single = normal_deviate(chances.0[lane]);
            assert_eq!(deviates.0[lane].to_bits(), single.to_bits());
            assert_eq!(back.0[lane].to_bits(), normal_cumulative(single).to_bits());
        }
    }
    let none = normal_deviate(Wide([0.4; 4]));
    assert_eq!(none.0, [normal_deviate(0.4); 4]);
}

/// Moments of a million deviates.
#[test]
fn moments() {
    const MANY: u64 = 1_000_000;
    let mut check = sampled("Moments of the normal law: 0, 1, 0, 3", "means of z, z^2, z^3, z^4");
    let mut sums = [0.0; 4];
    for first in (0..MANY).step_by(8) {
        let draw = Draw::new(SEED, first, 739_100, Purpose::Sky);
        for z in normal_deviate(draw.pair_in_lanes::<8>()[0]).0 {
            for (power, sum) in sums.iter_mut().enumerate() {
                *sum += z.powi(power as i32 + 1);
            }
        }
    }
    // Variances of the powers: 1, 2, 15, 96.
    let many = MANY as f64;
    for (power, (expected, variance)) in
        [(0.0, 1.0), (1.0, 2.0), (0.0, 15.0), (3.0, 96.0)].into_iter().enumerate()
    {
        let name = format!("z^{}", power + 1);
        sample(&mut check, &name, sums[power] / many, expected, f64::sqrt(variance / many));
    }
    check.done();
}
