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
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .map_err(|problem| Error::Output(std::io::Error::other(problem.to_string())))?;
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

/// The outcome of one trial by itself: the same bits as in company.
#[must_use]
pub fn outcome_of(prepared: &Prepared, trial: u64) -> Outcome {
    let way = prepared.way_of(trial);
    let terms = Terms::of(&prepared.variants[way.variant]);
    let mut drawn = [Drawn::default()];
    drawn[0].draw(prepared, trial, way, false);
    let mut outcomes = [Outcome::default()];
    let group = Group {
        prepared,
        terms: &terms,
        way,
        drawn: &drawn,
        trials: &[(way, trial)],
        first: trial,
        outcomes: &mut outcomes,
    };
    group.run(Single);
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
        let lanes = together(HowMany);
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
            together(Group {
                prepared,
                terms: &terms[way.variant],
                way,
                drawn: &self.drawn[..trials.len()],
                trials,
                first: block.start,
                outcomes: &mut self.outcomes,
            });
        }
    }
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

/// Trials that go the same way, a lane each; lanes left over repeat the last of them.
struct Group<'a> {
    prepared: &'a Prepared,
    terms: &'a Terms,
    way: Way,
    drawn: &'a [Drawn],
    trials: &'a [(Way, u64)],
    /// The trial whose outcome comes first.
    first: u64,
    outcomes: &'a mut [Outcome],
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
    fn run<W: Width>(self, w: W) {
        let prepared = self.prepared;
        let plan = &prepared.variants[self.way.variant];
        let first_slice = prepared.slice_at(self.way.first_step);
        let mut meeting = Meeting::new(self.drawn, prepared.sun_sources());
        let mut state = State::<W::Lane>::at_start(plan, w);
        state.battery_c = w.by_lane(|lane| meeting.of(lane).first_c);
        state.charge = w.by_lane(|lane| meeting.of(lane).start_share);
        state.at_hand = state.charge;
        let mut inputs = meeting.nothing(w);
        if let Some((below_c, _)) = plan.battery.charge_inhibit_c {
            state.too_cold = state.battery_c.lt(w.splat(below_c));
        }
        let step_h = prepared.step_h;
        let steps_a_day = 24 * prepared.steps_an_hour;
        let mut book = LightBook::new(w, self.terms, plan, prepared.span_steps);
        for number in 0..prepared.steps() {
            let stage = match number {
                _ if number < prepared.settling_steps => Stage::Settles,
                _ if number < prepared.settling_steps + prepared.span_steps => Stage::Counts,
                _ => Stage::After,
            };
            let counts = stage == Stage::Counts;
            // Steps of the span, and those after it, that are over.
            let over = number.saturating_sub(prepared.settling_steps);
            let (begin_h, end_h) = (over as f64 * step_h, (over + 1) as f64 * step_h);
            let mut now_h = w.splat(begin_h);
            let mut grid = w.all(true);
            if stage != Stage::Settles {
                if over == 0 {
                    book.begin_span(&state);
                }
                book.begin_step(begin_h);
            }
            let step = self.way.first_step + number;
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
                let day_ends = (over + 1) % steps_a_day == 0 || over + 1 == prepared.span_steps;
                book.end_step(plan, &state, grid, (end_h, step_h), day_ends);
            }
            if stage != Stage::Settles {
                book.see_charge(&state, end_h);
            }
        }
        for (lane, (_, trial)) in self.trials.iter().enumerate() {
            let place = (trial - self.first) as usize;
            book.tell(prepared, lane, *trial, &mut self.outcomes[place]);
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
pub(super) struct Meeting<'a> {
    drawn: &'a [Drawn],
    sources: usize,
    /// By trial: the next change of its mains.
    next: Vec<usize>,
}

impl<'a> Meeting<'a> {
    /// At the first slice of these trials.
    pub(super) fn new(drawn: &'a [Drawn], sources: usize) -> Self {
        Self { drawn, sources, next: vec![0; drawn.len()] }
    }

    /// Goes on at a slice, counted from their first.
    pub(super) fn skip_to(&mut self, slice: usize) {
        for (next, drawn) in self.next.iter_mut().zip(self.drawn) {
            *next = drawn.changes.partition_point(|change| change.0 < slice);
        }
    }

    /// Nothing yet but what holds all the time.
    #[inline(always)]
    pub(super) fn nothing<W: Width>(&self, w: W) -> Inputs<W::Lane> {
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
    pub(super) fn see<W: Width>(
        &self,
        w: W,
        slice: usize,
        step: usize,
        inputs: &mut Inputs<W::Lane>,
    ) {
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

    pub(super) fn is_cut(&self, slice: usize) -> bool {
        (0..self.drawn.len()).any(|trial| self.change(trial, slice).is_some())
    }

    /// When the part that comes next ends, by lane.
    #[inline(always)]
    pub(super) fn next_change<W: Width>(&self, w: W, slice: usize, slice_h: f64) -> W::Lane {
        let last = self.drawn.len() - 1;
        w.by_lane(|lane| self.change(lane.min(last), slice).unwrap_or(slice_h))
    }

    /// A part is over: the mains that changes there is turned. Whether there is another part.
    #[inline(always)]
    pub(super) fn turn<W: Width>(
        &mut self,
        w: W,
        slice: usize,
        inputs: &mut Inputs<W::Lane>,
    ) -> bool {
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
