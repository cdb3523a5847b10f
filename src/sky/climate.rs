//! Sunlight and air of a date from monthly means.
//!
//! Model: a month's clearness is its mean daily global energy over that outside the air, summed
//! day by day over the month of that very year, so that a month of mean days gives back its mean.
//! A date's global energy is the day's clearness times its own extraterrestrial energy, spread
//! over the hours as in [`super::daily`] and split hour by hour as in [`super::split`].
//!
//! The mean day is the mean of many days: sixteen equally likely values of clearness from
//! [`super::clearness`], with the month's mean, each through the same function as a random day.
//! One day of that mean clearness would not do: it would be overcast in a dull month, and light
//! on a steep array in a winter of 55 N came out at half of what a typical year has, against
//! 0.77 to 1.00 this way (checked with two typical years).
//!
//! Days with less than 0.05 kWh/m2 outside the air count as sunless. Air: mean and swing of the
//! month, shape of [`super::daily`]; the step from month to month is left in.
//! Weather days run from midnight to midnight of standard time. Twilight is left out. Trust: the
//! sums are exact, the shape of a day is that of a mean day.

use chrono::{Datelike, FixedOffset, NaiveDate};
use rayon::prelude::*;

use crate::chance::transforms::normal_deviate;
use crate::scenario::sun::Climate;

use super::clearness::{Clearness, Floor};
use super::daily::{HOURS, air_shape, sunlight_share, sunset_hour_angle_rad};
use super::hour::{SunHour, extraterrestrial_w_m2, positions};
use super::outlook::Told;
use super::position::PositionError;
use super::problem::{SkyProblem, SkyProblemKind};
use super::split::Irradiance;
use super::tilt::PlaneHour;
use super::track::{SunTrack, SunVector};
use super::view::{View, hour_start, month0};

/// A day with less extraterrestrial energy than this counts as sunless, kWh/m2.
pub const SUNLESS_KWH_M2: f64 = 0.05;
/// No place has a month that is clearer than this (judgement; the clearest deserts reach 0.8).
pub const CLEAREST_MONTH: f64 = 0.85;

/// Equally likely values of clearness that make a mean day.
pub const STATES: usize = 16;

/// Equally likely values of daily clearness whose mean is `mean_clearness`.
#[must_use]
pub fn mean_day_states(mean_clearness: f64) -> [f64; STATES] {
    let law = Clearness::new(mean_clearness, Floor::On);
    let states: [f64; STATES] =
        std::array::from_fn(|state| law.quantile((state as f64 + 0.5) / STATES as f64));
    let mean = states.iter().sum::<f64>() / STATES as f64;
    if mean > 0.0 { states.map(|state| state * mean_clearness / mean) } else { states }
}

/// One hour of one date, for any clearness of its day.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct HourShape {
    /// The sun of the hour.
    pub sun: SunHour,
    /// Global irradiance on the level for a day of clearness 1, W/m2.
    pub ghi_per_clearness_w_m2: f64,
    /// Air temperature, deg C.
    pub air_c: f64,
}

impl HourShape {
    /// Irradiance of the hour in a day of the given clearness.
    #[must_use]
    pub fn light(&self, clearness: f64) -> Irradiance {
        self.sun.split(clearness * self.ghi_per_clearness_w_m2)
    }
}

/// One date of a climate: everything but the day's clearness.
#[derive(Debug, Clone, PartialEq)]
pub struct ClimateDay {
    /// The date of standard time.
    pub date: NaiveDate,
    /// Energy on the level outside the air, kWh/m2.
    pub extraterrestrial_kwh_m2: f64,
    /// Mean clearness of the month; 0 on a sunless date.
    pub mean_clearness: f64,
    /// What the mean day of the month is the mean of.
    pub states: [f64; STATES],
    /// What was told of it.
    pub told: Option<Told>,
    /// The hours from midnight.
    pub hours: [HourShape; HOURS],
    /// By hour, then by array.
    planes: Vec<PlaneHour>,
}

impl ClimateDay {
    /// The coefficients of the arrays for an hour from 0; none beyond 23.
    #[must_use]
    pub fn planes(&self, hour: usize) -> &[PlaneHour] {
        let arrays = self.planes.len() / HOURS;
        self.planes.get(hour * arrays..(hour + 1) * arrays).unwrap_or(&[])
    }

    /// Equally likely values of its clearness: those of its month, or as it was told.
    #[must_use]
    pub fn likely_states(&self) -> [f64; STATES] {
        let Some(told) = self.told else { return self.states };
        std::array::from_fn(|state| {
            let chi = normal_deviate((state as f64 + 0.5) / STATES as f64);
            told.clearness(chi, self.states[state])
        })
    }

    /// An hour of the mean day: its irradiance, and that of each array added to `in_plane_w_m2`.
    pub fn mean_hour(&self, hour: usize, in_plane_w_m2: &mut Vec<f64>) -> Irradiance {
        let shape = &self.hours[hour % HOURS];
        let lights = self.likely_states().map(|clearness| shape.light(clearness));
        let mean =
            |of: &dyn Fn(&Irradiance) -> f64| lights.iter().map(of).sum::<f64>() / STATES as f64;
        // Not the plane of the mean light: light around the sun goes as beam times diffuse.
        in_plane_w_m2.extend(
            self.planes(hour).iter().map(|plane| mean(&|light| plane.in_plane_w_m2(light))),
        );
        Irradiance {
            ghi_w_m2: mean(&|light| light.ghi_w_m2),
            dni_w_m2: mean(&|light| light.dni_w_m2),
            dhi_w_m2: mean(&|light| light.dhi_w_m2),
        }
    }
}

/// Mean clearness of one month of one year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonthClearness {
    /// Global energy over extraterrestrial energy; 0 when no day has sun.
    pub clearness: f64,
    /// Mean daily extraterrestrial energy on the level, kWh/m2.
    pub extraterrestrial_kwh_m2: f64,
}

/// Extraterrestrial energy on the level of one date, kWh/m2.
#[must_use]
pub fn extraterrestrial_kwh_m2(track: &SunTrack, date: NaiveDate, offset: FixedOffset) -> f64 {
    (0..HOURS as i64)
        .filter_map(|hour| positions(track, hour_start(date, hour, offset)?))
        .map(|suns| extraterrestrial_w_m2(&suns))
        .sum::<f64>()
        / 1000.0
}

/// Clearness of the month of `date` when its mean daily global energy is `ghi_kwh_m2_day`.
///
/// `track` has to cover the month.
#[must_use]
pub fn month_clearness(
    track: &SunTrack,
    date: NaiveDate,
    offset: FixedOffset,
    ghi_kwh_m2_day: f64,
) -> MonthClearness {
    let (mut days, mut all, mut sunny) = (0.0, 0.0, 0.0);
    let month_begin = date.with_day(1).unwrap_or(date);
    for day in month_begin.iter_days().take_while(|day| day.month() == date.month()) {
        let energy = extraterrestrial_kwh_m2(track, day, offset);
        days += 1.0;
        all += energy;
        if energy >= SUNLESS_KWH_M2 {
            sunny += energy;
        }
    }
    MonthClearness {
        clearness: if sunny > 0.0 { ghi_kwh_m2_day * days / sunny } else { 0.0 },
        extraterrestrial_kwh_m2: if days > 0.0 { all / days } else { 0.0 },
    }
}

/// The dates of a climate, ready for any weather.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ClimateTable {
    days: Vec<ClimateDay>,
}

impl ClimateTable {
    /// `days` dates from `first`.
    ///
    /// # Errors
    /// All of: months brighter than the sun outside the air allows, a place or years without
    /// positions of the sun.
    pub fn new(
        view: &View,
        climate: &Climate,
        offset: FixedOffset,
        first: NaiveDate,
        days: usize,
    ) -> Result<Self, Vec<SkyProblem>> {
        let dates: Vec<NaiveDate> = first.iter_days().take(days).collect();
        let Some(&last) = dates.last() else {
            return Ok(Self { days: Vec::new() });
        };
        let track = track_of_months(view, offset, first, last)
            .map_err(|error| vec![SkyProblemKind::Position(error).into()])?;
        let mut problems = Vec::new();
        let mut with_states = Vec::with_capacity(days);
        let mut month = None;
        for date in dates {
            let states = match month {
                Some((year, number, states)) if (year, number) == (date.year(), date.month()) => {
                    states
                }
                _ => {
                    let ghi = climate.ghi_kwh_m2_day[month0(date)];
                    let found = month_clearness(&track, date, offset, ghi);
                    problems.extend(too_bright(date, ghi, found));
                    let states = mean_day_states(found.clearness.min(CLEAREST_MONTH));
                    month = Some((date.year(), date.month(), states));
                    states
                }
            };
            with_states.push((date, states));
        }
        if !problems.is_empty() {
            return Err(problems);
        }
        let days = with_states
            .into_par_iter()
            .map(|(date, states)| climate_day(view, climate, &track, offset, date, &states))
            .collect();
        Ok(Self { days })
    }

    /// The dates in order.
    #[must_use]
    pub fn days(&self) -> &[ClimateDay] {
        &self.days
    }
}

/// A problem when a month is clearer than any, but for what twilight may add in high latitudes.
fn too_bright(date: NaiveDate, ghi_kwh_m2_day: f64, found: MonthClearness) -> Option<SkyProblem> {
    let allowed_kwh_m2_day = CLEAREST_MONTH * found.extraterrestrial_kwh_m2 + SUNLESS_KWH_M2;
    (ghi_kwh_m2_day > allowed_kwh_m2_day).then(|| {
        SkyProblemKind::MonthTooBright {
            month: date.month(),
            ghi_kwh_m2_day,
            allowed_kwh_m2_day,
            extraterrestrial_kwh_m2_day: found.extraterrestrial_kwh_m2,
        }
        .into()
    })
}

/// The sun's path over whole months.
fn track_of_months(
    view: &View,
    offset: FixedOffset,
    first: NaiveDate,
    last: NaiveDate,
) -> Result<SunTrack, PositionError> {
    let beyond = || PositionError("the date is beyond the calendar".into());
    let from = first.with_day(1).and_then(|date| hour_start(date, 0, offset)).ok_or_else(beyond)?;
    let until = last
        .with_day(1)
        .and_then(|date| hour_start(date, 32 * HOURS as i64, offset))
        .ok_or_else(beyond)?;
    SunTrack::new(view.place, from, until)
}

fn climate_day(
    view: &View,
    climate: &Climate,
    track: &SunTrack,
    offset: FixedOffset,
    date: NaiveDate,
    states: &[f64; STATES],
) -> ClimateDay {
    let month0 = month0(date);
    let start = |hour: usize| hour_start(date, hour as i64, offset).unwrap_or_default();
    let sun: [(SunHour, Vec<SunVector>); HOURS] =
        std::array::from_fn(|hour| view.sun_hour(track, start(hour)));
    let middles: [SunVector; HOURS] =
        std::array::from_fn(|hour| track.at_s(start(hour).timestamp() + 1800));
    let noon = track.geocentric_at(start(HOURS / 2));
    let sunset = sunset_hour_angle_rad(view.place.latitude_deg, noon.declination_deg);
    let share = sunlight_share(&sun, sunset);
    let air = air_shape(&middles.map(|sun| sun.hour_angle_rad), sunset);
    let energy_wh_m2: f64 = sun.iter().map(|(hour, _)| hour.e0h_w_m2).sum();
    let sunny = energy_wh_m2 >= SUNLESS_KWH_M2 * 1000.0;
    let hours = std::array::from_fn(|hour| HourShape {
        sun: sun[hour].0,
        ghi_per_clearness_w_m2: if sunny { energy_wh_m2 * share[hour] } else { 0.0 },
        air_c: climate.air_mean_c[month0] + climate.air_swing_c[month0] * air[hour],
    });
    let states = if sunny { *states } else { [0.0; STATES] };
    let outlook = climate.outlook.as_ref().filter(|_| sunny);
    let told = outlook.and_then(|it| Told::of(it, date, energy_wh_m2 / 1000.0));
    let planes = sun.iter().flat_map(|(hour, suns)| view.plane_hours(hour, suns, month0)).collect();
    ClimateDay {
        date,
        extraterrestrial_kwh_m2: energy_wh_m2 / 1000.0,
        mean_clearness: states.iter().sum::<f64>() / STATES as f64,
        states,
        told,
        hours,
        planes,
    }
}
