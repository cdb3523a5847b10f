//! What several checks need.

use chrono::{DateTime, Utc};
use longwatch::sky::position::Place;
use longwatch::sky::track::{Observer, SunVector};

use crate::support::figures::Check;

/// A check of this room.
pub fn check(source: &str, quantity: &str, unit: &'static str, tolerance: f64) -> Check {
    Check::new("solar", source, quantity, unit, tolerance)
}

pub fn utc(text: &str) -> DateTime<Utc> {
    text.parse().unwrap_or_else(|_| panic!("{text}"))
}

pub fn place(latitude_deg: f64, longitude_deg: f64) -> Place {
    Place { latitude_deg, longitude_deg, elevation_m: 0.0 }
}

/// The sun of a handbook: latitude, declination and hour angle given, infinitely far.
pub fn sun_at(
    latitude_deg: f64,
    declination_deg: f64,
    hour_angle_deg: f64,
    e0n_w_m2: f64,
) -> SunVector {
    let hour_angle_rad = hour_angle_deg.to_radians();
    let (east, north, up) = Observer::new(place(latitude_deg, 0.0)).towards(
        hour_angle_rad,
        declination_deg.to_radians(),
        0.0,
    );
    SunVector { east, north, up, hour_angle_rad, e0n_w_m2 }
}

/// The sun where a table puts it.
pub fn sun_towards(zenith_deg: f64, azimuth_deg: f64, e0n_w_m2: f64) -> SunVector {
    let (sin_zenith, up) = zenith_deg.to_radians().sin_cos();
    let (sin_azimuth, cos_azimuth) = azimuth_deg.to_radians().sin_cos();
    SunVector {
        east: sin_zenith * sin_azimuth,
        north: sin_zenith * cos_azimuth,
        up,
        hour_angle_rad: 0.0,
        e0n_w_m2,
    }
}

/// Difference of two angles, -180 to 180.
pub fn turn_deg(one: f64, other: f64) -> f64 {
    (one - other + 180.0).rem_euclid(360.0) - 180.0
}
