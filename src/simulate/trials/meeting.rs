//! What trials side by side meet, from slice to slice: the inputs of the step, and the mains that
//! fails or comes back within a slice.

use super::drawn::Drawn;
use super::prepare::Prepared;
use super::weather::{Calm, DaySky};
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::MOST_SOURCES;
use crate::simulate::step::Inputs;

/// What trials side by side meet, slice after slice.
pub(super) struct Meeting<'a> {
    drawn: &'a [Drawn],
    sources: usize,
    /// By trial: the next change of its mains.
    next: Vec<usize>,
    /// The first slice in which one comes.
    cut_at: usize,
    // The same numbers by lane, so that a slice is read in one go; lanes left over repeat the last
    // trial.
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
}

impl<'a> Meeting<'a> {
    /// At the first slice of these trials, 32 at the most. The weather of `calm` steps from the first
    /// is laid out here.
    #[inline(always)]
    pub(super) fn new<W: Width>(
        w: W,
        drawn: &'a [Drawn],
        prepared: &Prepared,
        (first_step, calm): (usize, usize),
    ) -> Self {
        let sources = prepared.sun_sources();
        let first = prepared.slice_at(first_step);
        let calm_slices = first..prepared.slice_at(first_step + calm);
        let mut meeting = Self {
            sources,
            next: vec![0; drawn.len()],
            cut_at: 0,
            available_w: by_lane::<W, _>(
                drawn,
                calm_slices.len() * sources,
                |it| &it.available_w,
                |value| *value,
            ),
            shape_a: by_lane::<W, _>(drawn, 0, |it| &it.shape, |value| value[0]),
            shape_a_per_v: by_lane::<W, _>(drawn, 0, |it| &it.shape, |value| value[1]),
            air_c: by_lane::<W, _>(drawn, calm, |it| &it.air_c, |value| *value),
            grid: bits::<W>(drawn, |it| &it.grid),
            warned: bits::<W>(drawn, |it| &it.warned),
            drawn,
        };
        meeting.find_cut();
        if calm > 0 {
            let days: Vec<&[DaySky]> =
                (0..W::LANES).map(|lane| meeting.of(lane).days().1).collect();
            let share = w.by_lane(|lane| meeting.of(lane).array_share);
            let first_day = meeting.of(0).days().0;
            if let Some(calm_days) = Calm::new(w, &prepared.weather, first_day, &days, share) {
                calm_days.power_w(
                    &prepared.exposure,
                    calm_slices,
                    sources,
                    &mut meeting.available_w,
                );
                let hours = &prepared.hour_of_step[first_step..first_step + calm];
                calm_days.air_c(hours, &mut meeting.air_c);
            }
        }
        meeting
    }

    /// Goes on at a slice, counted from their first.
    pub(super) fn skip_to(&mut self, slice: usize) {
        for (next, drawn) in self.next.iter_mut().zip(self.drawn) {
            *next = drawn.changes.partition_point(|change| change.0 < slice);
        }
        self.find_cut();
    }

    fn find_cut(&mut self) {
        let trials = self.next.iter().zip(self.drawn);
        let next = trials.filter_map(|(next, drawn)| drawn.changes.get(*next));
        self.cut_at = next.map(|change| change.0).min().unwrap_or(usize::MAX);
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
    pub(super) fn of(&self, lane: usize) -> &Drawn {
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
        inputs.air_c = match self.air_c.get(step * W::LANES..(step + 1) * W::LANES) {
            Some(air_c) => w.load(air_c),
            None => zero,
        };
        inputs.grid = mask_of(w, self.grid[slice]);
        inputs.warned = mask_of(w, self.warned[slice]);
        inputs.part_h = None;
        for source in 0..self.sources.min(MOST_SOURCES) {
            let at = (slice * self.sources + source) * W::LANES;
            inputs.available_w[source] = w.load(&self.available_w[at..at + W::LANES]);
            if !self.shape_a.is_empty() {
                inputs.shape_a[source] = w.load(&self.shape_a[at..at + W::LANES]);
                inputs.shape_a_per_v[source] = w.load(&self.shape_a_per_v[at..at + W::LANES]);
            }
        }
    }

    /// Hours of storms within a slice, by lane.
    #[inline(always)]
    pub(super) fn storm_h<W: Width>(&self, w: W, begins_h: f64, hours: f64) -> W::Lane {
        w.by_lane(|lane| self.of(lane).storm_h(begins_h, begins_h + hours))
    }

    /// When within a slice the mains of a trial changes next, h since it began.
    #[inline(always)]
    pub(super) fn change(&self, trial: usize, slice: usize) -> Option<f64> {
        let (at, into_h) = self.drawn[trial].changes.get(self.next[trial])?;
        (*at == slice).then_some(*into_h)
    }

    pub(super) fn is_cut(&self, slice: usize) -> bool {
        self.cut_at == slice
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
        self.find_cut();
        let mask = w.mask_by_lane(|lane| turns[lane.min(turns.len() - 1)]);
        inputs.grid = inputs.grid.and(mask.not()).or(inputs.grid.not().and(mask));
        turns.contains(&true)
    }
}

/// The trial in a lane; lanes left over repeat the last one.
fn in_lane(drawn: &[Drawn], lane: usize) -> Option<&Drawn> {
    drawn.get(lane).or(drawn.last())
}

/// Numbers of a list of each trial from a place on, all lists as long as each other, those of a place
/// side by side; 0 before.
fn by_lane<W: Width, T>(
    drawn: &[Drawn],
    from: usize,
    list: impl Fn(&Drawn) -> &[T],
    value: impl Fn(&T) -> f64,
) -> Vec<f64> {
    let lists: Vec<&[T]> =
        (0..W::LANES).filter_map(|lane| in_lane(drawn, lane)).map(list).collect();
    let mut all = vec![0.0; lists.first().map_or(0, |list| list.len()) * W::LANES];
    for (at, lanes) in all.chunks_exact_mut(W::LANES).enumerate().skip(from) {
        for (place, list) in lanes.iter_mut().zip(&lists) {
            *place = value(&list[at]);
        }
    }
    all
}

/// A yes or no of each trial as a bit, those of a place side by side.
fn bits<W: Width>(drawn: &[Drawn], flags: impl Fn(&Drawn) -> &[bool]) -> Vec<u32> {
    let mut all = vec![0; drawn.first().map_or(0, |it| flags(it).len())];
    for lane in 0..W::LANES {
        let Some(it) = in_lane(drawn, lane) else { break };
        for (place, flag) in all.iter_mut().zip(flags(it)) {
            *place |= u32::from(*flag) << lane;
        }
    }
    all
}

/// A bit a lane.
#[inline(always)]
fn mask_of<W: Width>(w: W, bits: u32) -> <W::Lane as Lane>::Mask {
    // Nearly always the same for all.
    let all = u32::MAX >> (32 - W::LANES);
    if bits == 0 || bits == all {
        return w.all(bits != 0);
    }
    w.mask_by_lane(|lane| (bits >> lane) & 1 == 1)
}
