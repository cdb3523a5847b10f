//! Hours without storm and snow, laid out for trials side by side in one go: what [`super::DrawnSky`]
//! says of each trial, to the bit, without a list of each.

use std::ops::Range;

use super::{ClimateSky, DaySky, Kind, NIGHT, NODES, Weather, between};
use crate::numbers::lane::{Lane, Width};
use crate::plan::exposure::{Exposure, WiredArray};

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
    /// Takes the days of trials: `count` a lane from the date `first_day` on.
    #[inline(always)]
    pub fn take<'a, W: Width>(
        &mut self,
        _: W,
        first_day: usize,
        count: usize,
        days: impl Fn(usize) -> &'a [DaySky],
    ) {
        self.first_day = first_day;
        self.node.resize(count * W::LANES, 0);
        self.rest.resize(count * W::LANES, 0.0);
        self.swing_share.resize(count * W::LANES, 0.0);
        for lane in 0..W::LANES {
            for (after, day) in days(lane)[..count].iter().enumerate() {
                let at = after * W::LANES + lane;
                self.node[at] = day.node;
                self.rest[at] = day.rest;
                self.swing_share[at] = day.swing_share;
            }
        }
    }
}

/// Calm days of trials side by side, under a climate.
pub struct Calm<'a, W: Width> {
    w: W,
    weather: &'a Weather,
    sky: &'a ClimateSky,
    days: &'a CalmDays,
    array_share: W::Lane,
}

impl Weather {
    /// Whether calm hours can be laid out side by side: under a climate, without the curves of
    /// switching controllers.
    #[must_use]
    pub fn has_calm(&self, arrays: &[WiredArray]) -> bool {
        matches!(self.kind, Kind::Climate(_)) && !arrays.iter().any(WiredArray::has_shape)
    }
}

impl<'a, W: Width> Calm<'a, W> {
    /// These days of trials. `None` where calm hours are not laid out this way.
    #[inline(always)]
    pub fn new(
        w: W,
        weather: &'a Weather,
        days: &'a CalmDays,
        array_share: W::Lane,
    ) -> Option<Self> {
        let Kind::Climate(sky) = &weather.kind else { return None };
        Some(Self { w, weather, sky, days, array_share })
    }

    /// Where the day of an hour stands in the lists.
    #[inline(always)]
    fn place_of(&self, hour: usize) -> (usize, Range<usize>) {
        let day = self.weather.day_of(hour);
        let at = (day - self.days.first_day) * W::LANES;
        (day, at..at + W::LANES)
    }

    /// Power of the panels of each source: by slice, source and lane, added to what is there.
    #[inline(always)]
    pub fn power_w(
        &self,
        exposure: &Exposure,
        slices: Range<usize>,
        sources: usize,
        into: &mut [f64],
    ) {
        let count = exposure.arrays.len();
        for (place, at) in slices.enumerate() {
            let Some(hour) = exposure.slices[at].hour else { continue };
            let row = self.sky.row[hour];
            if row == NIGHT {
                continue;
            }
            let (_, lanes) = self.place_of(hour);
            let nodes = &self.days.node[lanes.clone()];
            let rest = self.w.load(&self.days.rest[lanes]);
            for (array, wired) in exposure.arrays.iter().enumerate() {
                let Some(source) = wired.source.filter(|_| exposure.out[at * count + array]) else {
                    continue;
                };
                let first = (row as usize * count + array) * NODES;
                let table = &self.sky.power_w[first..first + NODES];
                let from = self.w.by_lane(|lane| table[nodes[lane]]);
                let to = self.w.by_lane(|lane| table[nodes[lane] + 1]);
                let sum = &mut into[(place * sources + source) * W::LANES..][..W::LANES];
                (self.w.load(sum) + between((from, to), rest, self.array_share)).store(sum);
            }
        }
    }

    /// Air in each hour of a list, deg C: by hour, then lane.
    #[inline(always)]
    pub fn air_c(&self, hours: &[usize], into: &mut [f64]) {
        for (hour, into) in hours.iter().zip(into.chunks_exact_mut(W::LANES)) {
            let (day, lanes) = self.place_of(*hour);
            let swing_share = self.w.load(&self.days.swing_share[lanes]);
            self.sky.air_c(day, *hour, swing_share).store(into);
        }
    }
}
