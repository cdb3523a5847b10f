//! What trials side by side meet, from slice to slice: the inputs of the step, and the mains that
//! fails or comes back within a slice.

use super::drawn::Drawn;
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::MOST_SOURCES;
use crate::simulate::step::Inputs;

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
