//! How likely the station lasts 8, 24, 72 and 168 hours without mains.
//!
//! The question is the same for every scenario, so that stations can be compared: the mains fails
//! when the span begins, or, where the scenario forces its outage at a random hour of a season, at
//! such an hour, and does not come back. All else is as in the scenario: warm-up days, storms, the
//! strategy in force, engine and vehicle. The draws are those of its odds, so where the scenario asks
//! the same its figures are the same.

use std::ops::Range;
use std::path::Path;

use serde::Serialize;

use crate::chance::merge::{Tally, TimeSum};
use crate::decide::odds::result::Within;
use crate::error::Error;
use crate::plan::compile::CompileProblem;
use crate::scenario::Scenario;
use crate::scenario::schedule::{Grid, OneOutage, OutageAtRandom};
use crate::simulate::trials::{Gather, Options, Outcome, Watch, prepare, run_trials};

/// Hours that are asked for.
pub const HOURS: [u32; 4] = [8, 24, 72, 168];

/// How many trials lasted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reached {
    /// Trials that were done.
    pub trials: u64,
    /// Chance of staying on the air after each of [`HOURS`].
    pub within: Vec<Within>,
}

/// The scenario with its mains away from the beginning of the span on.
#[must_use]
pub fn without_mains(scenario: &Scenario) -> Scenario {
    let longest = HOURS[HOURS.len() - 1];
    let mut away = scenario.clone();
    away.span.hours = longest;
    let hours = f64::from(longest);
    away.grid = match &scenario.grid {
        Grid::None => Grid::None,
        Grid::OutageAtRandom(it) => Grid::OutageAtRandom(OutageAtRandom { hours, ..*it }),
        _ => Grid::Outage(OneOutage { off: scenario.span.start, hours }),
    };
    away
}

/// Runs the trials of a range. Files that the scenario names are looked for in `base_dir`; `threads`
/// 0 is all cores.
///
/// # Errors
/// When threads cannot be started. What cannot be compiled (a measured year may end too early) is the
/// inner error.
pub fn reach(
    scenario: &Scenario,
    base_dir: &Path,
    seed: u64,
    trials: Range<u64>,
    threads: usize,
    watch: &Watch,
) -> Result<Result<Reached, Vec<CompileProblem>>, Error> {
    let options = Options { seed, recharge: false, ..Options::default() };
    let prepared = match prepare(&without_mains(scenario), base_dir, Vec::new(), options) {
        Ok(prepared) => prepared,
        Err(problems) => return Ok(Err(problems)),
    };
    let (lasted, done) = run_trials(&prepared, trials, threads, Lasted::default, watch)?;
    let within = HOURS.iter().zip(lasted.0);
    let within = within.map(|(hours, tally)| Within::of(f64::from(*hours), tally));
    Ok(Ok(Reached { trials: done, within: within.collect() }))
}

/// Trials never off the air in the first hours, for each of [`HOURS`].
#[derive(Default)]
struct Lasted([Tally; HOURS.len()]);

impl Gather for Lasted {
    fn trial(&mut self, outcome: &Outcome) {
        for (tally, hours) in self.0.iter_mut().zip(HOURS) {
            // To the minute in which it begins, as `odds` counts.
            let off = outcome.first_off_air_h.and_then(|h| TimeSum::units_of(h).ok());
            tally.count(off.is_none_or(|s| s.div_euclid(60) >= i64::from(hours) * 60));
        }
    }

    fn join(&mut self, later: Self) {
        for (tally, more) in self.0.iter_mut().zip(later.0) {
            // The command line allows a billion trials, far below what a tally holds.
            *tally = tally.merged(more).unwrap_or(*tally);
        }
    }
}
