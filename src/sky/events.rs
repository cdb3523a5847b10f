//! Sunrise and sunset.
//!
//! The upper limb of the disc on a level sea horizon: centre at -50 arc minutes (34 of
//! refraction, 16 of radius), the convention of almanacs, found on the positions of
//! NREL/TP-560-34302 by the crate `solar-positioning`. Real events differ by a minute or more
//! with the weather, and by much more near the first and last sunrise of a polar season.
//! Trust: checked against published values.

use chrono::{DateTime, Duration, FixedOffset, NaiveDate, Utc};
use solar_positioning::{Horizon, SolarEvents};

use super::position::{
    Air, JULIAN_DAY_OF_1970, Place, PositionError, delta_t_s, julian_day, sun_position,
};
use super::track::SunVector;

/// What the sun does around the noon of one date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SunDay {
    /// It rises and sets.
    RisesAndSets {
        /// Upper limb appears.
        sunrise: DateTime<Utc>,
        /// Upper limb vanishes.
        sunset: DateTime<Utc>,
    },
    /// It rises and then stays up past midnight: the midnight sun begins.
    RisesOnly {
        /// Upper limb appears.
        sunrise: DateTime<Utc>,
    },
    /// It was up since the last midnight and sets: the midnight sun ends.
    SetsOnly {
        /// Upper limb vanishes.
        sunset: DateTime<Utc>,
    },
    /// Midnight sun.
    UpAllDay,
    /// Polar night.
    DownAllDay,
}

impl SunDay {
    /// When the upper limb appears, if it does.
    #[must_use]
    pub fn sunrise(&self) -> Option<DateTime<Utc>> {
        match *self {
            Self::RisesAndSets { sunrise, .. } | Self::RisesOnly { sunrise } => Some(sunrise),
            _ => None,
        }
    }

    /// When the upper limb vanishes, if it does.
    #[must_use]
    pub fn sunset(&self) -> Option<DateTime<Utc>> {
        match *self {
            Self::RisesAndSets { sunset, .. } | Self::SetsOnly { sunset } => Some(sunset),
            _ => None,
        }
    }
}

/// Sunrise and sunset that belong to the noon of a date of the clock with `offset`.
///
/// Sunrise is the last one before that noon and sunset the first one after it. In high
/// latitudes either may fall on the neighbouring date.
///
/// # Errors
/// When the place or the year is outside its range.
pub fn sun_day(
    date: NaiveDate,
    offset: FixedOffset,
    place: Place,
) -> Result<SunDay, PositionError> {
    let clock_noon = noon(date, offset)?;
    let delta_t_s = delta_t_s(clock_noon)?;
    let location = place.location();
    let search = SolarEvents::new();
    let middle = julian_day(clock_noon);
    let transit = search
        .next_transit_from_julian(middle - 0.5, middle + 0.5, place.longitude_deg, delta_t_s)?
        // A day from noon to noon can be a few seconds longer than 24 h.
        .unwrap_or(middle);
    let horizon = Horizon::SunriseSunset;
    let rise =
        search.next_rise_from_julian(transit - 0.5, transit, location, delta_t_s, horizon)?;
    let set = search.next_set_from_julian(transit, transit + 0.5, location, delta_t_s, horizon)?;
    Ok(match (rise, set) {
        (Some(rise), Some(set)) => {
            SunDay::RisesAndSets { sunrise: instant(rise)?, sunset: instant(set)? }
        }
        (Some(rise), None) => SunDay::RisesOnly { sunrise: instant(rise)? },
        (None, Some(set)) => SunDay::SetsOnly { sunset: instant(set)? },
        (None, None) => {
            let at = instant(transit)?;
            let sun =
                sun_position(at, Place { elevation_m: 0.0, ..place }, delta_t_s, Air::STANDARD)?;
            if 90.0 - sun.zenith_deg > horizon.elevation_angle() {
                SunDay::UpAllDay
            } else {
                SunDay::DownAllDay
            }
        }
    })
}

/// Whether the upper limb stands above a level sea horizon, by the same convention.
#[must_use]
pub fn disc_above_horizon(sun: &SunVector) -> bool {
    sun.height_deg() > Horizon::SunriseSunset.elevation_angle()
}

fn noon(date: NaiveDate, offset: FixedOffset) -> Result<DateTime<Utc>, PositionError> {
    date.and_hms_opt(12, 0, 0)
        .and_then(|local| {
            local.checked_sub_signed(Duration::seconds(i64::from(offset.local_minus_utc())))
        })
        .map(|utc| utc.and_utc())
        .ok_or_else(|| PositionError("the date is beyond the calendar".into()))
}

fn instant(julian: f64) -> Result<DateTime<Utc>, PositionError> {
    let millis = ((julian - JULIAN_DAY_OF_1970) * 86_400_000.0).round();
    DateTime::from_timestamp_millis(millis as i64)
        .ok_or_else(|| PositionError("the date is beyond the calendar".into()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sky::track::SunTrack;

    /// The disc changes sides between the same whole hours in which sunrise and sunset fall.
    #[test]
    fn the_disc_is_up_between_sunrise_and_sunset() {
        let offset = FixedOffset::east_opt(0).unwrap();
        for latitude_deg in [-33.0, 0.0, 45.0, 60.0] {
            let place = Place { latitude_deg, longitude_deg: 3.0, elevation_m: 0.0 };
            let first = NaiveDate::from_ymd_opt(2027, 1, 1).unwrap();
            let begin = first.and_hms_opt(0, 0, 0).unwrap().and_utc();
            let track = SunTrack::new(place, begin, begin + Duration::days(366)).unwrap();
            for date in first.iter_days().take(365) {
                let sun = sun_day(date, offset, place).unwrap();
                for (event, up_after) in [(sun.sunrise(), true), (sun.sunset(), false)] {
                    let event = event.unwrap();
                    // A minute on either side: the track is a little off.
                    let (before, after) =
                        (event - Duration::minutes(1), event + Duration::minutes(1));
                    assert_eq!(disc_above_horizon(&track.at(before)), !up_after, "{event}");
                    assert_eq!(disc_above_horizon(&track.at(after)), up_after, "{event}");
                }
            }
        }
    }
}
