//! Many trials of a club.

use std::ops::Range;
use std::sync::atomic::Ordering;

use rayon::prelude::*;

use super::super::engine::Watch;
use super::plan::ClubPlan;
use super::trial::{Buffers, ClubOutcome, run_trial};
use crate::error::Error;
use crate::simulate::guard::{self, Impossible};

/// Trials of a wave: their outcomes are gathered, in their order, before the next begins.
const WAVE: u64 = 1024;

/// Runs trials and hands their outcomes over in order, whatever the number of threads. Gives how many
/// were done: all, or a part from the first on when stopped.
///
/// # Errors
/// When threads cannot be started, or a trial comes to something that no station can come to.
pub fn run_club(
    club: &ClubPlan,
    trials: Range<u64>,
    threads: usize,
    watch: &Watch,
    mut gather: impl FnMut(&ClubOutcome),
) -> Result<u64, Error> {
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .map_err(|problem| Error::Output(std::io::Error::other(problem.to_string())))?;
    let mut begin = trials.start;
    while begin < trials.end && !watch.stop.load(Ordering::Relaxed) {
        let end = begin.saturating_add(WAVE).min(trials.end);
        let outcomes: Vec<ClubOutcome> = pool.install(|| {
            (begin..end)
                .into_par_iter()
                .map_init(Buffers::default, |buffers, trial| {
                    let outcome = run_trial(club, trial, buffers, None);
                    watch.done.fetch_add(1, Ordering::Relaxed);
                    outcome
                })
                .collect()
        });
        for outcome in &outcomes {
            possible(club, outcome).map_err(Impossible::fault)?;
            gather(outcome);
        }
        begin = end;
    }
    Ok(begin - trials.start)
}

/// Whether a club can come to this.
#[allow(clippy::cast_precision_loss)]
fn possible(club: &ClubPlan, outcome: &ClubOutcome) -> Result<(), Impossible> {
    let (steps, step_h) = club.span();
    let span_h = steps as f64 * step_h;
    let told = |it: Impossible| it.of(&format!("trial {}", outcome.trial));
    for (station, there) in club.stations.iter().zip(&outcome.stations) {
        guard::outcome(there, span_h).map_err(|it| it.of(&station.name))?;
    }
    for swap in &outcome.swaps {
        guard::charge(swap.off.1).and_then(|()| guard::charge(swap.on.1)).map_err(told)?;
    }
    for (what, hours) in [
        ("the time that the club was down", outcome.down_h),
        ("the first moment that the club was down", outcome.first_down_h.unwrap_or(0.0)),
        ("the time of the generator", outcome.generator_h),
    ] {
        guard::hours(what, hours, span_h).map_err(told)?;
    }
    Ok(())
}
