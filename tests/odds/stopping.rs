//! The rule of `--until-half-width`: its exact coverage, its mean number of trials and its bias, by
//! dynamic programming over the number of failures.

use longwatch::chance::intervals::{Confidence, wilson};
use longwatch::chance::merge::Tally;
use longwatch::decide::odds::stopping::{ROUND_TRIALS, is_enough};

use super::figures::reference;

/// What a rule comes to at a true readiness.
struct Rule {
    coverage: f64,
    trials: f64,
    on_air_share: f64,
}

/// The law of the failures in a round, up to where it no longer counts.
fn round_law(failure: f64, round: u64) -> Vec<f64> {
    let n = round as f64;
    let mut law = vec![n * (-failure).ln_1p()];
    while law.last().is_some_and(|last| law.len() < 2 + (n * failure) as usize || *last > -80.0)
        && (law.len() as u64) <= round
    {
        let k = law.len() as f64;
        let step = ((n - k + 1.0) / k).ln() + failure.ln() - (-failure).ln_1p();
        law.push(law[law.len() - 1] + step);
    }
    law.into_iter().map(f64::exp).collect()
}

/// Runs the rule exactly.
fn run(readiness: f64, half_width: f64, round: u64) -> Rule {
    let law = round_law(1.0 - readiness, round);
    let mut going = vec![1.0];
    let mut rule = Rule { coverage: 0.0, trials: 0.0, on_air_share: 0.0 };
    let mut trials = 0;
    while going.iter().sum::<f64>() > 1e-13 {
        trials += round;
        let mut next = vec![0.0; going.len() + law.len() - 1];
        for (k, chance) in going.iter().enumerate().filter(|(_, chance)| **chance > 1e-40) {
            for (more, share) in law.iter().enumerate() {
                next[k + more] += chance * share;
            }
        }
        for (failures, chance) in next.iter_mut().enumerate() {
            let failures = failures as u64;
            if *chance == 0.0 || failures > trials {
                continue;
            }
            let tally = Tally::of(trials - failures, failures).unwrap();
            if is_enough(tally, half_width) {
                let interval = wilson(tally, Confidence::NINETY_FIVE);
                if (interval.low..=interval.high).contains(&readiness) {
                    rule.coverage += *chance;
                }
                rule.trials += *chance * trials as f64;
                rule.on_air_share += *chance * tally.share();
                *chance = 0.0;
            }
        }
        going = next;
    }
    rule
}

/// Exact coverage of a fixed-width rule (Wilson, 95 %), computed by dynamic programming with scipy
/// 1.17.1. Its and our sums of chances differ in rounding alone: 1e-9.
#[test]
fn the_rule_covers_what_the_reference_says() {
    let statistics: serde_json::Value =
        serde_json::from_str(&reference("risk/mc_statistics.json")).unwrap();
    let cases = statistics["fixed_width_stopping"].as_array().unwrap();
    assert_eq!(cases.len(), 8);
    for case in cases {
        let of = |key: &str| case[key].as_f64().unwrap();
        let rule = run(of("p"), of("half_width"), of("batch") as u64);
        let apart = rule.coverage - of("exact_coverage");
        assert!(apart.abs() < 1e-9, "{case}: {}", rule.coverage);
        let apart = rule.trials / of("expected_trials") - 1.0;
        assert!(apart.abs() < 1e-9, "{case}: {}", rule.trials);
    }
}

/// What the head of the module says of rounds of a thousand.
#[test]
fn rounds_of_a_thousand_cost_next_to_nothing() {
    for (readiness, half_width) in
        [(0.95, 0.01), (0.99, 0.01), (0.99, 0.005), (0.99, 0.002), (0.999, 0.001), (0.95, 0.005)]
    {
        let rule = run(readiness, half_width, ROUND_TRIALS);
        let bias = (rule.on_air_share - readiness) / half_width;
        println!(
            "readiness {readiness}, half-width {half_width}: coverage {:.4}, {:.0} trials, bias {bias:.4} of the half-width",
            rule.coverage, rule.trials
        );
        assert!(rule.coverage >= 0.95, "{readiness}, {half_width}: {}", rule.coverage);
        assert!((0.0..0.2).contains(&bias), "{readiness}, {half_width}: {bias}");
    }
}
