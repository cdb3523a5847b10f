//! What the arrays of a station see: place, skyline, ground and planes together.

use chrono::{DateTime, Datelike, FixedOffset, NaiveDate, Utc};

use crate::scenario::Named;
use crate::scenario::site::{ByMonth, Site};
use crate::scenario::sources::Array;

use super::hour::{SunHour, positions};
use super::position::Place;
use super::skyline::Skyline;
use super::tilt::{Plane, PlaneHour};
use super::track::{SunTrack, SunVector};

/// Place, skyline, ground and the planes of the arrays, in the order of the scenario.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// The place.
    pub place: Place,
    /// Its skyline.
    pub skyline: Skyline,
    /// Share of the light that the ground reflects.
    pub ground_reflectance_share: ByMonth,
    /// One plane an array.
    pub planes: Vec<Plane>,
}

impl View {
    /// The view of a site's arrays.
    #[must_use]
    pub fn new(site: &Site, arrays: &Named<Array>) -> Self {
        let skyline = Skyline::new(&site.horizon);
        Self {
            place: Place::from(site),
            ground_reflectance_share: site.ground_reflectance_share.clone(),
            planes: arrays
                .values()
                .map(|array| Plane::new(array.tilt_deg, array.azimuth_deg, &skyline))
                .collect(),
            skyline,
        }
    }

    /// The sun of the hour from `start`, with its positions (none at night).
    #[must_use]
    pub fn sun_hour(&self, track: &SunTrack, start: DateTime<Utc>) -> (SunHour, Vec<SunVector>) {
        match positions(track, start) {
            Some(suns) => (SunHour::new(&suns, self.place.elevation_m), suns.to_vec()),
            None => (SunHour::default(), Vec::new()),
        }
    }

    /// The coefficients of every array for an hour of a month (January is 0).
    pub fn plane_hours<'a>(
        &'a self,
        hour: &'a SunHour,
        suns: &'a [SunVector],
        month0: usize,
    ) -> impl Iterator<Item = PlaneHour> + 'a {
        let reflectance = self.ground_reflectance_share.at(month0);
        self.planes
            .iter()
            .map(move |plane| PlaneHour::new(plane, suns, hour, &self.skyline, reflectance))
    }
}

/// The instant at which `hour` of `date` begins on a clock with a fixed offset; hours beyond 23 run
/// into the next dates. `None` beyond the calendar.
#[must_use]
pub fn hour_start(date: NaiveDate, hour: i64, offset: FixedOffset) -> Option<DateTime<Utc>> {
    let seconds = hour * 3600 - i64::from(offset.local_minus_utc());
    let midnight = date.and_hms_opt(0, 0, 0)?;
    Some(midnight.checked_add_signed(chrono::Duration::seconds(seconds))?.and_utc())
}

/// Month of a date, January is 0.
#[must_use]
pub fn month0(date: NaiveDate) -> usize {
    date.month0() as usize
}
