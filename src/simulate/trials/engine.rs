//! Blocks of trials through the one step, side by side.
//!
//! A block is a fixed range of trial numbers, whatever the number of threads. Trials of a block
//! that go the same way (same plan, same hours) share lanes; lanes left over repeat a trial and are
//! not counted. A trial's draws depend on seed and number alone and every lane does the same IEEE
//! operations, so neither its company nor its thread changes a bit. Blocks are joined in the order
//! of trials.

use std::ops::Range;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use rayon::prelude::*;

use super::cohort::Cohort;
use super::company::Company;
use super::drawn::Drawn;
use super::meeting::Room;
use super::outcome::{Gather, Outcome};
use super::prepare::{Prepared, Way};
use super::replay::replay;
use super::terms::Terms;
use super::walk::{Nothing, Walk};
use crate::error::Error;
use crate::numbers::lane::{Lane, Single, Width};
use crate::numbers::packed::Work;
#[cfg(test)]
use crate::numbers::packed::plainly as together;
#[cfg(not(test))]
use crate::numbers::packed::side_by_side as together;
use crate::plan::Plan;
use crate::simulate::guard::{self, Impossible};
use crate::simulate::single;
use crate::simulate::state::State;
use crate::simulate::states::{SomeStates, States};
use crate::simulate::step::is_small;

/// Trials of a block.
pub const BLOCK: u64 = 256;
/// The same where trials go many ways: the more of them, the more go the same way.
const BLOCK_OF_WAYS: u64 = 4096;
/// Blocks of a wave, by thread: outcomes are joined after each wave.
const BLOCKS_A_THREAD: usize = 8;

/// So many trials and more have their first one replayed with its ledger, whose residual is checked: a
/// replay takes as long as some tens of trials, so it adds no more than a few per cent.
const REPLAYED_FROM: u64 = 1000;

/// What was gathered of a block, and of how many trials.
type Block<G> = Result<(G, u64), Impossible>;

/// What goes on, for whoever watches.
#[derive(Debug, Default)]
pub struct Watch {
    /// Trials that are done.
    pub done: AtomicU64,
    /// Set to end early: blocks that have begun are finished.
    pub stop: AtomicBool,
}

/// Runs trials and gathers their outcomes in order. Gives what was gathered and of how many trials:
/// all, or a part from the first on when stopped.
///
/// # Errors
/// When threads cannot be started, or a trial comes to something that no station can come to.
#[allow(clippy::cast_precision_loss)]
pub fn run_trials<G: Gather>(
    prepared: &Prepared,
    trials: Range<u64>,
    threads: usize,
    empty: impl Fn() -> G + Sync,
    watch: &Watch,
) -> Result<(G, u64), Error> {
    let pool = pool_of(threads)?;
    if trials.end.saturating_sub(trials.start) >= REPLAYED_FROM {
        // The book of a trial has no residual: the ledger of the first one stands for it.
        guard::ledger(&single::run(&replay(prepared, trials.start))).map_err(Impossible::fault)?;
    }
    let terms: Vec<Terms> = prepared.variants.iter().map(Terms::of).collect();
    let size = if prepared.ways() > 1 { BLOCK_OF_WAYS } else { BLOCK };
    let wave = (pool.current_num_threads() * BLOCKS_A_THREAD) as u64 * size;
    let span_h = prepared.step_h * prepared.span_steps as f64;
    let mut gathered = empty();
    let mut begin = trials.start;
    while begin < trials.end && !watch.stop.load(Ordering::Relaxed) {
        let end = begin.saturating_add(wave).min(trials.end);
        let starts: Vec<u64> = (begin..end).step_by(size as usize).collect();
        let parts: Vec<Option<Block<G>>> = pool.install(|| {
            starts
                .par_iter()
                .map_init(Worker::default, |worker, start| {
                    if watch.stop.load(Ordering::Relaxed) {
                        return None;
                    }
                    let block = *start..(start + size).min(end);
                    let count = block.end - block.start;
                    let mut part = empty();
                    worker.block(prepared, &terms, block);
                    let outcomes = &worker.outcomes[..worker.count];
                    let all = outcomes.iter().try_for_each(|it| guard::outcome(it, span_h));
                    for outcome in outcomes {
                        part.trial(outcome);
                    }
                    watch.done.fetch_add(count, Ordering::Relaxed);
                    Some(all.map(|()| (part, count)))
                })
                .collect()
        });
        for part in parts {
            let Some(part) = part else { return Ok((gathered, begin - trials.start)) };
            let (part, count) = part.map_err(Impossible::fault)?;
            gathered.join(part);
            begin += count;
        }
    }
    Ok((gathered, begin - trials.start))
}

/// So many threads; all cores for 0.
///
/// # Errors
/// When they cannot be started.
pub(super) fn pool_of(threads: usize) -> Result<rayon::ThreadPool, Error> {
    rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .map_err(|problem| Error::Output(std::io::Error::other(problem.to_string())))
}

/// The outcome of one trial by itself: the same bits as in company.
#[must_use]
pub fn outcome_of(prepared: &Prepared, trial: u64) -> Outcome {
    let way = prepared.way_of(trial);
    let terms = Terms::of(&prepared.variants[way.variant]);
    let mut drawn = [Drawn::default()];
    drawn[0].draw(prepared, trial, way, false);
    let mut outcomes = [Outcome::default()];
    let told = Told::Outcomes { trials: &[(way, trial)], first: trial, outcomes: &mut outcomes };
    let leg = Leg::of_trial(prepared, way);
    let company = Company::all(&drawn);
    let room = &mut Room::default();
    Group { prepared, terms: &terms, leg, company, room, told }.run(Single);
    let [outcome] = outcomes;
    outcome
}

/// What a thread keeps from block to block.
#[derive(Default)]
struct Worker {
    outcomes: Vec<Outcome>,
    count: usize,
    cohort: Cohort,
    order: Vec<(Way, u64)>,
}

impl Worker {
    #[allow(clippy::cast_possible_truncation)]
    fn block(&mut self, prepared: &Prepared, terms: &[Terms], block: Range<u64>) {
        self.count = (block.end - block.start) as usize;
        if self.outcomes.len() < self.count {
            self.outcomes.resize_with(self.count, Outcome::default);
        }
        self.order.clear();
        self.order.extend(block.clone().map(|trial| (prepared.way_of(trial), trial)));
        self.order.sort_unstable();
        let same_way = |one: &(Way, u64), other: &(Way, u64)| one.0 == other.0;
        let cohorts = self.order.chunk_by(same_way).flat_map(|same| same.chunks(BLOCK as usize));
        for trials in cohorts {
            let terms = &terms[trials[0].0.variant];
            self.cohort.run(prepared, terms, trials, block.start, &mut self.outcomes);
        }
    }
}

/// Runs trials side by side. The one place at which the lanes are compiled: it must not be inlined.
#[inline(never)]
pub(super) fn run_group(group: Group) {
    together(group);
}

/// How many trials run side by side.
pub(super) fn lanes() -> usize {
    together(HowMany)
}

/// How many trials run side by side. Unit tests run them one by one, so that they need not wait
/// for the lanes to be compiled; those in `field_tests` hold that the bits are the same.
struct HowMany;

impl Work for HowMany {
    type Output = usize;

    #[inline(always)]
    fn with<W: Width>(self, _: W) -> usize {
        W::LANES
    }
}

/// A stretch of steps that trials go through side by side.
#[derive(Clone, Copy)]
pub(super) struct Leg<'a> {
    pub(super) variant: usize,
    pub(super) first_step: usize,
    /// Steps before those that count.
    pub(super) settling_steps: usize,
    /// Steps that count.
    pub(super) span_steps: usize,
    /// Steps after those.
    pub(super) after_steps: usize,
    /// The step with which the trials begin.
    pub(super) drawn_from: usize,
    /// What they begin with, by trial; at rest if not stated.
    pub(super) start: Option<SomeStates<'a>>,
}

impl Leg<'_> {
    /// All steps of a plain trial.
    pub(super) fn of_trial(prepared: &Prepared, way: Way) -> Self {
        Self {
            variant: way.variant,
            first_step: way.first_step,
            settling_steps: prepared.settling_steps,
            span_steps: prepared.span_steps,
            after_steps: prepared.after_steps,
            drawn_from: way.first_step,
            start: None,
        }
    }

    pub(super) fn steps(&self) -> usize {
        self.settling_steps + self.span_steps + self.after_steps
    }
}

/// What is wanted of trials side by side.
pub(super) enum Told<'a> {
    /// Everything: trials, the one whose outcome comes first, outcomes.
    Outcomes { trials: &'a [(Way, u64)], first: u64, outcomes: &'a mut [Outcome] },
    /// The states with which these steps begin, counted from the first and ascending: appended by
    /// step, then trial.
    States { at_steps: &'a [usize], states: &'a mut States },
    /// By trial, when it was first off the air, h since the span's beginning; infinite if never, and no
    /// number where the charge in the end is none. The steps end once all have been.
    OffAir(&'a mut [f64]),
}

/// Trials that go the same way, a lane each; lanes left over repeat the last of them.
pub(super) struct Group<'a> {
    pub(super) prepared: &'a Prepared,
    pub(super) terms: &'a Terms,
    pub(super) leg: Leg<'a>,
    pub(super) company: Company<'a>,
    pub(super) room: &'a mut Room,
    pub(super) told: Told<'a>,
}

impl Work for Group<'_> {
    type Output = ();
    const MAY_BE_SHORT: bool = true;

    fn is_short(&self) -> bool {
        is_small(&self.prepared.variants[self.leg.variant])
    }

    #[inline(always)]
    fn with<W: Width>(self, w: W) {
        self.run(w);
    }
}

impl Group<'_> {
    #[inline(always)]
    #[allow(clippy::cast_possible_truncation)]
    fn run<W: Width>(self, w: W) {
        let only_off_air = matches!(self.told, Told::OffAir(_));
        let Self { prepared, terms, leg, company, room, mut told } = self;
        let mut walk = Walk::new(w, prepared, terms, leg, company, room, only_off_air);
        for number in 0..leg.steps() {
            told.keep(walk.plan(), &walk.state, company.len(), number);
            walk.step(number, &mut Nothing);
            if only_off_air && walk.book().all_off_air() {
                break;
            }
        }
        told.keep(walk.plan(), &walk.state, company.len(), leg.steps());
        match told {
            Told::Outcomes { trials, first, outcomes } => {
                for (lane, (_, trial)) in trials.iter().enumerate() {
                    let place = (trial - first) as usize;
                    walk.book().tell(prepared, lane, *trial, &mut outcomes[place]);
                }
            }
            Told::States { .. } => {}
            Told::OffAir(first_off_air_h) => {
                let charges = walk.state.charge;
                for (lane, hours) in first_off_air_h.iter_mut().enumerate() {
                    let possible = guard::charge(charges.lane(lane)).is_ok();
                    *hours = if possible { walk.book().first_off_air_h(lane) } else { f64::NAN };
                }
            }
        }
    }
}

impl Told<'_> {
    /// Keeps the states with which a step begins, if they are wanted.
    #[inline(always)]
    fn keep<F: Lane>(&mut self, plan: &Plan, state: &State<F>, lanes: usize, number: usize) {
        if let Self::States { at_steps, states } = self
            && at_steps.first() == Some(&number)
        {
            *at_steps = &at_steps[1..];
            states.keep(plan, state, lanes);
        }
    }
}
