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

/// Mean and standard error.
#[derive(Debug, Default, Clone, PartialEq)]
pub struct Moments {
    n: f64,
    sum: f64,
    squares: f64,
}

impl Moments {
    fn add(&mut self, value: f64) {
        self.n += 1.0;
        self.sum += value;
        self.squares += value * value;
    }
    fn join(&mut self, other: &Self) {
        self.n += other.n;
        self.sum += other.sum;
        self.squares += other.squares;
    }
    pub fn mean(&self) -> f64 {
        self.sum / self.n
    }
    pub fn se(&self) -> f64 {
        ((self.squares / self.n - self.mean().powi(2)) / self.n).sqrt()
    }
}

/// How long trials stay on the air, and what they miss.
#[derive(Debug, Default, Clone, PartialEq)]
pub struct Survival {
    pub trials: u64,
    pub first_off_air_h: Vec<f64>,
    pub loss_days: Moments,
    pub unserved_wh: Moments,
    pub no_power_h: Moments,
}

impl Survival {
    /// Trials on the air for so many hours; a moment before the end of a day belongs to the day
    /// after it.
    pub fn on_the_air_for(&self, hours: f64) -> u64 {
        let failed = self.first_off_air_h.iter().filter(|first| **first < hours - 1e-6).count();
        self.trials - failed as u64
    }
    pub fn surviving(&self, days: u64) -> u64 {
        self.on_the_air_for(24.0 * days as f64)
    }
}

impl Gather for Survival {
    fn trial(&mut self, outcome: &Outcome) {
        self.trials += 1;
        self.first_off_air_h.extend(outcome.first_off_air_h);
        self.loss_days.add(f64::from(outcome.days_with_loss));
        self.unserved_wh.add(outcome.unserved_wh);
        self.no_power_h.add(outcome.no_power_h);
    }
    fn join(&mut self, later: Self) {
        self.trials += later.trials;
        self.first_off_air_h.extend(later.first_off_air_h);
        self.loss_days.join(&later.loss_days);
        self.unserved_wh.join(&later.unserved_wh);
        self.no_power_h.join(&later.no_power_h);
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

pub fn survival(prepared: &Prepared, trials: u64) -> Survival {
    run_trials(prepared, 0..trials, 0, Survival::default, &Watch::default()).unwrap().0
}

/// A shipped scenario.
pub fn shipped(name: &str) -> Value {
    let path = format!("{}/scenarios/{name}.json", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}
