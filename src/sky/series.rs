//! The hours of one run.

use chrono::{DateTime, Datelike, Duration, FixedOffset, Timelike, Utc};
use rayon::prelude::*;

use crate::scenario::Named;
use crate::scenario::site::Site;
use crate::scenario::sources::Array;
use crate::scenario::sun::{Climate, Measured, Profile, Sun};

use super::climate::ClimateTable;
use super::daily::HOURS;
use super::day_types::DayChain;
use super::measured::{Series, judge::judge};
use super::position::{PositionError, delta_t_s};
use super::problem::{SkyProblem, SkyProblemKind};
use super::profile::ProfileDay;
use super::split::Irradiance;
use super::track::SunTrack;
use super::view::View;

/// Air temperature where a measured series has none, deg C.
pub const AIR_WHEN_UNKNOWN_C: f64 = 20.0;

/// Hours of the shortest series that counts as a year: 364 days.
const LEAST_YEAR_H: usize = 364 * HOURS;

/// The sky of one hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SkyHour {
    /// Irradiance on the level and towards the sun; a profile has none.
    pub light: Option<Irradiance>,
    /// Air temperature, deg C.
    pub air_c: f64,
    /// Share of the hour in which the sun is above a level horizon.
    pub daylight_share: f64,
    /// Output of every array before its named losses, share of rated: that form of profile only.
    pub rated_share: Option<f64>,
}

/// Hour after hour of a run, by hours of standard time.
///
/// A climate plays the mean day of each date, a profile with types of day their mean. A measured
/// series is replayed: the run has to lie within it. Where trials take its days anyway, it may lie
/// elsewhere in the calendar: then the same dates of the first year are played.
#[derive(Debug, Clone, PartialEq)]
pub struct Sky {
    first: DateTime<Utc>,
    arrays: usize,
    hours: Vec<SkyHour>,
    /// By hour, then by array.
    in_plane_w_m2: Vec<f64>,
}

impl Sky {
    /// The sky of a scenario's site, sun and arrays for the `hours` that begin with the one that
    /// `first` lies in. `standard_offset` is that of the site's clock without summer time;
    /// `series` the text of the file of a measured series.
    ///
    /// # Errors
    /// Everything wrong with the sun of the scenario, with lines where it is about a series.
    pub fn new(
        site: &Site,
        sun: &Sun,
        arrays: &Named<Array>,
        standard_offset: FixedOffset,
        first: DateTime<Utc>,
        hours: usize,
        series: Option<&str>,
    ) -> Result<Self, Vec<SkyProblem>> {
        let view = View::new(site, arrays);
        let first = hour_begin(first, standard_offset);
        years_are_known(first, hours)
            .map_err(|error| vec![SkyProblemKind::Position(error).into()])?;
        let mut sky = Self {
            first,
            arrays: view.planes.len(),
            hours: Vec::with_capacity(hours),
            in_plane_w_m2: Vec::with_capacity(hours * view.planes.len()),
        };
        match sun {
            Sun::Profile(profile) => sky.fill_profile(&view, profile, standard_offset, hours)?,
            Sun::Climate(climate) => sky.fill_climate(&view, climate, standard_offset, hours)?,
            Sun::Measured(measured) => {
                let text = series.ok_or_else(|| vec![SkyProblemKind::NoSeries.into()])?;
                sky.fill_measured(&view, measured, standard_offset, hours, text)?;
            }
        }
        Ok(sky)
    }

    /// Beginning of the first hour.
    #[must_use]
    pub fn first(&self) -> DateTime<Utc> {
        self.first
    }

    /// The hours in order.
    #[must_use]
    pub fn hours(&self) -> &[SkyHour] {
        &self.hours
    }

    /// Air of the coldest hour, deg C; `None` without hours.
    #[must_use]
    pub fn coldest_c(&self) -> Option<f64> {
        self.hours.iter().map(|hour| hour.air_c).reduce(f64::min)
    }

    /// Number of the hour in which an instant lies; `None` outside the run.
    #[must_use]
    pub fn index_of(&self, instant: DateTime<Utc>) -> Option<usize> {
        let index = (instant - self.first).num_seconds().div_euclid(3600);
        usize::try_from(index).ok().filter(|index| *index < self.hours.len())
    }

    /// How far into its hour of weather an instant lies, h.
    #[must_use]
    #[allow(clippy::cast_precision_loss)] // below 3600
    pub fn into_hour(&self, instant: DateTime<Utc>) -> f64 {
        (instant - self.first).num_seconds().rem_euclid(3600) as f64 / 3600.0
    }

    /// The sky at an instant.
    #[must_use]
    pub fn at(&self, instant: DateTime<Utc>) -> Option<&SkyHour> {
        self.hours.get(self.index_of(instant)?)
    }

    /// Irradiance that gets through the glass of each array in an hour, W/m2, in the order of the
    /// scenario; empty outside the run.
    #[must_use]
    pub fn in_plane_w_m2(&self, index: usize) -> &[f64] {
        if index >= self.hours.len() {
            return &[];
        }
        &self.in_plane_w_m2[index * self.arrays..(index + 1) * self.arrays]
    }

    fn start_of(&self, index: usize) -> DateTime<Utc> {
        self.first + Duration::hours(i64::try_from(index).unwrap_or(0))
    }

    fn track(&self, view: &View, hours: usize) -> Result<SunTrack, Vec<SkyProblem>> {
        SunTrack::new(view.place, self.first, self.start_of(hours))
            .map_err(|error| vec![SkyProblemKind::Position(error).into()])
    }

    fn fill_profile(
        &mut self,
        view: &View,
        profile: &Profile,
        offset: FixedOffset,
        hours: usize,
    ) -> Result<(), Vec<SkyProblem>> {
        let day = ProfileDay::new(profile)?;
        let share = profile.day_types.as_ref().and_then(DayChain::new).map(|it| it.mean_share());
        let of = |value: f64| share.map_or(value, |share| value * share);
        let track = self.track(view, hours)?;
        for index in 0..hours {
            let start = self.start_of(index);
            let hour = start.with_timezone(&offset).hour() as usize;
            self.hours.push(SkyHour {
                light: None,
                air_c: profile.air_c,
                daylight_share: view.sun_hour(&track, start).0.daylight_share,
                rated_share: day.rated_share(hour).map(of),
            });
            self.in_plane_w_m2.extend(view.planes.iter().map(|_| of(day.in_plane_w_m2(hour))));
        }
        Ok(())
    }

    fn fill_climate(
        &mut self,
        view: &View,
        climate: &Climate,
        offset: FixedOffset,
        hours: usize,
    ) -> Result<(), Vec<SkyProblem>> {
        let first = self.first.with_timezone(&offset);
        let before = first.hour() as usize;
        let days = (before + hours).div_ceil(HOURS);
        let table = ClimateTable::new(view, climate, offset, first.date_naive(), days)?;
        let all = table.days().iter().flat_map(|day| (0..HOURS).map(move |hour| (day, hour)));
        for (day, hour) in all.skip(before).take(hours) {
            let shape = &day.hours[hour];
            let light = day.mean_hour(hour, &mut self.in_plane_w_m2);
            self.hours.push(SkyHour {
                light: Some(light),
                air_c: shape.air_c,
                daylight_share: shape.sun.daylight_share,
                rated_share: None,
            });
        }
        Ok(())
    }

    fn fill_measured(
        &mut self,
        view: &View,
        measured: &Measured,
        offset: FixedOffset,
        hours: usize,
        text: &str,
    ) -> Result<(), Vec<SkyProblem>> {
        let series = Series::read(measured, text)?;
        let needed = (self.first, self.start_of(hours));
        let has = (series.first, series.end());
        let covered = needed.0 >= has.0 && needed.1 <= has.1;
        let elsewhere = measured
            .resample
            .filter(|_| !covered)
            .and_then(|_| same_dates(self.first, &series, offset));
        let mut problems = Vec::new();
        let minutes = (series.first - self.first).num_minutes().rem_euclid(60);
        if minutes != 0 {
            problems.push(SkyProblemKind::HoursApart { minutes }.into());
        }
        if !covered && elsewhere.is_none() {
            problems.push(SkyProblemKind::NotCovered { needed, has }.into());
        }
        let track = SunTrack::new(view.place, has.0, has.1)
            .map_err(|error| vec![SkyProblemKind::Position(error).into()])?;
        problems.extend(judge(&series, measured, &track));
        if !problems.is_empty() {
            return Err(problems);
        }
        // Hour by hour on all cores: each is a function of its own row and positions of the sun.
        let found: Vec<(SkyHour, Vec<f64>)> = (0..hours)
            .into_par_iter()
            .with_min_len(HOURS)
            .map(|index| {
                let start = match elsewhere {
                    Some((begin, whole)) => {
                        let at = (begin + index) % whole;
                        series.first + Duration::hours(i64::try_from(at).unwrap_or(0))
                    }
                    None => self.start_of(index),
                };
                let row = series.at(start)?;
                let (sun, suns) = view.sun_hour(&track, start);
                let light = row.light(&sun);
                let hour = SkyHour {
                    light: Some(light),
                    air_c: row.air_c.unwrap_or(AIR_WHEN_UNKNOWN_C),
                    daylight_share: sun.daylight_share,
                    rated_share: None,
                };
                let month0 = start.with_timezone(&offset).month0() as usize;
                let planes = view.plane_hours(&sun, &suns, month0);
                Some((hour, planes.map(|plane| plane.in_plane_w_m2(&light)).collect()))
            })
            .while_some()
            .collect();
        for (hour, planes) in found {
            self.hours.push(hour);
            self.in_plane_w_m2.extend(planes);
        }
        Ok(())
    }
}

/// Hours of a series with which a stretch of time that lies elsewhere in the calendar is played:
/// the same dates of its first year, going round at its end. `None` for less than a year.
fn same_dates(
    first: DateTime<Utc>,
    series: &Series,
    offset: FixedOffset,
) -> Option<(usize, usize)> {
    let whole = series.hours.len() / HOURS * HOURS;
    if whole < LEAST_YEAR_H {
        return None;
    }
    let date = first.with_timezone(&offset).date_naive();
    let year = series.first.with_timezone(&offset).year();
    let there = date.with_day(date.day().min(28))?.with_year(year)?;
    let away = date.with_day(date.day().min(28))? - there;
    let hours = (first - away - series.first).num_hours();
    let begin = hours.rem_euclid(i64::try_from(whole).ok()?);
    Some((usize::try_from(begin).ok()?, whole))
}

/// Refuses a run beyond the years of the algorithm before room is made for it.
fn years_are_known(first: DateTime<Utc>, hours: usize) -> Result<(), PositionError> {
    let end = i64::try_from(hours)
        .ok()
        .and_then(Duration::try_hours)
        .and_then(|run| first.checked_add_signed(run))
        .ok_or_else(|| PositionError("the run ends beyond the calendar".into()))?;
    delta_t_s(first).and(delta_t_s(end)).map(|_| ())
}

/// Beginning of the hour of standard time in which an instant lies.
#[must_use]
pub fn hour_begin(instant: DateTime<Utc>, offset: FixedOffset) -> DateTime<Utc> {
    let local_s = instant.timestamp() + i64::from(offset.local_minus_utc());
    let into = local_s.rem_euclid(3600);
    DateTime::from_timestamp(instant.timestamp() - into, 0).unwrap_or(instant)
}
