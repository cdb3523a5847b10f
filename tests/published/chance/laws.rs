//! Laws of durations and laws given as tables.

use longwatch::chance::transforms::shares::whole_below;
use longwatch::chance::transforms::{Grid, Law, Quantiles, Shares, normal_cumulative};
use longwatch::chance::{Draw, Purpose};
use longwatch::numbers::lane::Wide;
use serde_json::Value;

use super::common::{SEED, check, number, sample_share, sampled};
use crate::support::figures::{Row, rows};

/// The law of times down in a row of the renewal table.
pub fn law_of(row: &Row) -> Law {
    let parameters: Value = serde_json::from_str(row.text("down_parameters")).unwrap();
    let of = |key: &str| number(&parameters[key]);
    match row.text("down_distribution") {
        "exponential" => Law::exponential(of("mean")),
        "weibull" => Law::weibull(of("shape"), of("scale")),
        "lognormal" => Law::lognormal(of("mu"), of("sigma")),
        other => panic!("{other}"),
    }
    .unwrap()
}

/// Twelve digits are given.
#[test]
fn survival_and_mean_excess() {
    let source = "Renewal theory in closed form, checked by quadrature (table of 20 cases)";
    let mut means = check(source, "mean of times down, relative", "1", 1e-11);
    let mut longer = check(source, "chance to last longer than a battery, relative", "1", 1e-11);
    let mut beyond = check(source, "mean hours beyond a battery, relative", "1", 2e-11);
    for row in rows("risk/alternating_renewal.csv") {
        let law = law_of(&row);
        let battery_h = row.number("battery_hours_tau");
        let name = format!("{}, {battery_h} h", row.text("model"));
        means.relative(&name, law.mean(), row.number("mean_down_h"));
        longer.relative(&name, law.survival(battery_h), row.number("P_down_exceeds_tau"));
        beyond.relative(&name, law.mean_excess(battery_h), row.number("E_excess_h"));
    }
    means.done();
    longer.done();
    beyond.done();
}

fn all_laws() -> Vec<(&'static str, Law)> {
    let stated = Quantiles::new(&[(0.0, 0.5), (0.1, 1.0), (0.5, 4.0), (0.9, 30.0), (1.0, 96.0)]);
    let mut laws = vec![
        ("exponential", Law::exponential(10.0)),
        ("Weibull 0.5", Law::weibull(0.5, 3.0)),
        ("Weibull 3", Law::weibull(3.0, 3.0)),
        ("Weibull with mean", Law::weibull_with_mean(0.7, 10.0)),
        ("lognormal", Law::lognormal(1.4, 1.2)),
        ("uniform", Law::uniform(2.0, 7.0)),
        ("stated", Law::stated(stated.unwrap())),
        ("geometric", Law::geometric(0.2)),
        ("fixed", Law::fixed(5.0)),
    ];
    laws.drain(..).map(|(name, law)| (name, law.unwrap())).collect()
}

/// The value is the inverse of the survival; the mean excess is its integral (Simpson's rule).
#[test]
fn value_survival_and_mean_excess_belong_together() {
    let mut inverse = check("The inverse of the survival", "chance comes back", "1", 1e-13);
    let mut integral = check("Integral of the survival, Simpson's rule", "hours", "h", 1e-6);
    for (name, law) in all_laws() {
        let whole = matches!(name, "geometric" | "fixed");
        let mut last = 0.0;
        for step in 1..1_000 {
            let chance = f64::from(step) / 1_000.0;
            let value = law.value(chance);
            assert!(value >= last && value > 0.0, "{name} falls at {chance}");
            last = value;
            if whole {
                // A step of the law: at or below it more than the chance, just below it less.
                let below = 1.0 - law.survival(value * (1.0 - 1e-12));
                assert!(1.0 - law.survival(value) >= chance - 1e-12 && below <= chance + 1e-12);
            } else {
                inverse.case(&format!("{name}, {chance}"), 1.0 - law.survival(value), chance);
            }
        }
        for (low, high) in [(0.0, 1.0), (0.5, 2.5), (6.0, 20.0)] {
            // Whole numbers lie on the ends of steps.
            let steps = 14_000;
            let step = (high - low) / f64::from(steps);
            let sum: f64 = (0..steps)
                .map(|n| {
                    let at = |part: f64| law.survival(low + step * (f64::from(n) + part));
                    if whole { at(0.5) } else { (at(1e-9) + 4.0 * at(0.5) + at(1.0)) / 6.0 }
                })
                .sum();
            let ours = law.mean_excess(low) - law.mean_excess(high);
            integral.case(&format!("{name}, {low} to {high}"), ours, sum * step);
        }
        assert!((law.mean_excess(0.0) - law.mean()).abs() < 1e-12, "{name}");
    }
    inverse.done();
    integral.done();
}

/// What is left of a duration: P(left > x) = mean excess / mean (Cox 1962).
#[test]
fn what_is_left() {
    let mut check = check("Cox 1962, renewal theory", "chance of what is left", "1", 1e-11);
    for (name, law) in all_laws() {
        for step in 1..100 {
            let chance = f64::from(step) / 100.0;
            let left = law.value_left(chance);
            if name == "geometric" {
                assert_eq!(left, law.value(chance));
            } else {
                let back = 1.0 - law.mean_excess(left) / law.mean();
                check.case(&format!("{name}, {chance}"), back, chance);
            }
        }
    }
    check.done();
}

/// First success of a coin: the chance of each number of throws.
#[test]
fn geometric_numbers() {
    const MANY: u64 = 200_000;
    let mut check = sampled("Geometric law q^(n-1) p", "counts of 1 to 12, 2e5 draws");
    let law = Law::geometric(0.3).unwrap();
    let mut counts = [0_u64; 13];
    for trial in 0..MANY {
        let draw = Draw::new(SEED, trial, 5, Purpose::Check);
        let hours = law.value(draw.uniform()) as usize;
        assert!(hours >= 1);
        counts[hours.min(13) - 1] += 1;
    }
    for hours in 1..=12 {
        let exact = 0.7_f64.powi(hours - 1) * 0.3;
        sample_share(&mut check, &format!("{hours} h"), counts[hours as usize - 1], MANY, exact);
    }
    check.done();
    assert_eq!(Law::geometric(1.0).unwrap().value(0.999), 1.0);
    assert!((Law::geometric(1e-9).unwrap().value(0.5) / 693_147_180.2 - 1.0).abs() < 1e-6);
}

/// A law by its quantiles gives them back.
#[test]
fn stated_quantiles() {
    let pairs =
        [(0.0, 2.0), (0.1, 2.5), (0.25, 15.0), (0.25 + 1e-12, 15.0), (0.9, 157.5), (1.0, 822.0)];
    let law = Quantiles::new(&pairs).unwrap();
    for (chance, value) in pairs {
        assert!((law.value(chance) - value).abs() < 1e-6, "{chance}");
    }
    assert_eq!(law.survival(1.0), 1.0);
    assert_eq!(law.survival(822.0), 0.0);
    for step in 1..10_000 {
        let chance = f64::from(step) / 10_000.0;
        assert!((1.0 - law.survival(law.value(chance)) - chance).abs() < 1e-11);
    }
    let sum: f64 = (0..100_000).map(|n| law.value((f64::from(n) + 0.5) / 1e5)).sum();
    assert!((law.mean() - sum / 1e5).abs() < 1e-3);
    assert!(Quantiles::new(&[(0.0, 1.0)]).is_err());
    assert!(Quantiles::new(&[(0.1, 1.0), (1.0, 2.0)]).is_err());
    assert!(Quantiles::new(&[(0.0, 1.0), (0.9, 2.0)]).is_err());
    assert!(Quantiles::new(&[(0.0, 3.0), (1.0, 2.0)]).is_err());
    assert!(Quantiles::new(&[(0.0, 3.0), (0.5, 4.0), (0.5, 5.0), (1.0, 6.0)]).is_err());
    assert!(Quantiles::new(&[(0.0, f64::NAN), (1.0, 2.0)]).is_err());
}

/// Alternatives come by their weights, whole numbers all alike.
#[test]
fn alternatives_and_whole_numbers() {
    const MANY: u64 = 300_000;
    let mut check = sampled("Shares as stated", "counts of alternatives and whole numbers");
    let shares = Shares::new(&[2.0, 0.0, 5.0, 1.0, 0.0]).unwrap();
    let mut taken = [0_u64; 5];
    let mut hours = [0_u64; 24];
    for trial in 0..MANY {
        let [first, second] = Draw::new(SEED, trial, 6, Purpose::Check).pair();
        taken[shares.index(first)] += 1;
        hours[whole_below(second, 24) as usize] += 1;
    }
    for (index, exact) in [(0, 0.25), (2, 0.625), (3, 0.125)] {
        sample_share(&mut check, &format!("alternative {index}"), taken[index], MANY, exact);
    }
    assert_eq!((taken[1], taken[4]), (0, 0));
    for (hour, seen) in hours.into_iter().enumerate() {
        sample_share(&mut check, &format!("hour {hour}"), seen, MANY, 1.0 / 24.0);
    }
    check.done();
    assert_eq!((shares.index(0.0), shares.index(1.0), shares.index(2.0)), (0, 3, 3));
    assert_eq!((whole_below(1.0, 24), whole_below(0.5, 0), whole_below(f64::NAN, 3)), (23, 0, 0));
    for count in [1, 3, 5, 7, 100, u32::MAX] {
        assert_eq!(whole_below(1.0 - f64::EPSILON / 2.0, count), count - 1);
    }
    assert!(Shares::new(&[]).is_err());
    assert!(Shares::new(&[0.0, 0.0]).is_err());
    assert!(Shares::new(&[1.0, -1.0]).is_err());
}

/// The error of straight lines is a sixteenth where the cells are four times as many.
#[test]
fn grids() {
    let curve = |z: f64| -(1.0 - 0.98 * normal_cumulative(z)).ln();
    let coarse = Grid::new(-6.0, 6.0, 256, curve).unwrap();
    let fine = Grid::new(-6.0, 6.0, 1_024, curve).unwrap();
    let (rough, smooth) = (coarse.worst_difference(8, curve), fine.worst_difference(8, curve));
    assert!(rough > 0.0 && rough < 1e-3 && smooth < rough / 14.0, "{rough} and {smooth}");
    assert_eq!(fine.value(-9.0), curve(-6.0));
    assert_eq!(fine.value(9.0), curve(6.0));
    assert_eq!(fine.value(f64::NAN), curve(-6.0));
    let lanes = Wide([-7.0, -6.0, -0.3, 0.0, 1.234_5, 5.999, 6.0, f64::INFINITY]);
    for (lane, value) in fine.value(lanes).0.into_iter().enumerate() {
        assert_eq!(value.to_bits(), fine.value(lanes.0[lane]).to_bits());
    }
    assert!(Grid::new(1.0, 1.0, 4, |x| x).is_err());
    assert!(Grid::new(0.0, 1.0, 0, |x| x).is_err());
    assert!(Grid::new(0.0, 1.0, 4, f64::ln).is_err());
}

/// No law holds a wrong parameter.
#[test]
fn wrong_parameters_are_refused() {
    for wrong in [
        Law::exponential(0.0),
        Law::exponential(f64::INFINITY),
        Law::weibull(0.05, 3.0),
        Law::weibull(2.0, -1.0),
        Law::weibull_with_mean(f64::NAN, 3.0),
        Law::lognormal(f64::NAN, 1.0),
        Law::lognormal(1.0, 0.0),
        Law::geometric(0.0),
        Law::geometric(1.1),
        Law::uniform(3.0, 3.0),
        Law::uniform(-1.0, 3.0),
        Law::fixed(-2.0),
        Law::stated(Quantiles::new(&[(0.0, -1.0), (1.0, 2.0)]).unwrap()),
    ] {
        let problem = wrong.unwrap_err();
        assert!(!problem.to_string().is_empty());
    }
}
