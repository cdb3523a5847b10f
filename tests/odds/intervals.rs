//! Intervals of `odds.json` against the published and computed ones.

use longwatch::decide::odds::{Answers, Odds, Shape, Subject};
use longwatch::simulate::trials::{Gather as _, Outcome};
use serde_json::Value;

use super::figures::rows;
use super::invented::Station;

/// `odds.json` of so many trials of which so many stay on the air.
fn json(successes: u64, trials: u64) -> Value {
    let station = Station { hours: 1, tiers: vec!["all"], ..Station::january() };
    let shape = Shape { steps: 1, step_h: 1.0, tiers: 1 };
    let subject = Subject { shape, ..station.subject(trials) };
    let kept = station.trial(0);
    let lost = Outcome { first_off_air_h: Some(0.5), no_power_h: 0.5, ..kept.clone() };
    let mut answers = Answers::empty(shape).unwrap();
    for trial in 0..trials {
        let stays = trial < successes;
        answers.trial(&Outcome { trial, ..if stays { kept.clone() } else { lost.clone() } });
    }
    serde_json::to_value(Odds::of(&subject, &answers, None)).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// scipy 1.17.1 and statsmodels 0.15.0, agreeing to 1e-12, with Newcombe 1998, table I. The table
/// holds twelve digits.
#[test]
fn wilson_in_the_file_is_that_of_the_table() {
    let mut seen = 0;
    for row in rows("risk/binomial_intervals.csv") {
        let trials = row.number("trials");
        if row.number("conf_level") != 0.95 || trials > 20_000.0 {
            continue;
        }
        let odds = json(row.number("successes") as u64, trials as u64);
        let ends = &odds["on_air_wilson_95"];
        for (end, column) in [(0, "wilson_lo"), (1, "wilson_hi")] {
            let apart = (number(&ends[end]) - row.number(column)).abs();
            assert!(apart <= 1e-12, "{}: {apart}", odds["sentence"]);
        }
        seen += 1;
    }
    assert!(seen > 15, "only {seen} rows");
}

/// Clopper & Pearson 1934 by summing the binomial tail to 60 digits (mpmath 1.4.1). Relative, since
/// some bounds are small; as close as the inverse itself is held to.
#[test]
fn the_bound_for_decisions_is_that_of_the_table() {
    let mut seen = 0;
    for row in rows("risk/clopper_pearson_lower.csv") {
        let trials = row.number("trials");
        if row.number("alpha") != 0.05 || trials > 20_000.0 {
            continue;
        }
        let odds = json(row.number("successes") as u64, trials as u64);
        let (ours, theirs) = (number(&odds["on_air_lower_95_one_sided"]), row.number("lower"));
        assert!((ours - theirs).abs() <= 1e-12 * theirs, "{ours} against {theirs}");
        seen += 1;
    }
    assert!(seen > 10, "only {seen} rows");
}

/// One of the success runs of the same reference: 59 trials without a failure just show 0.95 at 95 %.
#[test]
fn fifty_nine_trials_without_a_failure_show_ninety_five_percent() {
    assert!(number(&json(59, 59)["on_air_lower_95_one_sided"]) >= 0.95);
    assert!(number(&json(58, 58)["on_air_lower_95_one_sided"]) < 0.95);
}
