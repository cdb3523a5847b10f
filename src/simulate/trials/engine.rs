//! Blocks of trials through the one step, side by side.
//!
//! A block is a fixed range of trial numbers, whatever the number of threads. Trials of a block
//! that go the same way (same plan, same hours) share lanes; lanes left over repeat a trial and are
//! not counted. A trial's draws hang on seed and number alone and every lane does the same IEEE
//! operations, so neither its company nor its thread changes a bit. Blocks are joined in the order
//! of trials.

use std::ops::Range;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use rayon::prelude::*;

use super::book::LightBook;
use super::drawn::Drawn;
use super::outcome::{Gather, Outcome};
use super::prepare::{Prepared, Way};
use super::terms::Terms;
use crate::error::Error;
use crate::numbers::lane::{Lane, Mask, Single, Width};
use crate::numbers::packed::Work;
#[cfg(test)]
use crate::numbers::packed::plainly as together;
#[cfg(not(test))]
use crate::numbers::packed::side_by_side as together;
use crate::plan::{MOST_SOURCES, Plan, Slice};
use crate::simulate::phase::{Book, Phase};
use crate::simulate::state::State;
use crate::simulate::step::{Inputs, run_slice};

/// Trials of a block.
pub const BLOCK: u64 = 256;
/// The same where trials go many ways: the more of them, the more go the same way.
const BLOCK_OF_WAYS: u64 = 4096;
/// Blocks of a wave, by thread: outcomes are joined after each wave.
const BLOCKS_A_THREAD: usize = 8;

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
/// When threads cannot be started.
pub fn run_trials<G: Gather>(
    prepared: &Prepared,
    trials: Range<u64>,
    threads: usize,
    empty: impl Fn() -> G + Sync,
    watch: &Watch,
) -> Result<(G, u64), Error> {
    let pool = pool_of(threads)?;
    let terms: Vec<Terms> = prepared.variants.iter().map(Terms::of).collect();
    let size = if prepared.ways() > 1 { BLOCK_OF_WAYS } else { BLOCK };
    let wave = (pool.current_num_threads() * BLOCKS_A_THREAD) as u64 * size;
    let mut gathered = empty();
    let mut begin = trials.start;
    while begin < trials.end && !watch.stop.load(Ordering::Relaxed) {
        let end = begin.saturating_add(wave).min(trials.end);
        let starts: Vec<u64> = (begin..end).step_by(size as usize).collect();
        let parts: Vec<Option<(G, u64)>> = pool.install(|| {
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
                    for outcome in &worker.outcomes[..worker.count] {
                        part.trial(outcome);
                    }
                    watch.done.fetch_add(count, Ordering::Relaxed);
                    Some((part, count))
                })
                .collect()
        });
        for part in parts {
            let Some((part, count)) = part else { return Ok((gathered, begin - trials.start)) };
            gathered.join(part);
            begin += count;
        }
    }
    Ok((gathered, begin - trials.start))
}

/// So many threads; as many as the machine runs at once for 0.
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
    Group { prepared, terms: &terms, leg, drawn: &drawn, told }.run(Single);
    let [outcome] = outcomes;
    outcome
}

/// What a thread keeps from block to block.
#[derive(Default)]
struct Worker {
    outcomes: Vec<Outcome>,
    count: usize,
    drawn: Vec<Drawn>,
    order: Vec<(Way, u64)>,
}

impl Worker {
    #[allow(clippy::cast_possible_truncation)]
    fn block(&mut self, prepared: &Prepared, terms: &[Terms], block: Range<u64>) {
        let lanes = lanes();
        self.drawn.resize_with(lanes, Drawn::default);
        self.count = (block.end - block.start) as usize;
        if self.outcomes.len() < self.count {
            self.outcomes.resize_with(self.count, Outcome::default);
        }
        self.order.clear();
        self.order.extend(block.clone().map(|trial| (prepared.way_of(trial), trial)));
        self.order.sort_unstable();
        let same_way = |one: &(Way, u64), other: &(Way, u64)| one.0 == other.0;
        for trials in self.order.chunk_by(same_way).flat_map(|same| same.chunks(lanes)) {
            let way = trials[0].0;
            for ((_, trial), drawn) in trials.iter().zip(&mut self.drawn) {
                drawn.draw(prepared, *trial, way, false);
            }
            let drawn = &self.drawn[..trials.len()];
            let told = Told::Outcomes { trials, first: block.start, outcomes: &mut self.outcomes };
            let leg = Leg::of_trial(prepared, way);
            run_group(Group { prepared, terms: &terms[way.variant], leg, drawn, told });
        }
    }
}

/// Runs trials side by side. The one place at which the lanes are compiled: it must not be inlined.
#[inline(never)]
pub(super) fn run_group(group: Group) {
    together(group);
}

/// How many trials stand side by side.
pub(super) fn lanes() -> usize {
    together(HowMany)
}

/// How many trials stand side by side. Unit tests run them one by one, so that they need not wait
/// for the lanes to be compiled; those in `tests` hold that the bits are the same.
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
    /// What they begin with, by trial; at rest if not stated.
    pub(super) start: Option<&'a [State<f64>]>,
}

impl Leg<'_> {
    /// All steps of a plain trial.
    fn of_trial(prepared: &Prepared, way: Way) -> Self {
        Self {
            variant: way.variant,
            first_step: way.first_step,
            settling_steps: prepared.settling_steps,
            span_steps: prepared.span_steps,
            after_steps: prepared.after_steps,
            start: None,
        }
    }

    fn steps(&self) -> usize {
        self.settling_steps + self.span_steps + self.after_steps
    }
}

/// What is wanted of trials side by side.
pub(super) enum Told<'a> {
    /// Everything: trials, the one whose outcome comes first, outcomes.
    Outcomes { trials: &'a [(Way, u64)], first: u64, outcomes: &'a mut [Outcome] },
    /// The states with which these steps begin, counted from the first and ascending: appended by
    /// step, then trial.
    States { at_steps: &'a [usize], states: &'a mut Vec<State<f64>> },
    /// By trial, when it was first off the air, h since the span's beginning; infinite if never. The
    /// steps end once all have been.
    OffAir(&'a mut [f64]),
}

/// Trials that go the same way, a lane each; lanes left over repeat the last of them.
pub(super) struct Group<'a> {
    pub(super) prepared: &'a Prepared,
    pub(super) terms: &'a Terms,
    pub(super) leg: Leg<'a>,
    pub(super) drawn: &'a [Drawn],
    pub(super) told: Told<'a>,
}

impl Work for Group<'_> {
    type Output = ();

    #[inline(always)]
    fn with<W: Width>(self, w: W) {
        self.run(w);
    }
}

/// Where a step lies.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stage {
    Settles,
    Counts,
    After,
}

impl Group<'_> {
    #[inline(always)]
    #[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)]
    fn run<W: Width>(mut self, w: W) {
        let (prepared, leg) = (self.prepared, self.leg);
        let plan = &prepared.variants[leg.variant];
        let first_slice = prepared.slice_at(leg.first_step);
        let only_off_air = matches!(self.told, Told::OffAir(_));
        let mut meeting = Meeting {
            drawn: self.drawn,
            sources: prepared.sun_sources(),
            next: vec![0; self.drawn.len()],
        };
        let mut state = match leg.start {
            Some(states) => State::side_by_side(w, states),
            None => {
                let mut state = State::<W::Lane>::at_start(plan, w);
                state.battery_c = w.by_lane(|lane| meeting.of(lane).first_c);
                if let Some((below_c, _)) = plan.battery.charge_inhibit_c {
                    state.too_cold = state.battery_c.lt(w.splat(below_c));
                }
                state
            }
        };
        let mut inputs = meeting.nothing(w);
        let step_h = prepared.step_h;
        let steps_a_day = 24 * prepared.steps_an_hour;
        let mut book = LightBook::new(w, self.terms, plan, leg.span_steps, only_off_air);
        for number in 0..leg.steps() {
            self.keep(&state, number);
            let stage = match number {
                _ if number < leg.settling_steps => Stage::Settles,
                _ if number < leg.settling_steps + leg.span_steps => Stage::Counts,
                _ => Stage::After,
            };
            let counts = stage == Stage::Counts;
            // Steps of the span, and those after it, that are over.
            let over = number.saturating_sub(leg.settling_steps);
            let (begin_h, end_h) = (over as f64 * step_h, (over + 1) as f64 * step_h);
            let mut now_h = w.splat(begin_h);
            let mut grid = w.all(true);
            if stage != Stage::Settles {
                if over == 0 {
                    book.begin_span(&state);
                }
                book.begin_step(begin_h);
            }
            let step = leg.first_step + number;
            for at in prepared.slice_at(step)..prepared.slice_at(step + 1) {
                let slice = &plan.slices[at];
                let local = at - first_slice;
                meeting.see(w, local, number, &mut inputs);
                let cut = meeting.is_cut(local);
                // Rules look as the slice begins, not where it is cut.
                let rest = cut.then(|| Slice { looks: false, decides: false, ..slice.clone() });
                let mut part = slice;
                let mut from_h = w.splat(0.0);
                loop {
                    if cut {
                        let to_h = meeting.next_change(w, local, slice.hours);
                        inputs.part_h = Some(to_h - from_h);
                        from_h = to_h;
                    }
                    if stage != Stage::Settles {
                        book.see_grid(inputs.grid, now_h, counts);
                    }
                    let mut kept = Kept { book: &mut book, counts };
                    run_slice(plan, part, &inputs, &mut state, &mut kept);
                    now_h = now_h + inputs.part_h.unwrap_or_else(|| w.splat(slice.hours));
                    if counts {
                        book.end_slice(plan, &inputs, &state, now_h);
                    }
                    grid = inputs.grid;
                    if !cut || !meeting.turn(w, local, &mut inputs) {
                        break;
                    }
                    part = rest.as_ref().unwrap_or(slice);
                }
            }
            if counts {
                let day_ends = (over + 1) % steps_a_day == 0 || over + 1 == leg.span_steps;
                book.end_step(plan, &state, grid, (end_h, step_h), day_ends);
            }
            if stage != Stage::Settles {
                book.see_charge(&state, end_h);
            }
            if only_off_air && counts && book.all_off_air() {
                break;
            }
        }
        match self.told {
            Told::Outcomes { trials, first, outcomes } => {
                for (lane, (_, trial)) in trials.iter().enumerate() {
                    let place = (trial - first) as usize;
                    book.tell(prepared, lane, *trial, &mut outcomes[place]);
                }
            }
            Told::States { .. } => {}
            Told::OffAir(first_off_air_h) => {
                for (lane, hours) in first_off_air_h.iter_mut().enumerate() {
                    *hours = book.first_off_air_h(lane);
                }
            }
        }
    }

    /// Keeps the states with which a step begins, if they are wanted.
    #[inline(always)]
    fn keep<F: Lane>(&mut self, state: &State<F>, number: usize) {
        if let Told::States { at_steps, states } = &mut self.told
            && at_steps.first() == Some(&number)
        {
            *at_steps = &at_steps[1..];
            for lane in 0..self.drawn.len() {
                states.push(state.in_lane(lane));
            }
        }
    }
}

/// The book while the span lasts, nothing besides.
struct Kept<'a, 'b, F: Lane> {
    book: &'a mut LightBook<'b, F>,
    counts: bool,
}

impl<F: Lane> Book<F> for Kept<'_, '_, F> {
    #[inline(always)]
    fn phase(&mut self, plan: &Plan, slice: &Slice, phase: &Phase<F>) {
        self.book.phase(plan, slice, phase);
    }

    #[inline(always)]
    fn takes(&self) -> bool {
        self.counts
    }
}

/// What trials side by side meet, slice after slice.
struct Meeting<'a> {
    drawn: &'a [Drawn],
    sources: usize,
    /// By trial: the next change of its mains.
    next: Vec<usize>,
}

impl Meeting<'_> {
    /// Nothing yet but what holds all the time.
    #[inline(always)]
    fn nothing<W: Width>(&self, w: W) -> Inputs<W::Lane> {
        let zero = w.splat(0.0);
        let mut starts = w.splat(0.0);
        for lane in 0..W::LANES {
            starts = starts.with_lane(lane, if self.of(lane).engine_starts { 1.0 } else { 0.0 });
        }
        Inputs {
            available_w: [zero; MOST_SOURCES],
            shape_a: [zero; MOST_SOURCES],
            shape_a_per_v: [zero; MOST_SOURCES],
            air_c: zero,
            grid: w.all(false),
            warned: w.all(false),
            engine_starts: w.splat(0.5).lt(starts),
            part_h: None,
        }
    }

    /// The trial in a lane; lanes left over repeat the last one.
    #[inline(always)]
    fn of(&self, lane: usize) -> &Drawn {
        &self.drawn[lane.min(self.drawn.len() - 1)]
    }

    /// What they meet in a slice, counted from their first, in a step, counted likewise.
    #[inline(always)]
    fn see<W: Width>(&self, w: W, slice: usize, step: usize, inputs: &mut Inputs<W::Lane>) {
        let zero = w.splat(0.0);
        let half = w.splat(0.5);
        let (mut air_c, mut grid, mut warned) = (zero, zero, zero);
        for lane in 0..W::LANES {
            let it = self.of(lane);
            air_c = air_c.with_lane(lane, it.air_c.get(step).copied().unwrap_or(0.0));
            grid = grid.with_lane(lane, if it.grid[slice] { 1.0 } else { 0.0 });
            warned = warned.with_lane(lane, if it.warned[slice] { 1.0 } else { 0.0 });
        }
        inputs.air_c = air_c;
        inputs.grid = half.lt(grid);
        inputs.warned = half.lt(warned);
        inputs.part_h = None;
        for source in 0..self.sources.min(MOST_SOURCES) {
            let at = slice * self.sources + source;
            let mut watts = zero;
            for lane in 0..W::LANES {
                watts = watts.with_lane(lane, self.of(lane).available_w[at]);
            }
            inputs.available_w[source] = watts;
            if !self.drawn[0].shape.is_empty() {
                let (mut shape_a, mut per_v_a) = (zero, zero);
                for lane in 0..W::LANES {
                    let shape = self.of(lane).shape[at];
                    shape_a = shape_a.with_lane(lane, shape[0]);
                    per_v_a = per_v_a.with_lane(lane, shape[1]);
                }
                inputs.shape_a[source] = shape_a;
                inputs.shape_a_per_v[source] = per_v_a;
            }
        }
    }

    /// When within a slice the mains of a trial changes next, h since it began.
    #[inline(always)]
    fn change(&self, trial: usize, slice: usize) -> Option<f64> {
        let (at, into_h) = self.drawn[trial].changes.get(self.next[trial])?;
        (*at == slice).then_some(*into_h)
    }

    fn is_cut(&self, slice: usize) -> bool {
        (0..self.drawn.len()).any(|trial| self.change(trial, slice).is_some())
    }

    /// When the part that comes next ends, by lane.
    #[inline(always)]
    fn next_change<W: Width>(&self, w: W, slice: usize, slice_h: f64) -> W::Lane {
        let last = self.drawn.len() - 1;
        w.by_lane(|lane| self.change(lane.min(last), slice).unwrap_or(slice_h))
    }

    /// A part is over: the mains that changes there is turned. Whether there is another part.
    #[inline(always)]
    fn turn<W: Width>(&mut self, w: W, slice: usize, inputs: &mut Inputs<W::Lane>) -> bool {
        let turns: Vec<bool> =
            (0..self.drawn.len()).map(|trial| self.change(trial, slice).is_some()).collect();
        for (next, turns) in self.next.iter_mut().zip(&turns) {
            *next += usize::from(*turns);
        }
        let mask = w.mask_by_lane(|lane| turns[lane.min(turns.len() - 1)]);
        inputs.grid = inputs.grid.and(mask.not()).or(inputs.grid.not().and(mask));
        turns.contains(&true)
    }
}
