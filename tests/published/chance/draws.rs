//! What the deviates look like in bulk, and a small battery of which everything is known.

use longwatch::chance::intervals::Paired;
use longwatch::chance::{Draw, Purpose};

use super::common::{SEED, json, list, number, sample, sample_share, sampled};

const UNIFORM: &str = "Law of the uniform deviate (mean 1/2, variance 1/12)";
const MANY: u64 = 1_000_000;

/// The n-th draw along one part of the counter.
type Along = fn(Draw, u64) -> Draw;
/// A deviate that should know nothing of the one of the draw.
type Other = fn(Draw) -> f64;

/// Moments, and each of the first bits, along every part of the counter.
#[test]
fn uniform_along_every_part_of_the_counter() {
    let mut means = sampled(UNIFORM, "mean along trial, day, block, seed");
    let mut squares = sampled(UNIFORM, "mean square along trial, day, block, seed");
    let mut cells = sampled(UNIFORM, "counts in 256 cells, normal form of chi-square");
    let mut pairs = sampled(UNIFORM, "product of neighbours along trial, day, block, seed");
    let start = Draw::new(SEED, 0, 739_000, Purpose::Check);
    let along: [(&str, Along); 4] = [
        ("trial", |draw, n| Draw { trial: n, ..draw }),
        ("day", |draw, n| Draw { day: n as u32, ..draw }),
        ("block", |draw, n| Draw { block: n as u16, trial: n >> 16, ..draw }),
        ("seed", |draw, n| Draw { seed: n, ..draw }),
    ];
    for (name, step) in along {
        let (mut sum, mut square, mut product, mut last) = (0.0, 0.0, 0.0, 0.5);
        let mut counts = [0_u32; 256];
        for n in 0..MANY {
            let [first, second] = step(start, n).pair();
            sum += first;
            square += second * second;
            product += (first - 0.5) * (last - 0.5);
            last = first;
            counts[(second * 256.0) as usize] += 1;
        }
        let many = MANY as f64;
        let chi_square: f64 = counts
            .iter()
            .map(|count| (f64::from(*count) - many / 256.0).powi(2) / (many / 256.0))
            .sum();
        sample(&mut means, name, sum / many, 0.5, (1.0 / 12.0 / many).sqrt());
        // Variance of u^2: 1/5 - 1/9. Variance of the product: 1/144.
        sample(&mut squares, name, square / many, 1.0 / 3.0, (4.0 / 45.0 / many).sqrt());
        sample(&mut pairs, name, product / many, 0.0, (1.0 / 144.0 / many).sqrt());
        // Wilson & Hilferty 1931: the cube root of chi-square over its degrees is near normal.
        let spread = 2.0 / (9.0 * 255.0);
        sample(&mut cells, name, (chi_square / 255.0).cbrt(), 1.0 - spread, f64::sqrt(spread));
    }
    means.done();
    squares.done();
    cells.done();
    pairs.done();
}

/// Draws of different purposes, branches and days of one trial know nothing of each other.
#[test]
fn purposes_do_not_know_each_other() {
    let mut check = sampled(UNIFORM, "product of two purposes, branches, deviates of a pair");
    let base = Draw::new(SEED, 0, 739_000, Purpose::Sky);
    let others: [(&str, Other); 5] = [
        ("outage start", |draw| draw.with_purpose(Purpose::OutageStart).uniform()),
        ("outage length", |draw| draw.with_purpose(Purpose::OutageLength).uniform()),
        ("branch 1", |draw| Draw { branch: 1, ..draw }.uniform()),
        ("second of the pair", |draw| draw.pair()[1]),
        ("a year later", |draw| Draw { day: draw.day + 365, ..draw }.uniform()),
    ];
    for (name, other) in others {
        let mut product = 0.0;
        for trial in 0..MANY {
            let draw = Draw { trial, ..base };
            product += (draw.uniform() - 0.5) * (other(draw) - 0.5);
        }
        let many = MANY as f64;
        sample(&mut check, name, product / many, 0.0, (1.0 / 144.0 / many).sqrt());
    }
    check.done();
}

/// A battery of whole units that gains or loses one a day (plain sampling, rare failures).
///
/// The table has five cases; those of fewer than 20 failures expected in a million trials (three: chances
/// of 8e-7 to 3.4e-6) are left out here: their counts follow no normal law, so standard errors would not
/// judge them, and a hundred million trials of each would take minutes. They are weighed below.
#[test]
fn rare_failures_of_a_small_battery() {
    const EXACT: &str = "Exact Markov chain of a battery of whole units";
    let mut check = sampled(EXACT, "chance to fail within 30 or 60 days, 1e6 trials");
    let mut left_out = 0;
    for case in list(&json("risk/rare_and_paired_exact.json")["rare_failures_iid_pm1"]) {
        let exact = number(&case["p_fail_exact"]);
        // Below 20 failures expected, the standard error says little.
        if exact * (MANY as f64) < 20.0 {
            left_out += 1;
            continue;
        }
        let capacity = number(&case["capacity"]) as i32;
        let up: f64 = case["p_up"].as_str().unwrap().parse().unwrap();
        let days = number(&case["days"]) as u32;
        let mut failures = 0;
        for trial in 0..MANY {
            let mut level = capacity;
            for day in 0..days {
                let gains = Draw::new(SEED, trial, day, Purpose::Sky).uniform() < up;
                level = (level + if gains { 1 } else { -1 }).min(capacity);
                if level < 0 {
                    failures += 1;
                    break;
                }
            }
        }
        let name = format!("capacity {capacity}, {days} days");
        sample_share(&mut check, &name, failures, MANY, exact);
    }
    assert_eq!(left_out, 3);
    check.done();
}

/// The cases left out above, and the others, with days drawn from another chance, by which failures
/// are common, and each trial weighed by how likely it is under the chance asked for (importance
/// sampling; the chance is the table's). The weights are as much a test of the draws as the counts are.
#[test]
fn rare_failures_weighed() {
    const TRIALS: u64 = 200_000;
    const EXACT: &str = "Exact Markov chain of a battery of whole units";
    let mut check = sampled(EXACT, "chance to fail within 30 or 60 days, 2e5 weighed trials");
    let mut cases = 0;
    for case in list(&json("risk/rare_and_paired_exact.json")["rare_failures_iid_pm1"]) {
        let exact = number(&case["p_fail_exact"]);
        let capacity = number(&case["capacity"]) as i32;
        let up: f64 = case["p_up"].as_str().unwrap().parse().unwrap();
        let drawn_up = number(&case["is_tilt_p_up"]);
        let days = number(&case["days"]) as u32;
        let (mut sum, mut squares) = (0.0, 0.0);
        for trial in 0..TRIALS {
            let (mut level, mut weight) = (capacity, 1.0);
            for day in 0..days {
                let gains = Draw::new(SEED, trial, day, Purpose::Sky).uniform() < drawn_up;
                weight *= if gains { up / drawn_up } else { (1.0 - up) / (1.0 - drawn_up) };
                level = (level + if gains { 1 } else { -1 }).min(capacity);
                if level < 0 {
                    sum += weight;
                    squares += weight * weight;
                    break;
                }
            }
        }
        let many = TRIALS as f64;
        let mean = sum / many;
        let standard_error = ((squares / many - mean * mean) / many).sqrt();
        assert!(standard_error < 0.2 * exact, "capacity {capacity}: {standard_error} {exact}");
        sample(
            &mut check,
            &format!("capacity {capacity}, {days} days"),
            mean,
            exact,
            standard_error,
        );
        cases += 1;
    }
    assert_eq!(cases, 5);
    check.done();
}

/// Two stations under the same days: all four cells of the table.
#[test]
fn two_stations_under_the_same_days() {
    const TRIALS: u64 = 200_000;
    let mut check = sampled(
        "Exact Markov chain of two batteries under the same days",
        "cells of the paired table, 2e5 trials",
    );
    for case in list(&json("risk/rare_and_paired_exact.json")["paired_exact"]) {
        let share = |key: &str| case[key].as_str().unwrap().parse::<f64>().unwrap();
        let (stays_sunny, stays_cloudy) =
            (share("p_sunny_given_sunny"), share("p_cloudy_given_cloudy"));
        let of = |side: &str, key: &str| number(&case[side][key]) as i32;
        let sides = ["A", "B"]
            .map(|side| ["capacity", "gain_sunny", "gain_cloudy"].map(|key| of(side, key)));
        let load = number(&case["load"]) as i32;
        let days = number(&case["days"]) as u32;
        let mut table = Paired::default();
        for trial in 0..TRIALS {
            let mut sunny = true;
            let mut levels = sides.map(|[capacity, ..]| capacity);
            let mut lasts = [true; 2];
            for day in 0..days {
                let deviate = Draw::new(SEED, trial, day, Purpose::Sky).uniform();
                sunny = deviate < if sunny { stays_sunny } else { 1.0 - stays_cloudy };
                for side in 0..2 {
                    let [capacity, gain_sunny, gain_cloudy] = sides[side];
                    let gain = if sunny { gain_sunny } else { gain_cloudy };
                    levels[side] = (levels[side] + gain - load).min(capacity);
                    lasts[side] &= levels[side] >= 0;
                    levels[side] = levels[side].max(0);
                }
            }
            table.count(lasts[0], lasts[1]);
        }
        let name = case["name"].as_str().unwrap();
        for (cell, seen) in [
            ("p_both_ok", table.both),
            ("p_only_A_ok", table.only_a),
            ("p_only_B_ok", table.only_b),
            ("p_both_fail", table.neither),
        ] {
            let exact = number(&case[cell]);
            if exact == 0.0 {
                assert_eq!(seen, 0, "{name}, {cell}");
            } else {
                sample_share(&mut check, &format!("{name}, {cell}"), seen, TRIALS, exact);
            }
        }
    }
    check.done();
}
