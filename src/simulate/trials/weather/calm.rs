//! Hours without storm and snow, laid out for trials side by side in one go: what [`super::DrawnSky`]
//! says of each trial, to the bit, without a list of each.

use std::ops::Range;

use super::{ClimateSky, DaySky, Kind, NIGHT, NODES, Weather, between};
use crate::numbers::lane::{Lane, Width};
use crate::plan::exposure::{Exposure, WiredArray};

/// The days of trials side by side, under a climate.
pub struct Calm<'a, W: Width> {
    w: W,
    weather: &'a Weather,
    sky: &'a ClimateSky,
    first_day: usize,
    array_share: W::Lane,
    /// By day, then lane.
    node: Vec<usize>,
    rest: Vec<f64>,
    swing_share: Vec<f64>,
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
    /// The days of trials: `count` a lane from the date `first_day` on. `None` where calm hours are not
    /// laid out this way.
    #[inline(always)]
    pub fn new(
        w: W,
        weather: &'a Weather,
        first_day: usize,
        count: usize,
        days: impl Fn(usize) -> &'a [DaySky],
        array_share: W::Lane,
    ) -> Option<Self> {
        let Kind::Climate(sky) = &weather.kind else { return None };
        let count = count * W::LANES;
        let mut calm = Self {
            w,
            weather,
            sky,
            first_day,
            array_share,
            node: vec![0; count],
            rest: vec![0.0; count],
            swing_share: vec![0.0; count],
        };
        for lane in 0..W::LANES {
            for (after, day) in days(lane).iter().enumerate() {
                let at = after * W::LANES + lane;
                calm.node[at] = day.node;
                calm.rest[at] = day.rest;
                calm.swing_share[at] = day.swing_share;
            }
        }
        Some(calm)
    }

    /// Where the day of an hour stands in the lists.
    #[inline(always)]
    fn place_of(&self, hour: usize) -> (usize, Range<usize>) {
        let day = self.weather.day_of(hour);
        let at = (day - self.first_day) * W::LANES;
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
            let nodes = &self.node[lanes.clone()];
            let rest = self.w.load(&self.rest[lanes]);
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
            let swing_share = self.w.load(&self.swing_share[lanes]);
            self.sky.air_c(day, *hour, swing_share).store(into);
        }
    }
}
