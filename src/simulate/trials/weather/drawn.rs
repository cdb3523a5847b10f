//! The sky of one trial, from the tables that all share and what its dates drew.

use std::ops::Range;

use super::{
    ClimateSky, HOURS, Kind, MeasuredSky, NIGHT, NODES, ProfileSky, Weather, between, node_at,
};
use crate::plan::Offered;
use crate::plan::exposure::{HourSky, Light, WiredArray};
use crate::sky::split::Irradiance;

/// What a date has for all its hours.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct DaySky {
    /// What the date drew: clearness, share of sun, or day of the series.
    value: f64,
    pub(super) node: usize,
    pub(super) rest: f64,
    pub(super) swing_share: f64,
}

impl DaySky {
    /// What the date drew: clearness, share of sun, or day of the series.
    #[must_use]
    pub fn value(&self) -> f64 {
        self.value
    }
}

/// Days of one trial, from a date on: a list, or every so many of a list of several trials.
#[derive(Debug, Clone, Copy)]
pub struct Days<'a> {
    days: &'a [DaySky],
    first: usize,
    apart: usize,
}

impl<'a> Days<'a> {
    /// Days one after the other, or so many places apart; `first` is the date of the first of these.
    #[must_use]
    pub fn new(days: &'a [DaySky], first: usize, apart: usize) -> Self {
        Self { days, first, apart }
    }

    /// The date of the first.
    #[must_use]
    pub fn first(&self) -> usize {
        self.first
    }

    /// A date.
    #[must_use]
    #[inline(always)]
    pub fn at(&self, day: usize) -> &'a DaySky {
        &self.days[(day - self.first) * self.apart]
    }
}

impl Weather {
    /// What a date has, from what it drew.
    #[must_use]
    #[inline(always)]
    pub fn day_sky(&self, day: usize, value: f64) -> DaySky {
        match &self.kind {
            Kind::Climate(sky) => {
                let (node, rest) = node_at(value);
                DaySky { value, node, rest, swing_share: sky.swing_share(day, value) }
            }
            Kind::Profile(_) | Kind::Measured(_) => DaySky { value, ..DaySky::default() },
        }
    }
}

/// The sky of one trial.
#[derive(Debug)]
pub struct DrawnSky<'a> {
    /// The tables.
    pub weather: &'a Weather,
    /// The arrays.
    pub arrays: &'a [WiredArray],
    /// What its dates have.
    pub days: Days<'a>,
    /// What storms multiply clearness by, by hour; nothing before and after.
    pub storm_share: &'a [f64],
    /// The hour of the first of these.
    pub first_hour: usize,
    /// Slices that begin with snow from a storm.
    pub snow_slices: &'a [usize],
    /// What the arrays give over what the model gives.
    pub array_multiplier: f64,
}

impl DrawnSky<'_> {
    #[inline(always)]
    fn day(&self, hour: usize) -> &DaySky {
        self.days.at(self.weather.day_of(hour))
    }

    #[inline(always)]
    fn value(&self, hour: usize) -> f64 {
        self.day(hour).value
    }

    #[inline(always)]
    fn dims(&self, hour: usize) -> f64 {
        let share = hour.checked_sub(self.first_hour).and_then(|at| self.storm_share.get(at));
        share.copied().unwrap_or(1.0)
    }

    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn series_hour(&self, sky: &MeasuredSky, hour: usize) -> usize {
        let at = match sky.days {
            Some(_) => {
                sky.midnight + self.value(hour) as usize * HOURS + self.weather.hour_of_day(hour)
            }
            None => sky.replay + hour,
        };
        at.min(sky.hours.len() - 1)
    }

    fn measured_light(&self, sky: &MeasuredSky, hour: usize) -> Irradiance {
        let row = &sky.hours[self.series_hour(sky, hour)];
        let dims = self.dims(hour);
        if dims < 1.0 { row.sun.split(row.light.ghi_w_m2 * dims) } else { row.light }
    }

    fn profile_light(&self, sky: &ProfileSky, hour: usize) -> Light {
        let at = self.weather.hour_of_day(hour);
        let share = self.value(hour) * self.dims(hour);
        match sky.day.rated_share(at) {
            Some(rated) => Light::RatedShare(rated * share),
            None => Light::Plane(sky.day.in_plane_w_m2(at) * share),
        }
    }

    /// Air of an hour that lies in a date, deg C.
    #[inline(always)]
    fn climate_air_c(&self, sky: &ClimateSky, day: usize, hour: usize) -> f64 {
        let (drawn, dims) = (self.days.at(day), self.dims(hour));
        let swing_share =
            if dims < 1.0 { sky.swing_share(day, drawn.value * dims) } else { drawn.swing_share };
        sky.air_c(day, hour, swing_share)
    }

    /// Air of a stretch of hours, deg C, hour after hour.
    pub fn airs_c(&self, hours: Range<usize>, into: &mut Vec<f64>) {
        into.clear();
        let Kind::Climate(sky) = &self.weather.kind else {
            into.extend(hours.map(|hour| self.air_c(hour)));
            return;
        };
        let mut from = hours.start;
        while from < hours.end {
            let day = self.weather.day_of(from);
            let to = self.weather.first_hour_of(day + 1).min(hours.end);
            into.extend((from..to).map(|hour| self.climate_air_c(sky, day, hour)));
            from = to;
        }
    }

    /// Global irradiance on the level, W/m2; a profile has none.
    #[must_use]
    pub fn ghi_w_m2(&self, hour: usize) -> Option<f64> {
        match &self.weather.kind {
            Kind::Profile(_) => None,
            Kind::Climate(sky) => {
                let day = &sky.table.days()[self.weather.day_of(hour)];
                let clearness = self.value(hour) * self.dims(hour);
                Some(clearness * day.hours[self.weather.hour_of_day(hour)].ghi_per_clearness_w_m2)
            }
            Kind::Measured(sky) => Some(self.measured_light(sky, hour).ghi_w_m2),
        }
    }
}

impl HourSky for DrawnSky<'_> {
    #[inline]
    fn gives(&mut self, hour: usize, gives: &mut [Offered]) -> bool {
        match &self.weather.kind {
            Kind::Climate(sky) => {
                let row = sky.row[hour];
                if row == NIGHT {
                    gives.fill(Offered::default());
                    return false;
                }
                let (day, dims) = (self.day(hour), self.dims(hour));
                let (node, rest) =
                    if dims < 1.0 { node_at(day.value * dims) } else { (day.node, day.rest) };
                let first = row as usize * gives.len() * NODES + node;
                for (array, gives) in gives.iter_mut().enumerate() {
                    let at = first + array * NODES;
                    let ends = (sky.power_w[at], sky.power_w[at + 1]);
                    gives.available_w = between(ends, rest, self.array_multiplier);
                    if !sky.shape.is_empty() {
                        let (from, to) = (sky.shape[at], sky.shape[at + 1]);
                        let part =
                            |at: usize| between((from[at], to[at]), rest, self.array_multiplier);
                        gives.shape_a = part(0);
                        gives.shape_a_per_v = part(1);
                    }
                }
                return true;
            }
            Kind::Profile(sky) => {
                let light = self.profile_light(sky, hour);
                for (wired, gives) in self.arrays.iter().zip(gives.iter_mut()) {
                    *gives = wired.gives(light, sky.air_c);
                }
            }
            Kind::Measured(sky) if self.dims(hour) < 1.0 => {
                let at = self.series_hour(sky, hour) * gives.len();
                let light = self.measured_light(sky, hour);
                for (array, gives) in gives.iter_mut().enumerate() {
                    let in_plane_w_m2 = sky.planes[at + array].in_plane_w_m2(&light);
                    *gives =
                        self.arrays[array].gives(Light::Plane(in_plane_w_m2), self.air_c(hour));
                }
            }
            Kind::Measured(sky) => {
                let at = self.series_hour(sky, hour) * gives.len();
                let count = gives.len();
                gives.copy_from_slice(&sky.gives[at..at + count]);
            }
        }
        for gives in gives {
            gives.available_w *= self.array_multiplier;
            gives.shape_a *= self.array_multiplier;
            gives.shape_a_per_v *= self.array_multiplier;
        }
        true
    }

    fn light_w_m2(&self, hour: usize, array: usize) -> f64 {
        match &self.weather.kind {
            Kind::Profile(sky) => self.profile_light(sky, hour).w_m2(),
            Kind::Climate(sky) => {
                let at = self.weather.hour_of_day(hour);
                let day = &sky.table.days()[self.weather.day_of(hour)];
                let light = day.hours[at].light(self.value(hour) * self.dims(hour));
                day.planes(at)[array].in_plane_w_m2(&light)
            }
            Kind::Measured(sky) => {
                let at = self.series_hour(sky, hour) * self.arrays.len() + array;
                sky.planes[at].in_plane_w_m2(&self.measured_light(sky, hour))
            }
        }
    }

    #[inline]
    fn air_c(&self, hour: usize) -> f64 {
        match &self.weather.kind {
            Kind::Profile(sky) => sky.air_c,
            Kind::Climate(sky) => self.climate_air_c(sky, self.weather.day_of(hour), hour),
            Kind::Measured(sky) => sky.hours[self.series_hour(sky, hour)].air_c,
        }
    }

    fn storm_snows(&self, at: usize) -> bool {
        self.snow_slices.contains(&at)
    }
}
