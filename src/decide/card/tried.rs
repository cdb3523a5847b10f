//! A way to shed, tried on trials: how often the station stays on the air, and in which tier.

use std::path::Path;

use serde::Serialize;

use crate::chance::intervals::{Confidence, clopper_pearson_lower, wilson};
use crate::chance::merge::{Tally, TimeSum};
use crate::decide::now::Failure;
use crate::scenario::{Named, Scenario};
use crate::simulate::trials::{Gather, Options, Outcome, Prepared, Watch, prepare, run_trials};

/// What trials say of a way to shed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tried {
    /// What it is called.
    pub name: String,
    /// Trials.
    pub trials: u64,
    /// How many of them stayed on the air.
    pub stayed: u64,
    /// Share of them.
    pub readiness: f64,
    /// Its Wilson interval, 95 %.
    pub readiness_wilson_95: [f64; 2],
    /// Its one-sided 95 % lower bound.
    pub readiness_lower_95_one_sided: f64,
    /// Mean hours by tier.
    pub tier_h: Named<f64>,
    /// Mean hours without an essential load.
    pub dark_h: f64,
}

struct Counted {
    tally: Tally,
    tier_h: Vec<TimeSum>,
    dark_h: TimeSum,
}

impl Gather for Counted {
    fn trial(&mut self, outcome: &Outcome) {
        self.tally.count(outcome.first_off_air_h.is_none());
        // No time of a trial is beyond what a sum holds.
        for (sum, hours) in self.tier_h.iter_mut().zip(&outcome.tier_h) {
            let _ = sum.add(*hours);
        }
        let _ = self.dark_h.add(outcome.dark_h);
    }

    fn join(&mut self, later: Self) {
        self.tally = self.tally.merged(later.tally).unwrap_or(self.tally);
        for (sum, more) in self.tier_h.iter_mut().zip(later.tier_h) {
            *sum = sum.merged(more).unwrap_or(*sum);
        }
        self.dark_h = self.dark_h.merged(later.dark_h).unwrap_or(self.dark_h);
    }
}

/// Prepares the trials of a scenario as a card is tried.
///
/// # Errors
/// What cannot be compiled.
pub fn prepared(scenario: &Scenario, base_dir: &Path, seed: u64) -> Result<Prepared, Failure> {
    let options = Options { seed, recharge: false, uncertain: true };
    prepare(scenario, base_dir, Vec::new(), options).map_err(Failure::Compile)
}

/// Tries a scenario on trials.
///
/// # Errors
/// When it cannot be compiled, or threads cannot be started.
pub fn tried(
    name: &str,
    scenario: &Scenario,
    base_dir: &Path,
    seed: u64,
    (trials, threads): (std::ops::Range<u64>, usize),
) -> Result<Tried, Failure> {
    let prepared = prepared(scenario, base_dir, seed)?;
    let empty = || Counted {
        tally: Tally::default(),
        tier_h: vec![TimeSum::default(); scenario.tiers.len()],
        dark_h: TimeSum::default(),
    };
    let (counted, _) =
        run_trials(&prepared, trials, threads, empty, &Watch::default()).map_err(Failure::Run)?;
    let tally = counted.tally;
    let interval = wilson(tally, Confidence::NINETY_FIVE);
    let names = scenario.tiers.iter().map(|tier| tier.name.clone());
    Ok(Tried {
        name: name.to_owned(),
        trials: tally.trials(),
        stayed: tally.successes(),
        readiness: tally.share(),
        readiness_wilson_95: [interval.low, interval.high],
        readiness_lower_95_one_sided: clopper_pearson_lower(tally, Confidence::NINETY_FIVE),
        tier_h: names.zip(counted.tier_h.iter().map(|sum| sum.mean())).collect(),
        dark_h: counted.dark_h.mean(),
    })
}
