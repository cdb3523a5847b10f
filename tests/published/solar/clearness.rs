//! The distribution of daily clearness.

use longwatch::sky::clearness::{Clearness, Floor, greatest};

use super::common::check;
use crate::support::figures::rows;

const BENDT: &str = "Bendt, Collares-Pereira & Rabl 1981 with Hollands & Huget's Kmax (table)";

/// Four decimals, g with five.
#[test]
fn bendt_distribution() {
    let mut ends = check(BENDT, "clearest day", "1", 1e-5);
    let mut exponents = check(BENDT, "exponent g", "1", 2e-5);
    let mut quantiles = check(BENDT, "quantiles 5 to 95 %", "1", 1e-4);
    let mut chances = check(BENDT, "cumulative chance", "1", 1e-4);
    let mut means = check(BENDT, "mean comes back", "1", 1e-9);
    for row in rows("solar/kt_distributions.csv") {
        if row.text("model") != "bendt" {
            continue;
        }
        let mean = row.number("Kb");
        let law = Clearness::new(mean, Floor::Off);
        let name = format!("mean {mean}");
        ends.case(&name, law.greatest(), row.number("Kmax"));
        exponents.case(&name, law.g(), row.number("param"));
        means.case(&name, law.mean(), mean);
        for percent in [5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 95] {
            let share = f64::from(percent) / 100.0;
            let theirs = row.number(&format!("q{percent:02}"));
            quantiles.case(&format!("{name}, q{percent}"), law.quantile(share), theirs);
        }
        for step in 1..=17 {
            let clearness = f64::from(step) * 0.05;
            let theirs = row.number(&format!("F{clearness:.2}"));
            chances.case(&format!("{name}, F({clearness:.2})"), law.cumulative(clearness), theirs);
        }
    }
    ends.done();
    exponents.done();
    quantiles.done();
    chances.done();
    means.done();
}

/// The inverse is the inverse, whatever the mean, with the floor as the program runs it.
#[test]
fn inverse_and_floor() {
    for step in 0..=90 {
        let mean = f64::from(step) / 100.0;
        let law = Clearness::new(mean, Floor::On);
        assert!((law.mean() - mean).abs() < 1e-6, "mean {mean} came back as {}", law.mean());
        for share in [0.0, 1e-6, 0.1, 0.5, 0.9, 1.0 - 1e-6, 1.0] {
            let clearness = law.quantile(share);
            assert!(law.least() <= clearness && clearness <= law.greatest());
            if law.least() < law.greatest() && share > 0.0 && share < 1.0 {
                let back = law.cumulative(clearness);
                assert!((back - share).abs() < 1e-6, "mean {mean}: {share} came back as {back}");
            }
        }
    }
    assert!((greatest(0.15, Floor::On) - 0.65).abs() < 1e-12);
    assert!((greatest(0.15, Floor::Off) - 0.471_48).abs() < 1e-5);
    assert!((greatest(0.30, Floor::On) - greatest(0.30, Floor::Off)).abs() < 1e-12);
}
