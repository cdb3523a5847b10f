//! Trials of a scenario given as JSON, gathered in a few sums.

use std::path::Path;

use longwatch::scenario::Scenario;
use longwatch::simulate::trials::{Gather, Options, Outcome, Prepared, Watch, prepare, run_trials};
use serde_json::Value;

/// Everything of every trial, in order.
#[derive(Default)]
pub struct All(pub Vec<Outcome>);

impl Gather for All {
    fn trial(&mut self, outcome: &Outcome) {
        self.0.push(outcome.clone());
    }
    fn join(&mut self, later: Self) {
        self.0.extend(later.0);
    }
}

/// A few sums.
#[derive(Debug, Default, Clone, PartialEq)]
pub struct Sums {
    pub trials: u64,
    pub failed: u64,
    pub loss_days: u64,
    /// Squares, for the spread.
    pub loss_days2: u64,
    pub unserved_uwh: u128,
    pub unserved2: f64,
    pub dark_s: u64,
    pub dark2: f64,
}

impl Gather for Sums {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn trial(&mut self, outcome: &Outcome) {
        self.trials += 1;
        self.failed += u64::from(outcome.first_dark_h.is_some());
        self.loss_days += u64::from(outcome.days_with_loss);
        self.loss_days2 += u64::from(outcome.days_with_loss).pow(2);
        self.unserved_uwh += (outcome.unserved_wh * 1e6).round() as u128;
        self.unserved2 += outcome.unserved_wh * outcome.unserved_wh;
        self.dark_s += (outcome.dark_h * 3600.0).round() as u64;
        self.dark2 += outcome.dark_h * outcome.dark_h;
    }
    fn join(&mut self, later: Self) {
        self.trials += later.trials;
        self.failed += later.failed;
        self.loss_days += later.loss_days;
        self.loss_days2 += later.loss_days2;
        self.unserved_uwh += later.unserved_uwh;
        self.unserved2 += later.unserved2;
        self.dark_s += later.dark_s;
        self.dark2 += later.dark2;
    }
}

pub fn scenario(value: &Value) -> Scenario {
    serde_json::from_value(value.clone()).unwrap_or_else(|e| panic!("{e}\n{value:#}"))
}

pub fn prepared(value: &Value, seed: u64) -> Prepared {
    let folder = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios"));
    let options = Options { seed, ..Options::default() };
    prepare(&scenario(value), folder, Vec::new(), options).unwrap_or_else(|e| panic!("{e:?}"))
}

pub fn all(prepared: &Prepared, trials: std::ops::Range<u64>, threads: usize) -> Vec<Outcome> {
    run_trials(prepared, trials, threads, All::default, &Watch::default()).unwrap().0.0
}

pub fn sums(prepared: &Prepared, trials: u64) -> Sums {
    run_trials(prepared, 0..trials, 0, Sums::default, &Watch::default()).unwrap().0
}

/// A shipped scenario.
pub fn shipped(name: &str) -> Value {
    let path = format!("{}/scenarios/{name}.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}
