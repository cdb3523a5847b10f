//! What trials side by side meet, from slice to slice: the inputs of the step, and the mains that
//! fails or comes back within a slice.

use std::ops::Range;

use super::company::Company;
use super::drawn::Drawn;
use super::prepare::Prepared;
use super::skies::Skies;
use super::weather::{Calm, CalmDays, CalmPlan};
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::MOST_SOURCES;
use crate::simulate::step::Inputs;

/// The storms of trials side by side: one a lane, or several in some.
#[derive(Clone, Copy)]
pub(super) struct Storms<F> {
    several: bool,
    from_h: F,
    to_h: F,
}

/// What trials side by side meet, slice after slice.
pub(super) struct Meeting<'a> {
    company: Company<'a>,
    sources: usize,
    /// Slices of the trials before the first of these.
    before: usize,
    /// The first slice in which the mains of a trial changes.
    cut_at: usize,
    room: &'a mut Room,
}

/// The lists of a meeting. The same numbers by lane, so that a slice is read in one go; lanes left
/// over repeat the last trial.
#[derive(Debug, Default)]
pub(super) struct Room {
    /// By trial: the next change of its mains.
    next: Vec<usize>,
    /// By slice and source: power of the panels, W.
    available_w: Vec<f64>,
    /// The curves of switching controllers, likewise; empty without them.
    shape_a: Vec<f64>,
    shape_a_per_v: Vec<f64>,
    /// By step, deg C; empty where nothing feels it.
    air_c: Vec<f64>,
    /// By slice: a bit a lane.
    grid: Vec<u32>,
    warned: Vec<u32>,
    days: CalmDays,
}

impl<'a> Meeting<'a> {
    /// At the first of some steps of these trials, which begin with the step `first_step`.
    #[inline(always)]
    pub(super) fn new<W: Width>(
        w: W,
        company: Company<'a>,
        prepared: &Prepared,
        first_step: usize,
        steps: Range<usize>,
        room: &'a mut Room,
    ) -> Self {
        let sources = prepared.sun_sources();
        let first_slice = prepared.slice_at(first_step);
        let slices = prepared.slice_at(steps.start)..prepared.slice_at(steps.end);
        let local = slices.start - first_slice..slices.end - first_slice;
        let shapes = !company.of(0).shape.is_empty();
        let values = slices.len() * sources * W::LANES;
        refill(&mut room.next, company.len(), 0);
        refill(&mut room.available_w, values, 0.0);
        refill(&mut room.shape_a, if shapes { values } else { 0 }, 0.0);
        refill(&mut room.shape_a_per_v, if shapes { values } else { 0 }, 0.0);
        let airs = if prepared.feels_air() { steps.len() * W::LANES } else { 0 };
        refill(&mut room.air_c, airs, 0.0);
        let there = prepared.grid[slices.clone()].iter();
        room.grid.clear();
        room.grid.extend(there.map(|there| if *there { all_lanes::<W>() } else { 0 }));
        refill(&mut room.warned, slices.len(), 0);
        let before = local.start;
        let mut meeting = Self { company, sources, before, cut_at: usize::MAX, room };
        // Weather that is laid out for all of them at once, then what each has of its own.
        if let (Some(skies), Some(plan)) = (company.skies(), &prepared.calm) {
            meeting.lay_out_calm(w, (prepared, plan), skies, steps.clone());
        }
        let mut busy = false;
        for lane in 0..W::LANES {
            if !company.is_busy(lane, &local) {
                continue;
            }
            busy = true;
            let drawn = company.of(lane);
            let (from, to) = (first_step + drawn.own.start, first_step + drawn.own.end);
            let own = from.max(steps.start)..to.min(steps.end);
            if !own.is_empty() {
                meeting.take_own::<W>(lane, drawn, prepared, (first_step, steps.start), own);
            }
            if !drawn.grid.is_empty() {
                for (place, there) in meeting.room.grid.iter_mut().zip(&drawn.grid[local.clone()]) {
                    *place = *place & !(1 << lane) | u32::from(*there) << lane;
                }
            }
            for warned in &drawn.warned {
                let (from, to) = (warned.start.max(local.start), warned.end.min(local.end));
                for slice in from..to {
                    meeting.room.warned[slice - local.start] |= 1 << lane;
                }
            }
        }
        if busy {
            meeting.skip_to(0);
        }
        meeting
    }

    /// What a trial, which begins with a step, has of its own in these steps; the meeting begins with
    /// another.
    fn take_own<W: Width>(
        &mut self,
        lane: usize,
        drawn: &Drawn,
        prepared: &Prepared,
        (first_step, begins): (usize, usize),
        steps: Range<usize>,
    ) {
        let first_own = first_step + drawn.own.start;
        let first = prepared.slice_at(first_own);
        let slices = prepared.slice_at(steps.start)..prepared.slice_at(steps.end);
        let into = (slices.start - prepared.slice_at(begins)) * self.sources;
        let own = (slices.start - first) * self.sources..(slices.end - first) * self.sources;
        spread::<W, _>(
            lane,
            &drawn.available_w[own.clone()],
            into,
            &mut self.room.available_w,
            |it| *it,
        );
        if !self.room.shape_a.is_empty() {
            let shape = &drawn.shape[own];
            spread::<W, _>(lane, shape, into, &mut self.room.shape_a, |it| it[0]);
            spread::<W, _>(lane, shape, into, &mut self.room.shape_a_per_v, |it| it[1]);
        }
        if !self.room.air_c.is_empty() {
            let air_c = &drawn.air_c[steps.start - first_own..steps.end - first_own];
            spread::<W, _>(lane, air_c, steps.start - begins, &mut self.room.air_c, |it| *it);
        }
    }

    /// Weather of steps without storm and snow in any of them.
    #[inline(always)]
    fn lay_out_calm<W: Width>(
        &mut self,
        w: W,
        (prepared, plan): (&Prepared, &CalmPlan),
        skies: &Skies,
        steps: Range<usize>,
    ) {
        let slices = prepared.slice_at(steps.start)..prepared.slice_at(steps.end);
        let weather = &prepared.weather;
        let touched = prepared.hours_of(&slices);
        let first_day = weather.day_of(touched.start);
        let count = weather.day_of(touched.end - 1) + 1 - first_day;
        let company = self.company;
        let share = w.by_lane(|lane| skies.array_multiplier(company.place(lane)));
        let room = &mut *self.room;
        room.days.take(w, first_day, count, |lane, day| skies.day(company.place(lane), day));
        if let Some(calm) = Calm::new(w, weather, plan, &room.days, share) {
            calm.power_w(slices, self.sources, &mut room.available_w);
            calm.air_c(steps, &mut room.air_c);
        }
    }

    /// Goes on at a slice, counted from their first.
    pub(super) fn skip_to(&mut self, slice: usize) {
        let from = slice + self.before;
        for (next, drawn) in self.room.next.iter_mut().zip(self.company.iter()) {
            *next = drawn.changes.partition_point(|change| change.0 < from);
        }
        self.find_cut();
    }

    fn find_cut(&mut self) {
        let trials = self.room.next.iter().zip(self.company.iter());
        let next = trials.filter_map(|(next, drawn)| drawn.changes.get(*next));
        let cut_at = next.map(|change| change.0 - self.before).min();
        self.cut_at = cut_at.unwrap_or(usize::MAX);
    }

    /// Nothing yet but what holds all the time.
    #[inline(always)]
    pub(super) fn nothing<W: Width>(&self, w: W, prepared: &Prepared) -> Inputs<W::Lane> {
        let zero = w.splat(0.0);
        // Of many trials the look-up is skipped where generators always start.
        let engine_starts = if self.company.skies().is_some() && prepared.engine_fails_chance <= 0.0
        {
            w.all(true)
        } else {
            w.mask_by_lane(|lane| self.of(lane).engine_starts)
        };
        Inputs {
            available_w: [zero; MOST_SOURCES],
            shape_a: [zero; MOST_SOURCES],
            shape_a_per_v: [zero; MOST_SOURCES],
            air_c: zero,
            grid: w.all(false),
            warned: w.all(false),
            engine_starts,
            part_h: None,
        }
    }

    /// The trial in a lane; lanes left over repeat the last one.
    #[inline(always)]
    pub(super) fn of(&self, lane: usize) -> &Drawn {
        self.company.of(lane)
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
        inputs.air_c = match self.room.air_c.get(step * W::LANES..(step + 1) * W::LANES) {
            Some(air_c) => w.load(air_c),
            None => zero,
        };
        inputs.grid = mask_of(w, self.room.grid[slice]);
        inputs.warned = mask_of(w, self.room.warned[slice]);
        inputs.part_h = None;
        for source in 0..self.sources.min(MOST_SOURCES) {
            let at = (slice * self.sources + source) * W::LANES;
            inputs.available_w[source] = w.load(&self.room.available_w[at..at + W::LANES]);
            if !self.room.shape_a.is_empty() {
                inputs.shape_a[source] = w.load(&self.room.shape_a[at..at + W::LANES]);
                inputs.shape_a_per_v[source] = w.load(&self.room.shape_a_per_v[at..at + W::LANES]);
            }
        }
    }

    /// The storms, for [`Self::storm_h`].
    #[inline(always)]
    pub(super) fn storms<W: Width>(&self, w: W) -> Storms<W::Lane> {
        let mut several = false;
        let (mut from_h, mut to_h) = (w.splat(0.0), w.splat(0.0));
        for lane in 0..W::LANES {
            match self.of(lane).one_storm() {
                Some((from, to)) => {
                    from_h = from_h.with_lane(lane, from);
                    to_h = to_h.with_lane(lane, to);
                }
                None => several = true,
            }
        }
        Storms { several, from_h, to_h }
    }

    /// Hours of storms within a slice, by lane.
    #[inline(always)]
    pub(super) fn storm_h<W: Width>(
        &self,
        w: W,
        storms: &Storms<W::Lane>,
        begins_h: f64,
        hours: f64,
    ) -> W::Lane {
        let ends_h = begins_h + hours;
        if storms.several {
            return w.by_lane(|lane| self.of(lane).storm_h(begins_h, ends_h));
        }
        let from_h = storms.from_h.most(w.splat(begins_h));
        let to_h = storms.to_h.least(w.splat(ends_h));
        W::Lane::select(from_h.lt(to_h), to_h - from_h, w.splat(0.0))
    }

    /// When within a slice the mains of a trial changes next, h since it began.
    #[inline(always)]
    pub(super) fn change(&self, trial: usize, slice: usize) -> Option<f64> {
        let (at, into_h) = self.company.of(trial).changes.get(self.room.next[trial])?;
        (*at == slice + self.before).then_some(*into_h)
    }

    pub(super) fn is_cut(&self, slice: usize) -> bool {
        self.cut_at == slice
    }

    /// When the part that comes next ends, by lane.
    #[inline(always)]
    pub(super) fn next_change<W: Width>(&self, w: W, slice: usize, slice_h: f64) -> W::Lane {
        let last = self.company.len() - 1;
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
            (0..self.company.len()).map(|trial| self.change(trial, slice).is_some()).collect();
        for (next, turns) in self.room.next.iter_mut().zip(&turns) {
            *next += usize::from(*turns);
        }
        self.find_cut();
        let mask = w.mask_by_lane(|lane| turns[lane.min(turns.len() - 1)]);
        inputs.grid = inputs.grid.and(mask.not()).or(inputs.grid.not().and(mask));
        turns.contains(&true)
    }
}

/// Puts the numbers of a trial into its lane, from a place on.
fn spread<W: Width, T>(
    lane: usize,
    list: &[T],
    from: usize,
    into: &mut [f64],
    value: impl Fn(&T) -> f64,
) {
    for (lanes, it) in into[from * W::LANES..].chunks_exact_mut(W::LANES).zip(list) {
        lanes[lane] = value(it);
    }
}

/// As many of one value in a list as there are to be.
fn refill<T: Copy>(list: &mut Vec<T>, count: usize, value: T) {
    list.clear();
    list.resize(count, value);
}

/// A bit for each lane.
fn all_lanes<W: Width>() -> u32 {
    u32::MAX >> (32 - W::LANES)
}

/// A bit a lane.
#[inline(always)]
fn mask_of<W: Width>(w: W, bits: u32) -> <W::Lane as Lane>::Mask {
    // Nearly always the same for all.
    let all = all_lanes::<W>();
    if bits == 0 || bits == all {
        return w.all(bits != 0);
    }
    w.mask_by_lane(|lane| (bits >> lane) & 1 == 1)
}
