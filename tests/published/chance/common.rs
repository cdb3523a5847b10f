//! What several checks need.

use longwatch::chance::intervals::Confidence;
use serde_json::Value;

use crate::support::figures::{Check, reference};

/// Fixed before the first run, never chosen by its results.
pub const SEED: u64 = 20_260_601;

/// A check of this room.
pub fn check(source: &str, quantity: &str, unit: &'static str, tolerance: f64) -> Check {
    Check::new("chance", source, quantity, unit, tolerance)
}

/// A check by sampling: cases are differences in standard errors.
pub fn sampled(source: &str, quantity: &str) -> Check {
    check(source, quantity, "standard errors", 4.5)
}

/// One case of a check by sampling.
pub fn sample(check: &mut Check, name: &str, seen: f64, expected: f64, standard_error: f64) {
    let apart = (seen - expected) / standard_error;
    check.case(&format!("{name}: {seen:.6} for {expected:.6}, in SE"), apart, 0.0);
}

/// A share seen in so many trials against an exact one.
pub fn sample_share(check: &mut Check, name: &str, successes: u64, trials: u64, exact: f64) {
    let trials = trials as f64;
    let standard_error = (exact * (1.0 - exact) / trials).sqrt();
    sample(check, name, successes as f64 / trials, exact, standard_error);
}

/// An entry of `mc_statistics.json`.
pub fn statistics(entry: &str) -> Vec<Value> {
    list(&json("risk/mc_statistics.json")[entry])
}

pub fn json(file: &str) -> Value {
    serde_json::from_str(&reference(file)).unwrap_or_else(|error| panic!("{file}: {error}"))
}

pub fn list(value: &Value) -> Vec<Value> {
    value.as_array().unwrap_or_else(|| panic!("no list: {value}")).clone()
}

pub fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

pub fn count(value: &Value) -> u64 {
    value.as_u64().unwrap_or_else(|| panic!("no count: {value}"))
}

pub fn confidence(share: f64) -> Confidence {
    Confidence::new(share).unwrap()
}
