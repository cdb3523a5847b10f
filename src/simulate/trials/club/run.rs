//! Many trials of a club.

use std::ops::Range;
use std::sync::atomic::Ordering;

use rayon::prelude::*;

use super::super::engine::Watch;
use super::plan::ClubPlan;
use super::trial::{Buffers, ClubOutcome, run_trial};
use crate::error::Error;

/// Trials of a wave: their outcomes are gathered, in their order, before the next begins.
const WAVE: u64 = 1024;

/// Runs trials and hands their outcomes over in order, whatever the number of threads. Gives how many
/// were done: all, or a part from the first on when stopped.
///
/// # Errors
/// When threads cannot be started.
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
        outcomes.iter().for_each(&mut gather);
        begin = end;
    }
    Ok(begin - trials.start)
}
