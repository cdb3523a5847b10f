//! Branches of a scenario given as JSON.

use std::path::Path;

use longwatch::scenario::Scenario;
use longwatch::simulate::trials::Watch;
use longwatch::simulate::trials::branches::{
    Branches, DayOfBranches, Year, YearOptions, run_branches,
};
use serde_json::Value;

use super::support;

/// Every branch of every trial.
#[derive(Default)]
pub struct All(pub Vec<DayOfBranches>);

impl Branches for All {
    fn day(&mut self, day: &DayOfBranches) {
        self.0.push(*day);
    }
    fn join(&mut self, others: Self) {
        self.0.extend(others.0);
    }
}

pub fn scenario(value: &Value) -> Scenario {
    serde_json::from_value(value.clone()).unwrap_or_else(|e| panic!("{e}\n{value:#}"))
}

pub fn folder() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios"))
}

/// Branches of so many trials, by trial and date.
pub fn branches(value: &Value, hours: u32, seed: u64, trials: u64) -> Vec<DayOfBranches> {
    let options = YearOptions { seed, hours, uncertain: true };
    let year = Year::new(&scenario(value), folder(), options).unwrap_or_else(|e| panic!("{e:?}"));
    let all = run_branches(&year, 0..trials, 0, All::default, &Watch::default()).unwrap();
    let mut days = all.unwrap().0;
    days.sort_by_key(|day| (day.trial, day.date));
    days
}

/// The hall under its old rule, which has no look as its span begins: a branch begins its span at
/// another hour than the plain trial that it is held against.
pub fn hall() -> Value {
    let mut hall: Value = serde_json::from_str(&support::text("scenarios/hall-72h.json")).unwrap();
    let old_rule = hall["variants"]["old rule"].clone();
    support::merge(&mut hall, &old_rule);
    hall
}
