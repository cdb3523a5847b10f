//! Incomplete beta and gamma functions.

use longwatch::chance::intervals::clopper_pearson_lower;
use longwatch::chance::merge::Tally;
use longwatch::chance::special::beta::{Split, incomplete_beta, inverse_incomplete_beta};
use longwatch::chance::special::binomial::binomial_mass;
use longwatch::chance::special::crossing::crossing;
use longwatch::chance::special::gamma::upper_gamma_share;

use super::common::{check, confidence};
use crate::support::figures::rows;

/// Up to ten million trials.
#[test]
fn exact_lower_bounds() {
    let source = "Clopper & Pearson 1934, binomial tails summed to 60 digits (mpmath 1.4.1)";
    // A chance to 12 digits gives the bound to more, which is far less steep: near the end of its
    // digits. The smaller side is what a share of failures needs.
    let mut bounds = check(source, "one-sided lower bound", "1", 2e-15);
    let mut relative =
        check(source, "the smaller of the bound and one less it, relative", "1", 1e-14);
    for row in rows("risk/clopper_pearson_lower.csv") {
        let (successes, trials) = (row.number("successes"), row.number("trials"));
        let alpha = row.number("alpha");
        let name = format!("{successes} of {trials}, alpha {alpha}");
        let tally = Tally::of_trials(successes as u64, trials as u64).unwrap();
        // The confidence is rounded: 1 - 0.95 is 0.05 only to 16 digits.
        let ours = clopper_pearson_lower(tally, confidence(1.0 - alpha));
        bounds.case(&name, ours, row.number("lower"));
        let split = inverse_incomplete_beta(successes, trials - successes + 1.0, alpha);
        if split.share < split.rest {
            relative.relative(&name, split.share, row.number("lower"));
        } else {
            relative.relative(&name, split.rest, row.number("one_less"));
        }
    }
    bounds.done();
    relative.done();
}

/// Thirteen digits down to a chance of 1e-13; fewer beyond, where no duration reaches.
#[test]
fn upper_gamma() {
    let source = "Incomplete gamma function to 50 digits (mpmath 1.4.1)";
    let mut shares = check(source, "Q(a, x)", "1", 1e-14);
    let mut relative = check(source, "Q(a, x), relative, where above 1e-13", "1", 3e-13);
    for row in rows("risk/gamma_shares.csv") {
        let (a, x, q) = (row.number("a"), row.number("x"), row.number("q"));
        let name = format!("Q({a}, {x})");
        shares.case(&name, upper_gamma_share(a, x), q);
        if q > 1e-13 {
            relative.relative(&name, upper_gamma_share(a, x), q);
        }
    }
    shares.done();
    relative.done();
    assert_eq!(upper_gamma_share(2.0, 0.0), 1.0);
    assert_eq!(upper_gamma_share(2.0, f64::INFINITY), 0.0);
}

/// Closed forms of the beta law, and the inverse as the inverse.
#[test]
fn beta_closed_forms() {
    let source = "NIST DLMF 8.17: I_x(a, 1) = x^a, I_x(1, b) = 1 - (1 - x)^b, I_(1/2)(a, a) = 1/2";
    let mut closed = check(source, "I_x(a, b)", "1", 1e-14);
    let mut symmetric = check(source, "I_x(a, b) + I_(1-x)(b, a) = 1", "1", 1e-14);
    let mut back = check("The inverse of the function", "chance comes back, relative", "1", 2e-12);
    for a in [0.5, 1.0, 2.5, 17.0, 400.0, 1e5, 1e7] {
        let half = Split { share: 0.5, rest: 0.5 };
        closed.case(&format!("a = b = {a}"), incomplete_beta(a, a, half).share, 0.5);
        for x in [1e-7, 0.01, 0.3, 0.5, 0.9, 0.9999] {
            let at = Split { share: x, rest: 1.0 - x };
            let name = format!("a or b {a}, x {x}");
            closed.case(&name, incomplete_beta(a, 1.0, at).share, x.powf(a));
            closed.case(&name, incomplete_beta(1.0, a, at).share, -f64::exp_m1(a * (-x).ln_1p()));
            for b in [0.5, 3.0, 1e4] {
                let swapped = Split { share: at.rest, rest: at.share };
                let sum = incomplete_beta(a, b, at).share + incomplete_beta(b, a, swapped).share;
                symmetric.case(&format!("{a}, {b}, {x}"), sum, 1.0);
            }
        }
        for b in [0.5, 1.0, 3.5, 200.0, 1e6] {
            for chance in [1e-6, 0.005, 0.05, 0.5, 0.95, 0.999] {
                let at = inverse_incomplete_beta(a, b, chance);
                back.relative(&format!("{a}, {b}"), incomplete_beta(a, b, at).share, chance);
            }
        }
    }
    closed.done();
    symmetric.done();
    back.done();
    assert_eq!(inverse_incomplete_beta(3.0, 4.0, 0.0).share, 0.0);
    assert_eq!(inverse_incomplete_beta(3.0, 4.0, 1.0).rest, 0.0);
}

/// All counts together have chance 1, and small cases are fractions.
#[test]
fn binomial_counts() {
    let mut small =
        check("Pascal's triangle over powers", "chance of a count, relative", "1", 2e-14);
    // The exponent, up to 40, is rounded a few times: 7e-15 each.
    let mut sums = check("Sum over all counts", "1", "1", 1e-12);
    let mut row = vec![1.0];
    for trials in 1..=40 {
        row = (0..=trials)
            .map(|k| if k == 0 || k == trials { 1.0 } else { row[k - 1] + row[k] })
            .collect::<Vec<f64>>();
        for (count, ways) in row.iter().enumerate() {
            // Powers of 1/4 and 3/4 are exact in their numerators.
            let exact = ways * 3_f64.powi((trials - count) as i32) / 4_f64.powi(trials as i32);
            let ours = binomial_mass(count as f64, trials as f64, 0.25, 0.75);
            small.relative(&format!("{count} of {trials}"), ours, exact);
        }
    }
    for (trials, share) in [(1, 0.3), (100, 0.01), (5_000, 0.98), (100_000, 0.5)] {
        let sum: f64 = (0..=trials)
            .map(|count| binomial_mass(f64::from(count), f64::from(trials), share, 1.0 - share))
            .sum();
        sums.case(&format!("{trials} trials"), sum, 1.0);
    }
    small.done();
    sums.done();
    assert_eq!(binomial_mass(0.0, 5.0, 0.0, 1.0), 1.0);
    assert_eq!(binomial_mass(5.0, 5.0, 1.0, 0.0), 1.0);
    assert_eq!(binomial_mass(4.0, 5.0, 1.0, 0.0), 0.0);
    assert_eq!(binomial_mass(6.0, 5.0, 0.5, 0.5), 0.0);
    assert_eq!(binomial_mass(-1.0, 5.0, 0.5, 0.5), 0.0);
}

/// The crossing is found wherever it is, and no function makes it hang.
#[test]
fn crossings() {
    let square_root = crossing(|x| x * x - 2.0, 0.0, 2.0);
    assert!((square_root - std::f64::consts::SQRT_2).abs() < 1e-15);
    let steep = crossing(|x| if x < 0.3 { -1.0 } else { 1e9 }, 0.0, 1.0);
    assert!((steep - 0.3).abs() < 1e-15);
    let tiny = crossing(|x| x - 1e-200, 0.0, 1.0);
    assert!((tiny / 1e-200 - 1.0).abs() < 1e-14);
    assert_eq!(crossing(|x| x - 1.0, 0.0, 1.0), 1.0);
    assert_eq!(crossing(|x| x, 0.0, 1.0), 0.0);
    assert_eq!(crossing(|x| x + 1.0, 0.0, 1.0), 0.0);
    assert!(crossing(|_| f64::NAN, 0.0, 1.0).is_finite());
    assert!((crossing(|x| 1.0 - x.powi(9), 0.0, 40.0) - 1.0).abs() < 1e-14);
}
