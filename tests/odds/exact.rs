//! Chances that are known exactly, through `odds` on the scenarios of `tests/scenarios/exact`.
//!
//! Source: chains and dams of `tests/reference/risk/markov_battery_cases.json` and
//! `continuous_and_dam_cases.json`, exact rationals and closed forms (Moran 1954; two-state fluid
//! buffer), each confirmed by an independent simulation. Tolerance: 4.5 standard errors, which all of
//! some ninety comparisons together exceed by chance once in 1,600 choices of seed; the seeds were
//! chosen beforehand and stay.

use std::collections::HashMap;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
const MARKOV: &str = "markov_battery_cases.json";
const DAM: &str = "continuous_and_dam_cases.json";
/// Standard errors.
const WITHIN: f64 = 4.5;

/// Scenario, file and name of the case, Wh of a unit, seed.
const CHAINS: [(&str, &str, &str, f64, u64); 10] = [
    ("e01", MARKOV, "E01_iid_pm1", 240.0, 101),
    ("e03", MARKOV, "E03_iid_three_valued", 60.0, 103),
    ("e05", MARKOV, "E05_markov_lag1_0.0", 60.0, 105),
    ("e07", MARKOV, "E07_markov_lag1_0.6", 60.0, 107),
    ("e08", MARKOV, "E08_markov_day_then_night", 48.0, 208),
    ("e08b", MARKOV, "E08b_same_but_lumped", 48.0, 108),
    ("e09", MARKOV, BY_HAND, 48.0, 109),
    ("e11", MARKOV, "E11_storm_coupled_outage", 48.0, 211),
    ("e13", DAM, "E13_moran_geometric", 240.0, 213),
    ("e14", DAM, "E14_uniform_gain", 240.0, 214),
];
/// What is off here is off by hand: shed, not unserved.
const BY_HAND: &str = "E09_lvd_hysteresis";
const FLUIDS: usize = 6;

#[test]
fn exact_cases_with_few_trials() {
    all_cases(4_000);
}

/// `cargo test --release --test main odds:: -- --ignored --nocapture`.
#[test]
#[ignore = "a million trials of sixteen cases take minutes"]
fn exact_cases_with_a_million_trials() {
    all_cases(1_000_000);
}

fn all_cases(trials: u64) {
    let mut worst: f64 = 0.0;
    for (name, file, id, unit_wh, seed) in CHAINS {
        let deviations = chain(&case_of(file, id), &odds(name, trials, seed), unit_wh, id);
        worst = deviations.into_iter().fold(worst, |worst, it| worst.max(it.abs()));
    }
    let fluid = case_of(DAM, "E15_on_off_fluid");
    let rows = fluid["cases"].as_array().unwrap();
    assert_eq!(rows.len(), FLUIDS);
    for (at, row) in rows.iter().enumerate() {
        let found = odds(&format!("e15-{at}"), trials, 1500 + at as u64);
        // The load is 1 W for 24 h: what is unserved in Wh is a share of them.
        let exact = number(&row["fraction_of_time_load_unserved"]);
        let (ours, se) = (
            number(&found["expected_unserved_wh"]) / 24.0,
            number(&found["expected_unserved_standard_error_wh"]) / 24.0,
        );
        let deviation = told(&format!("E15 row {at} unserved"), ours, exact, se);
        let dark = number(&found["no_power_time_share"]);
        assert!((dark - ours).abs() < 1e-4, "E15 row {at}: dark {dark}, unserved {ours}");
        worst = worst.max(deviation.abs());
    }
    println!("worst deviation of {trials} trials: {worst:.2} standard errors");
}

/// Survival at every horizon of the table that the span reaches, and unserved energy at its end.
/// Gives the deviations in standard errors.
fn chain(case: &Value, found: &Value, unit_wh: f64, id: &str) -> Vec<f64> {
    let trials = number(&found["trials"]);
    let hours = number(&found["hours"]);
    let mut deviations = Vec::new();
    for row in case["finite_horizon"].as_array().unwrap() {
        let at_h = 24.0 * number(&row["steps"]);
        if at_h > hours {
            continue;
        }
        let band = found["bands"].as_array().unwrap().iter().find(|it| it["hour"] == at_h);
        let ours = number(&band.unwrap()["on_air"]) / trials;
        let exact = number(&row["prob_no_unserved"]);
        let se = (exact * (1.0 - exact) / trials).sqrt();
        deviations.push(told(&format!("{id} {at_h} h survival"), ours, exact, se));
        if at_h < hours {
            continue;
        }
        let exact = row["expected_unserved_units"].as_f64();
        if id == BY_HAND {
            let (mean, deviation) = shed_by_hand(&case["inputs"], number(&row["steps"]) as usize);
            assert!((mean - exact.unwrap()).abs() < 1e-9, "{id}: {mean} by the recursion");
            let ours = number(&found["shed_wh"]) / unit_wh;
            let what = format!("{id} {at_h} h shed");
            deviations.push(told(&what, ours, mean, deviation / trials.sqrt()));
        } else if let Some(exact) = exact {
            let ours = number(&found["expected_unserved_wh"]) / unit_wh;
            let se = number(&found["expected_unserved_standard_error_wh"]) / unit_wh;
            deviations.push(told(&format!("{id} {at_h} h unserved"), ours, exact, se));
        }
    }
    assert!(deviations.len() >= 4, "{id}: {deviations:?}");
    deviations
}

/// Mean and standard deviation of what case E09 loses, units, by its own recursion: the table has
/// the mean alone.
fn shed_by_hand(inputs: &Value, steps: usize) -> (f64, f64) {
    let of = |key: &str| number(&inputs[key]) as usize;
    let chance = |key: &str| inputs[key].as_str().unwrap().parse::<f64>().unwrap();
    let (capacity, load) = (of("capacity"), of("load"));
    let gain = [of("gain_cloudy"), of("gain_sunny")];
    let stays = [chance("p_cloudy_given_cloudy"), chance("p_sunny_given_sunny")];
    // By level, connection and yesterday: chance, and with it the first two moments of what is lost.
    let mut now = HashMap::from([((capacity, true, 1), [1.0, 0.0, 0.0])]);
    for _ in 0..steps {
        let mut next = HashMap::new();
        for ((level, connected, yesterday), [share, first, second]) in now {
            for today in [0, 1] {
                let come = if today == yesterday { stays[today] } else { 1.0 - stays[yesterday] };
                let full = capacity.min(level + gain[today]);
                let serves = connected || full >= of("reconnect_at_or_above");
                let left = if serves { full.saturating_sub(load) } else { full };
                let lost = (load - if serves { load.min(full) } else { 0 }) as f64;
                let place = (left, serves && left > of("disconnect_at_or_below"), today);
                let sums = next.entry(place).or_insert([0.0; 3]);
                sums[0] += come * share;
                sums[1] += come * (first + lost * share);
                sums[2] += come * (second + 2.0 * lost * first + lost * lost * share);
            }
        }
        now = next;
    }
    let total = |at: usize| now.values().map(|sums| sums[at]).sum::<f64>();
    (total(1), (total(2) - total(1) * total(1)).sqrt())
}

/// Insists on the tolerance and gives the deviation in standard errors.
fn told(what: &str, ours: f64, exact: f64, se: f64) -> f64 {
    let deviation = if se > 0.0 { (ours - exact) / se } else { 0.0 };
    println!("{what}: {ours:.6}, exactly {exact:.6}, {deviation:+.2} standard errors");
    assert!((ours - exact).abs() <= WITHIN * se + 1e-12, "{what}: {ours}, exactly {exact}, {se}");
    deviation
}

fn odds(name: &str, trials: u64, seed: u64) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let scenario = Path::new(ROOT).join(format!("tests/scenarios/exact/{name}.json"));
    let output = Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .current_dir(folder.path())
        .args(["odds", scenario.to_str().unwrap(), "--json", "--no-charts"])
        .args(["--trials", &trials.to_string(), "--seed", &seed.to_string()])
        .stdin(Stdio::null())
        .output()
        .unwrap();
    assert!(output.status.success(), "{name}: {}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

fn case_of(file: &str, id: &str) -> Value {
    let path = Path::new(ROOT).join("tests/reference/risk").join(file);
    let all: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    all["cases"].as_array().unwrap().iter().find(|case| case["id"] == id).unwrap().clone()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value}"))
}
