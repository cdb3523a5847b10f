//! Several stations in the same trials.
//!
//! Lives here: trials of one station with what only comparing asks for ([`counts`]), a month of its
//! normal operation ([`month`]), and two stations trial by trial ([`pairs`]). Draws depend on seed,
//! trial, purpose and date alone, so stations played with one seed meet the same skies and outages.
//! Does not live here: which stations to play (compare, without), wording, pictures.

pub mod counts;
pub mod month;
pub mod pairs;

use std::path::Path;
use std::sync::atomic::Ordering;

use self::counts::Counts;
use crate::error::Error;
use crate::plan::Plan;
use crate::plan::compile::CompileProblem;
use crate::scenario::Scenario;
use crate::simulate::trials::{Options, Watch, prepare, run_trials};

/// How stations are played.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Play {
    /// Random seed.
    pub seed: u64,
    /// How many trials.
    pub trials: u64,
    /// How many months of normal operation, where they are asked for.
    pub months: u64,
    /// How many threads; 0 for all cores.
    pub threads: usize,
}

impl Default for Play {
    fn default() -> Self {
        Self { seed: 1, trials: 10_000, months: month::MONTHS, threads: 0 }
    }
}

/// Why stations could not be played.
#[derive(Debug)]
pub enum Unplayed {
    /// What cannot be compiled; paths as in the scenario file.
    Wrong(Vec<CompileProblem>),
    /// Something that is no fault of the scenario.
    Failed(Error),
    /// The watch ended it.
    Stopped,
}

impl From<Error> for Unplayed {
    fn from(error: Error) -> Self {
        Self::Failed(error)
    }
}

impl From<Vec<CompileProblem>> for Unplayed {
    fn from(problems: Vec<CompileProblem>) -> Self {
        Self::Wrong(problems)
    }
}

/// A station and what its trials came to.
#[derive(Debug, Clone)]
pub struct Played {
    /// Its plan of the mean day, for names and facts.
    pub plan: Plan,
    /// Counts and sums.
    pub counts: Counts,
}

/// Plays one station.
///
/// # Errors
/// When it cannot be compiled, threads cannot be started, a trial cannot be counted, or the watch ended
/// it.
pub fn play(
    scenario: &Scenario,
    base_dir: &Path,
    play: &Play,
    watch: &Watch,
) -> Result<Played, Unplayed> {
    let options = Options { seed: play.seed, recharge: false, ..Options::default() };
    let prepared = prepare(scenario, base_dir, Vec::new(), options)?;
    let empty = Counts::empty(prepared.plan.heads.tiers.len(), prepared.step_h);
    let (counts, done) =
        run_trials(&prepared, 0..play.trials, play.threads, || empty.clone(), watch)?;
    if done < play.trials || watch.stop.load(Ordering::Relaxed) {
        return Err(Unplayed::Stopped);
    }
    match counts.left_out() {
        0 => Ok(Played { plan: prepared.plan, counts }),
        left_out => Err(Unplayed::Failed(Error::fault(format!(
            "{left_out} of {done} trials hold a value that is no number of a station."
        )))),
    }
}

/// Problems of a variant, with the path of what they are about in the file that holds it.
#[must_use]
pub fn of_variant(name: &str, problems: Vec<CompileProblem>) -> Vec<CompileProblem> {
    let told = problems.into_iter().map(|it| CompileProblem {
        path: format!("variants.{name}.{}", it.path),
        text: format!("variant `{name}`: {}", it.text),
    });
    told.collect()
}
