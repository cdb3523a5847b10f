//! Hours without storm and snow, laid out for trials side by side in one go: what [`super::DrawnSky`]
//! says of each trial, to the bit, without a list of each.

use std::ops::Range;

use super::{ClimateSky, DaySky, Kind, NIGHT, NODES, Weather, between};
use crate::numbers::lane::{Lane, Width};
use crate::plan::exposure::{Exposure, SliceSky, WiredArray};

/// What the days of trials side by side have.
#[derive(Debug, Default)]
pub struct CalmDays {
    first_day: usize,
    // By day, then lane.
    node: Vec<usize>,
    rest: Vec<f64>,
    swing_share: Vec<f64>,
}

impl CalmDays {
    /// Takes the days of trials side by side: `count` from the date `first_day` on, each by lane.
    #[inline(always)]
    pub fn take<'a, W: Width>(
        &mut self,
        _: W,
        first_day: usize,
        count: usize,
        day: impl Fn(usize, usize) -> &'a DaySky,
    ) {
        self.first_day = first_day;
        self.node.resize(count * W::LANES, 0);
        self.rest.resize(count * W::LANES, 0.0);
        self.swing_share.resize(count * W::LANES, 0.0);
        for after in 0..count {
            for lane in 0..W::LANES {
                let at = after * W::LANES + lane;
                let day = day(lane, first_day + after);
                self.node[at] = day.node;
                self.rest[at] = day.rest;
                self.swing_share[at] = day.swing_share;
            }
        }
    }
}

/// Where in the tables calm hours stand: looked up once for all trials.
#[derive(Debug, Clone, Default)]
pub struct CalmPlan {
    /// What gives, in the order of slices.
    lit: Vec<Lit>,
    /// By slice, and one more: the first of those in it.
    first_lit: Vec<usize>,
    /// By step.
    airs: Vec<CalmAir>,
}

/// An array that gives to a source in a slice.
#[derive(Debug, Clone, Copy)]
struct Lit {
    slice: usize,
    source: usize,
    day: usize,
    /// Its first place in the table of power.
    table: usize,
}

/// Where the air of a step stands: under its date and its hour.
#[derive(Debug, Clone, Copy)]
struct CalmAir {
    day: usize,
    hour: usize,
}

/// Calm days of trials side by side, under a climate.
pub struct Calm<'a, W: Width> {
    w: W,
    plan: &'a CalmPlan,
    sky: &'a ClimateSky,
    days: &'a CalmDays,
    array_multiplier: W::Lane,
}

impl Weather {
    /// Where calm hours stand in the tables. `None` where they are not laid out side by side: they
    /// are under a climate, without the curves of switching controllers and without snow that is
    /// known beforehand.
    #[must_use]
    pub fn calm_plan(&self, exposure: &Exposure, hour_of_step: &[usize]) -> Option<CalmPlan> {
        let Kind::Climate(sky) = &self.kind else { return None };
        let stands = |slice: &SliceSky| slice.hour.is_some() && !slice.snows;
        if exposure.arrays.iter().any(WiredArray::has_shape) || !exposure.slices.iter().all(stands)
        {
            return None;
        }
        let count = exposure.arrays.len();
        let mut plan = CalmPlan::default();
        for (slice, of_slice) in exposure.slices.iter().enumerate() {
            plan.first_lit.push(plan.lit.len());
            let Some(hour) = of_slice.hour.filter(|hour| sky.row[*hour] != NIGHT) else { continue };
            let out = &exposure.out[slice * count..(slice + 1) * count];
            for (array, (wired, out)) in exposure.arrays.iter().zip(out).enumerate() {
                if let Some(source) = wired.source.filter(|_| *out) {
                    let table = (sky.row[hour] as usize * count + array) * NODES;
                    plan.lit.push(Lit { slice, source, day: self.day_of(hour), table });
                }
            }
        }
        plan.first_lit.push(plan.lit.len());
        let air = |hour: &usize| CalmAir { day: self.day_of(*hour), hour: *hour };
        plan.airs = hour_of_step.iter().map(air).collect();
        Some(plan)
    }
}

impl<'a, W: Width> Calm<'a, W> {
    /// These days of trials. `None` where calm hours are not laid out this way.
    #[inline(always)]
    pub fn new(
        w: W,
        weather: &'a Weather,
        plan: &'a CalmPlan,
        days: &'a CalmDays,
        array_multiplier: W::Lane,
    ) -> Option<Self> {
        let Kind::Climate(sky) = &weather.kind else { return None };
        Some(Self { w, plan, sky, days, array_multiplier })
    }

    /// Where a day stands in the lists.
    #[inline(always)]
    fn place_of(&self, day: usize) -> Range<usize> {
        let at = (day - self.days.first_day) * W::LANES;
        at..at + W::LANES
    }

    /// Power of the panels of each source: by slice, source and lane, added to what is there.
    #[inline(always)]
    pub fn power_w(&self, slices: Range<usize>, sources: usize, into: &mut [f64]) {
        let lit = self.plan.first_lit[slices.start]..self.plan.first_lit[slices.end];
        for Lit { slice, source, day, table } in &self.plan.lit[lit] {
            let lanes = self.place_of(*day);
            let nodes = &self.days.node[lanes.clone()];
            let rest = self.w.load(&self.days.rest[lanes]);
            let table = &self.sky.power_w[*table..table + NODES];
            let from = self.w.by_lane(|lane| table[nodes[lane]]);
            let to = self.w.by_lane(|lane| table[nodes[lane] + 1]);
            let sum = &mut into[((slice - slices.start) * sources + source) * W::LANES..];
            let sum = &mut sum[..W::LANES];
            (self.w.load(sum) + between((from, to), rest, self.array_multiplier)).store(sum);
        }
    }

    /// Air in each of some steps, deg C: by step, then lane.
    #[inline(always)]
    pub fn air_c(&self, steps: Range<usize>, into: &mut [f64]) {
        for (air, into) in self.plan.airs[steps].iter().zip(into.chunks_exact_mut(W::LANES)) {
            let swing_share = self.w.load(&self.days.swing_share[self.place_of(air.day)]);
            self.sky.air_c(air.day, air.hour, swing_share).store(into);
        }
    }
}
