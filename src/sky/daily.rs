//! A day spread over its hours.
//!
//! Sunlight: M. Collares-Pereira and A. Rabl, "The average distribution of solar radiation -
//! correlations between diffuse and hemispherical and between daily and hourly insolation
//! values", Solar Energy 22, 155 (1979): the light of a moment over that of the day goes as
//! `(a + b cos w)(cos w - cos ws)`, `w` the hour angle and `ws` that of sunset. The second bracket
//! is the cosine of the zenith angle but for a factor of the day, so the positions of the sun
//! take its place and the whole is rescaled to the day's sum. A mean shape: real days are rougher.
//! Air: W. J. Parton and J. A. Logan, "A model for diurnal variation in soil and air
//! temperature", Agricultural Meteorology 23, 205 (1981): part of a sine from just before sunrise,
//! warmest 1.86 h after noon, then a decay through the night (constants for air at 1.5 m, from
//! memory). The decay is stretched to reach the coldest value at its end, and day length is held
//! between 6 h and 18 h so that polar days have a shape.
//! Trust: both checked against published values.

use std::f64::consts::{FRAC_PI_3, PI};

use super::hour::SunHour;
use super::track::SunVector;

/// Hours a day.
pub const HOURS: usize = 24;

/// Hour angle of sunset on a level horizon without refraction, radians: 0 in polar night, pi under
/// the midnight sun.
#[must_use]
pub fn sunset_hour_angle_rad(latitude_deg: f64, declination_deg: f64) -> f64 {
    let cosine = -libm::tan(latitude_deg.to_radians()) * libm::tan(declination_deg.to_radians());
    libm::acos(cosine.clamp(-1.0, 1.0))
}

/// The bracket `a + b cos w` by which the light of a moment departs from that outside the air, with
/// `a = 0.409 + 0.5016 sin(ws - 60 deg)` and `b = 0.6609 - 0.4767 sin(ws - 60 deg)`.
#[must_use]
pub fn collares_pereira_rabl(hour_angle_rad: f64, sunset_hour_angle_rad: f64) -> f64 {
    let late = libm::sin(sunset_hour_angle_rad - FRAC_PI_3);
    let a = 0.409 + 0.5016 * late;
    let b = 0.6609 - 0.4767 * late;
    (a + b * libm::cos(hour_angle_rad)).max(0.0)
}

/// Share of the day's sunlight that falls in each hour; all 0 in polar night.
///
/// `hours` holds the sun of each hour with its positions.
#[must_use]
pub fn sunlight_share(
    hours: &[(SunHour, Vec<SunVector>); HOURS],
    sunset_hour_angle_rad: f64,
) -> [f64; HOURS] {
    let mut share = [0.0; HOURS];
    for (share, (_, suns)) in share.iter_mut().zip(hours) {
        for sun in suns.iter().filter(|sun| sun.is_up()) {
            *share += sun.up * collares_pereira_rabl(sun.hour_angle_rad, sunset_hour_angle_rad);
        }
    }
    let sum: f64 = share.iter().sum();
    if sum > 0.0 {
        for share in &mut share {
            *share /= sum;
        }
    }
    share
}

/// Departure of each hour's air temperature from the day's mean, over the day's swing: its mean is
/// 0, and its highest less its lowest value is 1.
///
/// `hour_angle_rad` is that of the sun in the middle of each hour.
#[must_use]
pub fn air_shape(hour_angle_rad: &[f64; HOURS], sunset_hour_angle_rad: f64) -> [f64; HOURS] {
    const WARMEST_AFTER_NOON_H: f64 = 1.86;
    const COLDEST_AFTER_SUNRISE_H: f64 = -0.17;
    const DECAY: f64 = 2.2;
    let day_h = (sunset_hour_angle_rad * 24.0 / PI).clamp(6.0, 18.0);
    let (lit_h, dark_h) = (day_h - COLDEST_AFTER_SUNRISE_H, 24.0 - day_h + COLDEST_AFTER_SUNRISE_H);
    let coldest_h = 12.0 - day_h / 2.0 + COLDEST_AFTER_SUNRISE_H;
    let by_day = |since_h: f64| libm::sin(PI * since_h / (lit_h + 2.0 * WARMEST_AFTER_NOON_H));
    let mut shape = hour_angle_rad.map(|angle| {
        let since_h = (12.0 + angle * 12.0 / PI - coldest_h).rem_euclid(24.0);
        if since_h < lit_h {
            by_day(since_h)
        } else {
            let end = libm::exp(-DECAY);
            let left = libm::exp(-DECAY * (since_h - lit_h) / dark_h);
            by_day(lit_h) * (left - end) / (1.0 - end)
        }
    });
    let mean = shape.iter().sum::<f64>() / HOURS as f64;
    let highest = shape.iter().copied().fold(f64::MIN, f64::max);
    let lowest = shape.iter().copied().fold(f64::MAX, f64::min);
    for value in &mut shape {
        *value = (*value - mean) / (highest - lowest);
    }
    shape
}
