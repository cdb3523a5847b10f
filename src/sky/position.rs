//! Where the sun stands at one instant.
//!
//! Model: the Solar Position Algorithm, I. Reda and A. Andreas, "Solar position algorithm for
//! solar radiation applications", NREL/TP-560-34302 (2003, revised 2008), by the crate
//! `solar-positioning` (its mathematics from `libm`, so that bits do not depend on the platform).
//! Valid for the years -500 to 3000 (limits of the estimate of delta T), uncertainty 0.0003
//! degrees. UTC stands for UT1: they differ by less than 0.9 s, which is 0.004 degrees of hour
//! angle. Trust: checked against published values.

use chrono::{DateTime, Utc};
use solar_positioning::{
    Location, PreparedPositions, RefractionCorrection, SolarPositions, delta_t, time::JulianDate,
};
use thiserror::Error;

use crate::scenario::site::Site;

/// Total solar irradiance at one astronomical unit, W/m2: G. Kopp and J. Lean, "A new, lower
/// value of total solar irradiance", Geophys. Res. Lett. 38, L01706 (2011). Handbooks before
/// that use 1367 W/m2.
pub const SOLAR_CONSTANT_W_M2: f64 = 1361.0;

/// Equatorial horizontal parallax of the sun at one astronomical unit, degrees (8.794
/// arc seconds, NREL/TP-560-34302 section 3.12).
pub(super) const PARALLAX_AT_1_AU_DEG: f64 = 8.794 / 3600.0;

/// Julian day of 1970-01-01 00:00 UTC.
pub(super) const JULIAN_DAY_OF_1970: f64 = 2_440_587.5;

/// A place on the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Degrees north of the equator, -90 to 90.
    pub latitude_deg: f64,
    /// Degrees east of Greenwich, -180 to 180.
    pub longitude_deg: f64,
    /// Metres above the sea.
    pub elevation_m: f64,
}

impl Place {
    pub(super) fn location(self) -> Location {
        Location { latitude: self.latitude_deg, longitude: self.longitude_deg }
    }
}

impl From<&Site> for Place {
    fn from(site: &Site) -> Self {
        Self {
            latitude_deg: site.latitude_deg,
            longitude_deg: site.longitude_deg,
            elevation_m: site.elevation_m,
        }
    }
}

/// The air that bends the light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Pressure at the place, hPa, above 0 and up to 2000.
    pub pressure_hpa: f64,
    /// Temperature, deg C.
    pub air_c: f64,
}

impl Air {
    /// 1013.25 hPa and 15 deg C: the standard atmosphere at sea level (ISO 2533).
    pub const STANDARD: Self = Self { pressure_hpa: 1013.25, air_c: 15.0 };
}

/// Where the sun stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunPosition {
    /// Angle from straight up to the centre of the disc, without refraction, degrees. Everything
    /// that reckons irradiance uses this one.
    pub zenith_deg: f64,
    /// The same as the eye sees it through the air, degrees.
    pub apparent_zenith_deg: f64,
    /// Degrees east of north, 0 to 360.
    pub azimuth_deg: f64,
    /// Degrees north of the celestial equator, seen from the centre of the earth.
    pub declination_deg: f64,
    /// Irradiance outside the air over its value at one astronomical unit, `1 / R^2`, 0.966 to
    /// 1.035. Extraterrestrial normal irradiance is the solar constant times this factor.
    pub earth_sun_factor: f64,
}

/// The sun seen from the centre of the earth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geocentric {
    /// Hour angle at Greenwich, degrees west, -180 to 180; 0 when the sun crosses its meridian.
    pub greenwich_hour_angle_deg: f64,
    /// Degrees north of the celestial equator.
    pub declination_deg: f64,
    /// Distance of earth and sun, astronomical units.
    pub distance_au: f64,
}

/// Why there is no position.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("the position of the sun cannot be computed: {0}")]
pub struct PositionError(pub(super) String);

impl From<solar_positioning::Error> for PositionError {
    fn from(error: solar_positioning::Error) -> Self {
        Self(error.to_string())
    }
}

/// Difference of terrestrial time and universal time (delta T), s.
///
/// Polynomials of F. Espenak and J. Meeus with the crate's newer fit from 2015 on; years ahead
/// are an extrapolation. It hardly matters: 10 s more move the sun by 0.0001 degrees, for only
/// its slow path through the year uses this clock.
///
/// # Errors
/// When the year is outside -500 to 3000.
pub fn delta_t_s(at: DateTime<Utc>) -> Result<f64, PositionError> {
    const SECONDS_PER_JULIAN_YEAR: f64 = 31_557_600.0;
    let year = 1970.0 + at.timestamp() as f64 / SECONDS_PER_JULIAN_YEAR;
    Ok(delta_t::estimate(year)?)
}

/// Position of the sun at `at` over `place`.
///
/// Refraction is that of NREL/TP-560-34302 section 3.14.2, none while the disc is below the
/// horizon.
///
/// # Errors
/// When the place, the air or the year is outside its range.
pub fn sun_position(
    at: DateTime<Utc>,
    place: Place,
    delta_t_s: f64,
    air: Air,
) -> Result<SunPosition, PositionError> {
    let prepared = prepare(at, delta_t_s)?;
    let bent = RefractionCorrection::new(air.pressure_hpa, air.air_c)?;
    let bare = prepared.at(place.location(), place.elevation_m, None)?;
    let seen = prepared.at(place.location(), place.elevation_m, Some(bent))?;
    let distance_au = distance_au(&prepared)?;
    Ok(SunPosition {
        zenith_deg: bare.zenith_angle(),
        apparent_zenith_deg: seen.zenith_angle(),
        azimuth_deg: bare.azimuth(),
        declination_deg: prepared.declination(),
        earth_sun_factor: 1.0 / (distance_au * distance_au),
    })
}

/// Hour angle, declination and distance of the sun at `at`.
///
/// The crate gives no hour angle, so it is read back from the position over latitude 0,
/// longitude 0, with the parallax taken off: `sin(h' - h) = sin(p) sin(h') / cos(d)`.
///
/// # Errors
/// When the year is outside its range.
pub fn geocentric(at: DateTime<Utc>, delta_t_s: f64) -> Result<Geocentric, PositionError> {
    let prepared = prepare(at, delta_t_s)?;
    let over_gulf = prepared.at(Location { latitude: 0.0, longitude: 0.0 }, 0.0, None)?;
    let distance_au = distance_au(&prepared)?;
    let declination_deg = prepared.declination();
    let (sin_zenith, up) = libm::sincos(over_gulf.zenith_angle().to_radians());
    let west = -sin_zenith * libm::sin(over_gulf.azimuth().to_radians());
    let seen_rad = libm::atan2(west, up);
    let sin_parallax = libm::sin((PARALLAX_AT_1_AU_DEG / distance_au).to_radians());
    let shift_rad =
        libm::asin(sin_parallax * libm::sin(seen_rad) / libm::cos(declination_deg.to_radians()));
    Ok(Geocentric {
        greenwich_hour_angle_deg: (seen_rad - shift_rad).to_degrees(),
        declination_deg,
        distance_au,
    })
}

/// Continuous day number of astronomers, universal time.
pub(super) fn julian_day(at: DateTime<Utc>) -> f64 {
    let seconds = at.timestamp() as f64 + f64::from(at.timestamp_subsec_millis()) / 1000.0;
    JULIAN_DAY_OF_1970 + seconds / 86_400.0
}

fn prepare(at: DateTime<Utc>, delta_t_s: f64) -> Result<PreparedPositions, PositionError> {
    let instant = JulianDate::new(julian_day(at), delta_t_s)?;
    Ok(SolarPositions::new().for_time_from_julian(instant)?)
}

fn distance_au(prepared: &PreparedPositions) -> Result<f64, PositionError> {
    prepared
        .earth_radius_vector()
        .ok_or_else(|| PositionError("no distance of earth and sun".into()))
}
