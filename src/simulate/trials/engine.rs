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

use super::book::{LightBook, Nothing, Terms};
use super::drawn::Drawn;
use super::outcome::{Gather, Outcome};
use super::prepare::{Prepared, Way};
use crate::error::Error;
use crate::numbers::lane::{Lane, Mask, Wide};
use crate::plan::{MOST_SOURCES, Plan, Slice};
use crate::simulate::phase::{Book, Phase};
use crate::simulate::state::State;
use crate::simulate::step::{Inputs, run_slice};

/// Trials side by side.
pub const LANES: usize = 8;
/// Trials of a block.
pub const BLOCK: u64 = 256;
/// Blocks of a wave, by thread: outcomes are joined after each wave.
const BLOCKS_A_THREAD: usize = 4;

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
    let wave = (pool.current_num_threads() * BLOCKS_A_THREAD) as u64 * BLOCK;
    let mut gathered = empty();
    let mut begin = trials.start;
    while begin < trials.end && !watch.stop.load(Ordering::Relaxed) {
        let end = begin.saturating_add(wave).min(trials.end);
        let starts: Vec<u64> = (begin..end).step_by(BLOCK as usize).collect();
        let parts: Vec<Option<(G, u64)>> = pool.install(|| {
            starts
                .par_iter()
                .map_init(Worker::default, |worker, start| {
                    if watch.stop.load(Ordering::Relaxed) {
                        return None;
                    }
                    let block = *start..(start + BLOCK).min(end);
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
    run_side_by_side::<f64>(prepared, &terms, way, &drawn, &[trial], &mut outcomes, &[0]);
    let [outcome] = outcomes;
    outcome
}

/// What a thread keeps from block to block.
#[derive(Default)]
struct Worker {
    outcomes: Vec<Outcome>,
    count: usize,
    drawn: [Drawn; LANES],
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
        for group in self.order.chunk_by(same_way).flat_map(|same| same.chunks(LANES)) {
            let way = group[0].0;
            let mut trials = [group[0].1; LANES];
            for (lane, (_, trial)) in group.iter().enumerate() {
                trials[lane] = *trial;
                self.drawn[lane].draw(prepared, *trial, way, false);
            }
            for lane in group.len()..LANES {
                let (first, rest) = self.drawn.split_at_mut(lane);
                rest[0].clone_from(&first[0]);
            }
            let places: Vec<usize> =
                group.iter().map(|(_, trial)| (trial - block.start) as usize).collect();
            run_side_by_side::<Wide<LANES>>(
                prepared,
                &terms[way.variant],
                way,
                &self.drawn,
                &trials,
                &mut self.outcomes,
                &places,
            );
        }
    }
}

/// Runs `F::LANES` trials that go the same way; `places[lane]` says where an outcome goes.
fn run_side_by_side<F: Lane>(
    prepared: &Prepared,
    terms: &Terms,
    way: Way,
    drawn: &[Drawn],
    trials: &[u64],
    outcomes: &mut [Outcome],
    places: &[usize],
) {
    let plan = &prepared.variants[way.variant];
    let sources = prepared.sun_sources();
    let first_step = way.first_step;
    let first_slice = prepared.slice_at(first_step);
    let mut state = State::<F>::at_start(plan);
    state.battery_c = F::from_lanes(|lane| drawn[lane].first_c);
    if let Some((below_c, _)) = plan.battery.charge_inhibit_c {
        state.too_cold = state.battery_c.lt(F::splat(below_c));
    }
    let span_begins = prepared.slice_at(first_step + prepared.settling_steps);
    let mut meeting = Meeting { drawn, sources, next: vec![0; F::LANES] };
    for at in first_slice..span_begins {
        let local = (at - first_slice, plan.slices[at].step - first_step);
        meeting.walk(plan, &plan.slices[at], local, &mut state, &mut Nothing, |_, _, _, _| {});
    }

    let step_h = prepared.step_h;
    let mut book = LightBook::new(terms, plan, &state, prepared.span_steps);
    let steps_a_day = 24 * prepared.steps_an_hour;
    for step in 0..prepared.span_steps + prepared.after_steps {
        let in_span = step < prepared.span_steps;
        #[allow(clippy::cast_precision_loss)]
        let (begin_h, end_h) = (step as f64 * step_h, (step + 1) as f64 * step_h);
        let number = first_step + prepared.settling_steps + step;
        let mut now_h = F::splat(begin_h);
        let mut grid = F::all(true);
        book.begin_step(begin_h);
        for at in prepared.slice_at(number)..prepared.slice_at(number + 1) {
            let slice = &plan.slices[at];
            let local = (at - first_slice, slice.step - first_step);
            let mut spanned = Spanned { book: &mut book, in_span };
            meeting.walk(
                plan,
                slice,
                local,
                &mut state,
                &mut spanned,
                |it, inputs, state, ends| {
                    grid = inputs.grid;
                    if ends {
                        now_h = now_h + inputs.part_h.unwrap_or_else(|| F::splat(slice.hours));
                        if in_span {
                            it.book.end_slice(plan, inputs, state, now_h);
                        }
                    } else {
                        it.book.see_grid(inputs.grid, now_h, in_span);
                    }
                },
            );
        }
        if in_span {
            let day_ends = (step + 1) % steps_a_day == 0 || step + 1 == prepared.span_steps;
            book.end_step(plan, &state, grid, (end_h, step_h), day_ends);
        }
        book.see_charge(&state, end_h);
    }
    for (lane, place) in places.iter().enumerate() {
        book.tell(prepared, lane, trials[lane], &mut outcomes[*place]);
    }
}

/// The book in the span, nothing after it.
struct Spanned<'a, 'b, F: Lane> {
    book: &'a mut LightBook<'b, F>,
    in_span: bool,
}

impl<F: Lane> Book<F> for Spanned<'_, '_, F> {
    #[inline(always)]
    fn phase(&mut self, plan: &Plan, slice: &Slice, phase: &Phase<F>) {
        if self.in_span {
            self.book.phase(plan, slice, phase);
        }
    }
}

/// What trials side by side meet, slice after slice.
struct Meeting<'a> {
    drawn: &'a [Drawn],
    sources: usize,
    /// By lane: the next change of its mains.
    next: Vec<usize>,
}

impl Meeting<'_> {
    /// One slice (`local`: slice and step since the first), cut where the mains fails or comes back.
    /// `see(book, inputs, state, ends)` is asked before and after each part.
    #[inline(always)]
    fn walk<F: Lane, B: Book<F>>(
        &mut self,
        plan: &Plan,
        slice: &Slice,
        local: (usize, usize),
        state: &mut State<F>,
        book: &mut B,
        mut see: impl FnMut(&mut B, &Inputs<F>, &State<F>, bool),
    ) {
        let mut inputs = inputs_at(self.drawn, self.sources, local.0, local.1);
        if (0..F::LANES).all(|lane| self.change(lane, local.0).is_none()) {
            see(book, &inputs, state, false);
            run_slice(plan, slice, &inputs, state, book);
            see(book, &inputs, state, true);
            return;
        }
        // Rules look as the slice begins, not where it is cut.
        let rest = Slice { looks: false, decides: false, ..slice.clone() };
        let mut part = slice;
        let mut from_h = F::splat(0.0);
        let mut more = true;
        while more {
            let to_h = F::from_lanes(|lane| self.change(lane, local.0).unwrap_or(slice.hours));
            inputs.part_h = Some(to_h - from_h);
            see(book, &inputs, state, false);
            run_slice(plan, part, &inputs, state, book);
            see(book, &inputs, state, true);
            more = false;
            let mut turns = vec![false; F::LANES];
            for (lane, turns) in turns.iter_mut().enumerate() {
                if self.change(lane, local.0).is_some() {
                    self.next[lane] += 1;
                    *turns = true;
                    more = true;
                }
            }
            let turns = F::splat(0.0).lt(F::from_lanes(|lane| if turns[lane] { 1.0 } else { 0.0 }));
            inputs.grid = inputs.grid.and(turns.not()).or(inputs.grid.not().and(turns));
            from_h = to_h;
            part = &rest;
        }
    }

    /// When within a slice the mains of a lane changes next, h since it began.
    #[inline(always)]
    fn change(&self, lane: usize, slice: usize) -> Option<f64> {
        let (at, into_h) = self.drawn[lane].changes.get(self.next[lane])?;
        (*at == slice).then_some(*into_h)
    }
}

/// What the trials meet in a slice, counted from their first.
#[inline(always)]
fn inputs_at<F: Lane>(drawn: &[Drawn], sources: usize, slice: usize, step: usize) -> Inputs<F> {
    let zero = F::splat(0.0);
    let flag = |of: &dyn Fn(&Drawn) -> bool| {
        zero.lt(F::from_lanes(|lane| if of(&drawn[lane]) { 1.0 } else { 0.0 }))
    };
    let mut inputs = Inputs {
        available_w: [zero; MOST_SOURCES],
        shape_a: [zero; MOST_SOURCES],
        shape_a_per_v: [zero; MOST_SOURCES],
        air_c: F::from_lanes(|lane| drawn[lane].air_c.get(step).copied().unwrap_or(0.0)),
        grid: flag(&|it| it.grid[slice]),
        warned: flag(&|it| it.warned[slice]),
        engine_starts: flag(&|it| it.engine_starts),
        part_h: None,
    };
    for source in 0..sources.min(MOST_SOURCES) {
        let at = slice * sources + source;
        inputs.available_w[source] = F::from_lanes(|lane| drawn[lane].available_w[at]);
        if !drawn[0].shape.is_empty() {
            inputs.shape_a[source] = F::from_lanes(|lane| drawn[lane].shape[at][0]);
            inputs.shape_a_per_v[source] = F::from_lanes(|lane| drawn[lane].shape[at][1]);
        }
    }
    inputs
}
