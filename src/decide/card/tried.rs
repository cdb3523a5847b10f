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
    pub on_air_share: f64,
    /// Its Wilson interval, 95 %.
    pub on_air_wilson_95: [f64; 2],
    /// Its one-sided 95 % lower bound.
    pub on_air_lower_95_one_sided: f64,
    /// Mean hours by tier.
    pub tier_h: Named<f64>,
    /// Mean hours without an essential load.
    pub no_power_h: f64,
    /// Mean hours by what they are worth, over an hour in the tier of the most worth: what the card
    /// asks for once the chance are kept. Hours without power are worth nothing in any tier.
    pub valued_h: f64,
}

struct Counted {
    tally: Tally,
    /// By tier, over the greatest of them.
    worth_share: Vec<f64>,
    tier_h: Vec<TimeSum>,
    no_power_h: TimeSum,
    valued_h: TimeSum,
}

/// Hours of a trial by what they are worth: those without power are worth nothing in any tier.
fn valued_h(outcome: &Outcome, worth_share: &[f64]) -> f64 {
    let hours = outcome.tier_h.iter().zip(&outcome.no_power_tier_h);
    hours.zip(worth_share).map(|((all, without), worth)| (all - without).max(0.0) * worth).sum()
}

impl Gather for Counted {
    fn trial(&mut self, outcome: &Outcome) {
        self.tally.count(outcome.first_off_air_h.is_none());
        // No time of a trial is beyond what a sum holds.
        for (sum, hours) in self.tier_h.iter_mut().zip(&outcome.tier_h) {
            let _ = sum.add(*hours);
        }
        let _ = self.no_power_h.add(outcome.no_power_h);
        let _ = self.valued_h.add(valued_h(outcome, &self.worth_share));
    }

    fn join(&mut self, later: Self) {
        self.tally = self.tally.merged(later.tally).unwrap_or(self.tally);
        for (sum, more) in self.tier_h.iter_mut().zip(later.tier_h) {
            *sum = sum.merged(more).unwrap_or(*sum);
        }
        self.no_power_h = self.no_power_h.merged(later.no_power_h).unwrap_or(self.no_power_h);
        self.valued_h = self.valued_h.merged(later.valued_h).unwrap_or(self.valued_h);
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

/// Tries a scenario on trials; `worths` are those of an hour by tier.
///
/// # Errors
/// When it cannot be compiled, or threads cannot be started.
pub fn tried(
    name: &str,
    scenario: &Scenario,
    base_dir: &Path,
    seed: u64,
    worths: &[f64],
    (trials, threads): (std::ops::Range<u64>, usize),
) -> Result<Tried, Failure> {
    let prepared = prepared(scenario, base_dir, seed)?;
    let most = worths.iter().copied().fold(0.0, f64::max);
    let share = |worth: &f64| if most > 0.0 { worth / most } else { 0.0 };
    let empty = || Counted {
        tally: Tally::default(),
        worth_share: worths.iter().map(share).collect(),
        tier_h: vec![TimeSum::default(); scenario.tiers.len()],
        no_power_h: TimeSum::default(),
        valued_h: TimeSum::default(),
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
        on_air_share: tally.share(),
        on_air_wilson_95: [interval.low, interval.high],
        on_air_lower_95_one_sided: clopper_pearson_lower(tally, Confidence::NINETY_FIVE),
        tier_h: names.zip(counted.tier_h.iter().map(|sum| sum.mean())).collect(),
        no_power_h: counted.no_power_h.mean(),
        valued_h: counted.valued_h.mean(),
    })
}
