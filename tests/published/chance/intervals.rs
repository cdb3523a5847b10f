//! Intervals of one share, numbers of trials, ranks of quantiles.

use longwatch::chance::intervals::{
    Confidence, clopper_pearson, clopper_pearson_lower, jeffreys, quantile_ranks,
    trials_for_wilson_half_width, trials_to_show, wilson,
};
use longwatch::chance::merge::Tally;
use longwatch::chance::special::binomial::binomial_mass;

use super::common::{check, confidence, count, json, list, number, statistics};
use crate::support::figures::rows;

const SCIPY: &str = "scipy 1.17.1 and statsmodels 0.15.0, agreeing to 1e-12";

/// Every row; the table has 12 digits.
#[test]
fn every_row_of_the_table() {
    let mut of_wilson = check(SCIPY, "Wilson interval, both ends", "1", 1e-12);
    let mut exact = check(SCIPY, "Clopper-Pearson interval, both ends", "1", 1e-12);
    let mut lower = check(SCIPY, "one-sided lower bound as lower end at 90 %", "1", 1e-12);
    let mut of_jeffreys = check(SCIPY, "Jeffreys interval, both ends", "1", 1e-12);
    for row in rows("risk/binomial_intervals.csv") {
        let (successes, trials) = (row.number("successes"), row.number("trials"));
        let level = row.number("conf_level");
        let tally = Tally::of_trials(successes as u64, trials as u64).unwrap();
        let name = format!("{successes} of {trials} at {level}");
        for (check, column, interval) in [
            (&mut of_wilson, "wilson", wilson(tally, confidence(level))),
            (&mut exact, "clopper_pearson", clopper_pearson(tally, confidence(level))),
            (&mut of_jeffreys, "jeffreys", jeffreys(tally, confidence(level))),
        ] {
            check.case(&format!("{name}, low"), interval.low, row.number(&format!("{column}_lo")));
            check.case(
                &format!("{name}, high"),
                interval.high,
                row.number(&format!("{column}_hi")),
            );
        }
        let one_sided = clopper_pearson_lower(tally, confidence(0.5 + level / 2.0));
        lower.case(&name, one_sided, row.number("clopper_pearson_lo"));
    }
    of_wilson.done();
    exact.done();
    lower.done();
    of_jeffreys.done();
}

/// What stands in print, to half a unit of the fourth decimal.
#[test]
fn printed_intervals() {
    let mut newcombe = check("Newcombe 1998, Stat. Med. 17, 857, Table I", "Wilson", "1", 5e-5);
    let book = "Fagerland, Lydersen & Laake 2017, 13 of 16";
    let mut fagerland = check(book, "Wilson, Clopper-Pearson, Jeffreys", "1", 5e-5);
    let published = list(&json("risk/mc_statistics.json")["published_values"]);
    let level = Confidence::NINETY_FIVE;
    for row in list(&published[0]["rows"]) {
        let tally = Tally::of_trials(count(&row["k"]), count(&row["n"])).unwrap();
        let interval = wilson(tally, level);
        newcombe.case(&format!("{row}, low"), interval.low, number(&row["wilson"][0]));
        newcombe.case(&format!("{row}, high"), interval.high, number(&row["wilson"][1]));
    }
    let tally = Tally::of_trials(13, 16).unwrap();
    for (method, interval) in [
        ("wilson", wilson(tally, level)),
        ("clopper_pearson", clopper_pearson(tally, level)),
        ("jeffreys", jeffreys(tally, level)),
    ] {
        fagerland.case(method, interval.low, number(&published[1][method][0]));
        fagerland.case(method, interval.high, number(&published[1][method][1]));
    }
    newcombe.done();
    fagerland.done();
}

/// How often the interval holds the true share, summed over all counts.
#[test]
fn exact_coverage() {
    let mut check = check(SCIPY, "coverage of Wilson and Clopper-Pearson", "1", 1e-11);
    for case in statistics("exact_coverage") {
        let (share, trials) = (number(&case["p"]), count(&case["n"]));
        let level = confidence(number(&case["conf"]));
        let (mut of_wilson, mut exact) = (0.0, 0.0);
        for successes in 0..=trials {
            let tally = Tally::of_trials(successes, trials).unwrap();
            let mass = binomial_mass(successes as f64, trials as f64, share, 1.0 - share);
            let holds = |low: f64, high: f64| f64::from(u8::from(low <= share && share <= high));
            let interval = wilson(tally, level);
            of_wilson += mass * holds(interval.low, interval.high);
            let interval = clopper_pearson(tally, level);
            exact += mass * holds(interval.low, interval.high);
        }
        check.case(&format!("Wilson {share}, {trials}"), of_wilson, number(&case["wilson"]));
        let theirs = number(&case["clopper_pearson"]);
        check.case(&format!("Clopper-Pearson {share}, {trials}"), exact, theirs);
    }
    check.done();
}

/// Whole numbers: no tolerance.
#[test]
fn numbers_of_trials() {
    let mut widths = check(SCIPY, "trials for a Wilson half-width", "trials", 0.0);
    for case in statistics("wilson_half_width_sample_sizes") {
        let (share, half_width) = (number(&case["p"]), number(&case["half_width"]));
        let level = Confidence::NINETY_FIVE;
        let ours = trials_for_wilson_half_width(share, half_width, level).unwrap();
        let name = format!("{share} +- {half_width}");
        widths.case(&name, ours as f64, number(&case["n_wilson"]));
    }
    widths.done();
    let mut runs = check(SCIPY, "trials that show a chance, 0 to 5 failures", "trials", 0.0);
    for case in statistics("success_run_sample_sizes") {
        let readiness = number(&case["readiness"]);
        let level = confidence(number(&case["confidence"]));
        for failures in [0, 1, 2, 5] {
            let ours = trials_to_show(readiness, failures, level).unwrap();
            let theirs = number(&case[format!("n_allowing_{failures}_failures")]);
            runs.case(&format!("{readiness}, {failures} failures"), ours as f64, theirs);
        }
    }
    runs.done();
    let mut of_wilks =
        check("Wilks 1941, one- and two-sided (computed with scipy)", "trials", "trials", 0.0);
    for case in statistics("wilks") {
        let level = confidence(number(&case["confidence"]));
        for (failures, key) in [(0, "one_sided_n"), (1, "two_sided_n")] {
            let coverage = number(&case["coverage"]);
            let ours = trials_to_show(coverage, failures, level).unwrap();
            of_wilks.case(&format!("{coverage}, {key}"), ours as f64, number(&case[key]));
        }
    }
    of_wilks.done();
}

/// Ranks are whole; their coverage is a sum of chances.
#[test]
fn ranks_around_a_quantile() {
    let mut ranks = check(SCIPY, "ranks around a quantile", "ranks", 0.0);
    let mut coverage = check(SCIPY, "coverage of these ranks", "1", 1e-11);
    for case in statistics("quantile_order_statistic_ci") {
        let (values, share) = (count(&case["n"]), number(&case["q"]));
        let ours = quantile_ranks(values, share, confidence(number(&case["conf"]))).unwrap();
        let name = format!("{share} of {values}");
        for (rank, key) in [(ours.lower, "lower_rank"), (ours.upper, "upper_rank")] {
            let as_number = |rank: Option<u64>| rank.map_or(-1.0, |rank| rank as f64);
            ranks.case(&format!("{name}, {key}"), as_number(rank), as_number(case[key].as_u64()));
        }
        coverage.case(&name, ours.coverage, number(&case["exact_coverage"]));
    }
    ranks.done();
    coverage.done();
}

/// Nothing known, everything known, and what cannot be.
#[test]
fn edges() {
    let level = Confidence::NINETY_FIVE;
    let nothing = Tally::default();
    for interval in [wilson(nothing, level), jeffreys(nothing, level)] {
        assert_eq!((interval.low, interval.high), (0.0, 1.0));
    }
    let exact = clopper_pearson(nothing, level);
    assert_eq!((exact.low, exact.high), (0.0, 1.0));
    assert_eq!(clopper_pearson_lower(nothing, level), 0.0);
    let all = Tally::of_trials(10_000_000, 10_000_000).unwrap();
    assert_eq!(clopper_pearson(all, level).high, 1.0);
    assert_eq!(wilson(all, level).high, 1.0);
    // "Rule of three" (Hanley & Lippman-Hand 1983): without failures, 3/n at 95 %.
    let missing = 1.0 - clopper_pearson_lower(all, level);
    assert!((missing * 1e7 - 2.9957).abs() < 1e-3);
    assert!(Confidence::new(1.0).is_err());
    assert!(Confidence::new(f64::NAN).is_err());
    assert!(Tally::of_trials(3, 2).is_err());
    assert!(Tally::of(u64::MAX, 1).is_err());
    assert!(trials_to_show(1.0, 0, level).is_err());
    assert_eq!(trials_to_show(0.0, 3, level).unwrap(), 4);
    assert!(trials_for_wilson_half_width(0.5, 0.0, level).is_err());
    assert!(quantile_ranks(0, 0.5, level).is_err());
    let said = Confidence::new(2.0).unwrap_err().to_string();
    assert_eq!(said, "the confidence is 2, allowed: 0.5 to 0.999999999");
}
