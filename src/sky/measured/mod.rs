//! A measured hourly series from a text table.
//!
//! Lives here: cutting the table up ([`table`]), telling the hour of a row ([`stamp`]), and
//! judging the numbers against the sun ([`judge`]). All problems are collected with their
//! lines; a series with any problem is refused. Does not live here: reading the file.
//!
//! Replayed as it is: an hour of the run takes the row of the same hour.

pub mod judge;
pub mod stamp;
pub mod table;
#[cfg(test)]
mod tests;

use chrono::{DateTime, Duration, FixedOffset, NaiveDateTime, Utc};

use crate::scenario::sun::Measured;

use super::hour::SunHour;
use super::problem::SkyProblem;
use super::split::Irradiance;

/// One hour of a series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredHour {
    /// Line of the file, from 1.
    pub line: usize,
    /// Global irradiance on the level, W/m2.
    pub ghi_w_m2: f64,
    /// Direct normal irradiance, mean of the whole hour, W/m2.
    pub dni_w_m2: Option<f64>,
    /// Diffuse irradiance on the level, W/m2.
    pub dhi_w_m2: Option<f64>,
    /// Air temperature, deg C.
    pub air_c: Option<f64>,
}

impl MeasuredHour {
    /// Beam and diffuse: as measured where both are, from the other where one is, by Erbs where
    /// none is.
    #[must_use]
    pub fn light(&self, sun: &SunHour) -> Irradiance {
        let ghi_w_m2 = self.ghi_w_m2;
        match (self.dni_w_m2, self.dhi_w_m2) {
            (Some(dni_w_m2), Some(dhi_w_m2)) => Irradiance { ghi_w_m2, dni_w_m2, dhi_w_m2 },
            (Some(dni_w_m2), None) => sun.diffuse_beside(ghi_w_m2, dni_w_m2),
            (None, Some(dhi_w_m2)) => sun.close(ghi_w_m2, dhi_w_m2),
            (None, None) => sun.split(ghi_w_m2),
        }
    }
}

/// An hourly series without gaps.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// Beginning of its first hour.
    pub first: DateTime<Utc>,
    /// Its clock.
    pub offset: FixedOffset,
    /// Hour after hour.
    pub hours: Vec<MeasuredHour>,
}

impl Series {
    /// Reads a series from the text of its file.
    ///
    /// # Errors
    /// Everything wrong with the text, with lines.
    pub fn read(measured: &Measured, text: &str) -> Result<Self, Vec<SkyProblem>> {
        table::read(measured, text)
    }

    /// End of its last hour.
    #[must_use]
    pub fn end(&self) -> DateTime<Utc> {
        self.first + Duration::hours(i64::try_from(self.hours.len()).unwrap_or(0))
    }

    /// Beginning of the hour at `index` on its own clock.
    #[must_use]
    pub fn clock_of(&self, index: usize) -> NaiveDateTime {
        let start = self.first + Duration::hours(i64::try_from(index).unwrap_or(0));
        start.with_timezone(&self.offset).naive_local()
    }

    /// The hour that begins at `start`.
    #[must_use]
    pub fn at(&self, start: DateTime<Utc>) -> Option<&MeasuredHour> {
        let seconds = (start - self.first).num_seconds();
        if seconds.rem_euclid(3600) != 0 {
            return None;
        }
        self.hours.get(usize::try_from(seconds / 3600).ok()?)
    }
}
