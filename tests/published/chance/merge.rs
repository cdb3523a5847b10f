//! Sums, counts and histograms join to the same bytes however they are cut.

use longwatch::chance::merge::{EnergySum, Extreme, Histogram, Tally, TimeSum};
use proptest::prelude::*;

use super::common::check;

fn few() -> ProptestConfig {
    ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() }
}

fn energies(values: &[f64]) -> EnergySum {
    let mut sum = EnergySum::default();
    for value in values {
        sum.add(*value).unwrap();
    }
    sum
}

fn bins(values: &[f64]) -> Histogram {
    let mut histogram = Histogram::new(-100.0, 500.0, 60).unwrap();
    for value in values {
        histogram.add(*value).unwrap();
    }
    histogram
}

fn joined(mut one: Histogram, other: &Histogram) -> Histogram {
    one.merge(other).unwrap();
    one
}

fn worst(values: &[f64], first_trial: u64) -> Option<Extreme> {
    (first_trial..)
        .zip(values)
        .map(|(trial, value)| Extreme { value: *value, trial })
        .reduce(Extreme::merged)
}

fn values() -> impl Strategy<Value = Vec<f64>> {
    let value = prop_oneof![
        8 => -1e3..1e4_f64,
        1 => Just(0.0),
        1 => Just(-0.0),
        1 => -2e8..2e8_f64,
        1 => 1e-9..1e-3_f64,
    ];
    prop::collection::vec(value, 0..40)
}

proptest! {
    #![proptest_config(few())]

    #[test]
    fn sums_join_in_any_order(a in values(), b in values(), c in values()) {
        let all: Vec<f64> = [a.clone(), b.clone(), c.clone()].concat();
        let backwards: Vec<f64> = all.iter().rev().copied().collect();
        let whole = energies(&all);
        let [a, b, c] = [energies(&a), energies(&b), energies(&c)];
        let left = a.merged(b).unwrap().merged(c).unwrap();
        let right = a.merged(b.merged(c).unwrap()).unwrap();
        let swapped = c.merged(b).unwrap().merged(a).unwrap();
        for other in [left, right, swapped, energies(&backwards)] {
            prop_assert_eq!(other, whole);
            prop_assert_eq!(other.mean().to_bits(), whole.mean().to_bits());
            prop_assert_eq!(other.variance().to_bits(), whole.variance().to_bits());
        }
    }

    #[test]
    fn histograms_join_in_any_order(a in values(), b in values(), c in values()) {
        let all: Vec<f64> = [a.clone(), b.clone(), c.clone()].concat();
        let backwards: Vec<f64> = all.iter().rev().copied().collect();
        let whole = bins(&all);
        let [a, b, c] = [bins(&a), bins(&b), bins(&c)];
        let left = joined(joined(a.clone(), &b), &c);
        let right = joined(a.clone(), &joined(b.clone(), &c));
        let swapped = joined(joined(c, &b), &a);
        for other in [left, right, swapped, bins(&backwards)] {
            // Printed, so that 0 and -0 count as different.
            prop_assert_eq!(format!("{other:?}"), format!("{whole:?}"));
        }
    }

    #[test]
    fn quantiles_lie_in_their_bin(mut values in values(), share in 0.0..=1.0_f64) {
        prop_assume!(!values.is_empty());
        let histogram = bins(&values);
        values.sort_by(f64::total_cmp);
        let rank = ((share * values.len() as f64).ceil() as usize).clamp(1, values.len());
        let exact = values[rank - 1];
        let quantile = histogram.quantile(share).unwrap();
        prop_assert!(quantile.low <= exact + 1e-12 && exact <= quantile.high + 1e-12);
        prop_assert!(quantile.low <= quantile.value && quantile.value <= quantile.high);
        if (-100.0..=500.0).contains(&exact) {
            prop_assert!(quantile.high - quantile.low <= 10.0 + 1e-9);
        }
        prop_assert_eq!(histogram.ends().unwrap(), (values[0] + 0.0, values[values.len() - 1] + 0.0));
    }

    #[test]
    fn tallies_and_extremes_join_in_any_order(
        a in 0..1_u64 << 40, b in 0..1_u64 << 40, c in 0..1_u64 << 40, values in values(),
        cut in 0..40_usize,
    ) {
        let [a, b, c] = [Tally::of(a, b), Tally::of(b, c), Tally::of(c, a)].map(Result::unwrap);
        let left = a.merged(b).unwrap().merged(c).unwrap();
        prop_assert_eq!(left, c.merged(a.merged(b).unwrap()).unwrap());
        let cut = cut.min(values.len());
        let (one, other) = values.split_at(cut);
        let whole = worst(&values, 0);
        let (one, other) = (worst(one, 0), worst(other, cut as u64));
        let joined = one.into_iter().chain(other).reduce(Extreme::merged);
        let swapped = other.into_iter().chain(one).reduce(Extreme::merged);
        prop_assert_eq!(joined, whole);
        prop_assert_eq!(swapped, whole);
    }

    /// Against the textbook formula in whole numbers, of values that are whole micro-watt-hours.
    #[test]
    fn spread_is_that_of_the_values(
        units in prop::collection::vec(-10_000_000_000..10_000_000_000_i64, 2..40),
    ) {
        let values: Vec<f64> = units.iter().map(|units| *units as f64 / 1e6).collect();
        let sum = energies(&values);
        let count = units.len() as i128;
        let total: i128 = units.iter().map(|units| i128::from(*units)).sum();
        let squares: i128 = units.iter().map(|units| i128::from(*units).pow(2)).sum();
        let spread = (count * squares - total * total) as f64 / (count * (count - 1)) as f64;
        prop_assert_eq!(sum.total_units(), total);
        prop_assert!((sum.variance() - spread / 1e12).abs() <= 1e-14 * spread / 1e12);
    }
}

/// Certified means and standard deviations: small spread on a large mean.
#[test]
fn certified_statistics() {
    // NIST Statistical Reference Datasets, univariate: NumAcc2 (1001 values 1.1, 1.2, 1.3 ...:
    // mean 1.2, standard deviation 0.1) and NumAcc3 (the same on 1,000,000). From memory; both are
    // exact by construction.
    let nist = "NIST Statistical Reference Datasets, NumAcc2 and NumAcc3";
    let mut means = check(nist, "mean, relative", "1", 1e-15);
    let mut spreads = check(nist, "standard deviation, relative", "1", 1e-14);
    for base in [1.0, 1_000_000.0] {
        let mut values = vec![base + 0.2];
        for _ in 0..500 {
            values.extend([base + 0.1, base + 0.3]);
        }
        let sum = energies(&values);
        let name = format!("on {base}");
        means.relative(&name, sum.mean(), base + 0.2);
        spreads.relative(&name, sum.variance().sqrt(), 0.1);
        assert!((sum.standard_error() - 0.1 / 1_001_f64.sqrt()).abs() < 1e-15);
    }
    means.done();
    spreads.done();
}

/// Units, halves, ends of the range.
#[test]
fn edges() {
    assert_eq!(EnergySum::units_of(1.25e-6).unwrap(), 1);
    assert_eq!(EnergySum::units_of(-1.5e-6).unwrap(), -2);
    assert_eq!(TimeSum::units_of(0.25).unwrap(), 900);
    assert_eq!(EnergySum::units_of(281_474_976.710_656).unwrap(), 1 << 48);
    for wrong in [f64::NAN, f64::INFINITY, -3e8] {
        let mut sum = EnergySum::default();
        assert!(sum.add(wrong).is_err());
        assert_eq!(sum, EnergySum::default());
    }
    let none = TimeSum::default();
    assert_eq!((none.mean(), none.variance(), none.standard_error()), (0.0, 0.0, 0.0));
    // The greatest values, doubled until no more fit.
    let mut most = EnergySum::default();
    most.add(-281_474_976.710_656).unwrap();
    for _ in 0..30 {
        most = most.merged(most).unwrap();
    }
    assert_eq!(most.total_units(), -(1_i128 << 78));
    assert_eq!((most.mean(), most.variance()), (-281_474_976.710_656, 0.0));
    assert!(most.merged(most).is_err());

    let mut histogram = Histogram::new(0.0, 1.0, 10).unwrap();
    assert!(histogram.add(f64::NAN).is_err() && histogram.quantile(0.5).is_none());
    assert!(histogram.add(f64::NEG_INFINITY).is_err());
    for value in [-0.0, 0.05, 1.0, 1.5, -3.0] {
        histogram.add(value).unwrap();
    }
    let (below, counts, above) = histogram.counts();
    assert_eq!((below, counts[0], counts[9], above, histogram.count()), (1, 2, 1, 1, 5));
    let other = Histogram::new(0.0, 1.0, 11).unwrap();
    assert!(histogram.merge(&other).is_err());
    assert!(Histogram::new(1.0, 0.0, 4).is_err() && Histogram::new(0.0, 1.0, 0).is_err());

    let mut full = Tally::of(1 << 52, 1 << 52).unwrap();
    full.count(true);
    assert_eq!(full.trials(), 1 << 53);
    assert!(full.merged(full).is_err());
    assert_eq!(Tally::default().share(), 0.0);
}
