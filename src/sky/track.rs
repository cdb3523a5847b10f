//! The sun's path over one place, quick enough for many positions an hour.
//!
//! Model: hour angle, declination and distance come from [`position::geocentric`] every 12 hours;
//! between, what is left of the hour angle after the mean sun, the declination and the distance
//! are straight lines. Their second derivatives (0.007 degrees a day squared at most) bound the
//! error by 0.00025 degrees; it stays below 0.0005 degrees against [`position::sun_position`],
//! which is checked. Parallax as in NREL/TP-560-34302 section 3.12, written as vectors.
//! No refraction. Trust: checked against published values.

use chrono::{DateTime, Utc};
use rayon::prelude::*;

use super::position::{
    self, PARALLAX_AT_1_AU_DEG, Place, PositionError, SOLAR_CONSTANT_W_M2, delta_t_s, geocentric,
};

const KNOT_S: i64 = 43_200;
/// Positions that are worth a thread of their own.
const KNOTS_AT_A_TIME: usize = 16;
const DAY_S: i64 = 86_400;

/// The direction of the sun from a place, and what shines from there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunVector {
    /// Part of the unit vector that points east.
    pub east: f64,
    /// Part that points north.
    pub north: f64,
    /// Part that points up: the cosine of the zenith angle.
    pub up: f64,
    /// Local hour angle seen from the centre of the earth, radians, 0 at noon, west positive.
    pub hour_angle_rad: f64,
    /// Extraterrestrial normal irradiance, W/m2.
    pub e0n_w_m2: f64,
}

impl SunVector {
    /// Whether the centre of the disc is above the level horizon.
    #[must_use]
    pub fn is_up(&self) -> bool {
        self.up > 0.0
    }

    /// Height above level, degrees.
    #[must_use]
    pub fn height_deg(&self) -> f64 {
        libm::asin(self.up.clamp(-1.0, 1.0)).to_degrees()
    }

    /// Azimuth, degrees east of north, 0 to 360.
    #[must_use]
    pub fn azimuth_deg(&self) -> f64 {
        libm::atan2(self.east, self.north).to_degrees().rem_euclid(360.0)
    }
}

/// Somebody who looks up from a place on the flattened earth.
#[derive(Debug, Clone, Copy)]
pub struct Observer {
    sin_latitude: f64,
    cos_latitude: f64,
    from_axis: f64,
    from_equator: f64,
}

impl Observer {
    /// An observer at `place` (NREL/TP-560-34302 sections 3.12.2 to 3.12.4).
    #[must_use]
    pub fn new(place: Place) -> Self {
        const POLAR_OVER_EQUATORIAL: f64 = 0.996_647_19;
        const EARTH_RADIUS_M: f64 = 6_378_140.0;
        let (sin_latitude, cos_latitude) = libm::sincos(place.latitude_deg.to_radians());
        let reduced = libm::atan2(POLAR_OVER_EQUATORIAL * sin_latitude, cos_latitude);
        let (sin_reduced, cos_reduced) = libm::sincos(reduced);
        let height = place.elevation_m / EARTH_RADIUS_M;
        Self {
            sin_latitude,
            cos_latitude,
            from_axis: cos_reduced + height * cos_latitude,
            from_equator: POLAR_OVER_EQUATORIAL * sin_reduced + height * sin_latitude,
        }
    }

    /// Unit vector (east, north, up) towards a body at the given hour angle and declination, whose
    /// horizontal parallax has the given sine (0 for one infinitely far).
    #[must_use]
    pub fn towards(
        &self,
        hour_angle_rad: f64,
        declination_rad: f64,
        sin_parallax: f64,
    ) -> (f64, f64, f64) {
        let (sin_hour, cos_hour) = libm::sincos(hour_angle_rad);
        let (sin_decl, cos_decl) = libm::sincos(declination_rad);
        let to_meridian = cos_decl * cos_hour - self.from_axis * sin_parallax;
        let to_west = cos_decl * sin_hour;
        let to_pole = sin_decl - self.from_equator * sin_parallax;
        let length = (to_meridian * to_meridian + to_west * to_west + to_pole * to_pole).sqrt();
        (
            -to_west / length,
            (self.cos_latitude * to_pole - self.sin_latitude * to_meridian) / length,
            (self.cos_latitude * to_meridian + self.sin_latitude * to_pole) / length,
        )
    }
}

#[derive(Debug, Clone, Copy)]
struct Knot {
    /// Hour angle of the true sun less that of the mean sun, degrees: the equation of time.
    equation_deg: f64,
    declination_deg: f64,
    distance_au: f64,
}

/// The sun's path over one place and a stretch of time.
#[derive(Debug, Clone)]
pub struct SunTrack {
    place: Place,
    observer: Observer,
    solar_constant_w_m2: f64,
    first_s: i64,
    knots: Vec<Knot>,
}

impl SunTrack {
    /// The path over `place` from `from` to `until`, with the solar constant of today.
    ///
    /// # Errors
    /// When place or years are outside their ranges.
    pub fn new(
        place: Place,
        from: DateTime<Utc>,
        until: DateTime<Utc>,
    ) -> Result<Self, PositionError> {
        // Coordinates and years are judged before anything is laid out.
        delta_t_s(until)?;
        position::sun_position(from, place, delta_t_s(from)?, position::Air::STANDARD)?;
        let first_s = from.timestamp().div_euclid(KNOT_S) * KNOT_S;
        let pieces = (until.timestamp() - first_s).max(0) / KNOT_S + 1;
        let knot = |number: i64| {
            let at_s = first_s + number * KNOT_S;
            let at = DateTime::from_timestamp(at_s, 0)
                .ok_or_else(|| PositionError("the date is beyond the calendar".into()))?;
            let sun = geocentric(at, delta_t_s(at)?)?;
            Ok(Knot {
                equation_deg: wrapped_deg(
                    sun.greenwich_hour_angle_deg - mean_sun_hour_angle_deg(at_s),
                ),
                declination_deg: sun.declination_deg,
                distance_au: sun.distance_au,
            })
        };
        let numbers: Vec<i64> = (0..=pieces).collect();
        let knots = numbers
            .into_par_iter()
            .with_min_len(KNOTS_AT_A_TIME)
            .map(knot)
            .collect::<Result<Vec<Knot>, PositionError>>()?;
        Ok(Self {
            place,
            observer: Observer::new(place),
            solar_constant_w_m2: SOLAR_CONSTANT_W_M2,
            first_s,
            knots,
        })
    }

    /// The same path with another solar constant, W/m2.
    #[must_use]
    pub fn with_solar_constant(mut self, solar_constant_w_m2: f64) -> Self {
        self.solar_constant_w_m2 = solar_constant_w_m2;
        self
    }

    /// The place.
    #[must_use]
    pub fn place(&self) -> Place {
        self.place
    }

    /// The sun seen from the centre of the earth. Outside the stretch the last straight line is
    /// carried on, so stay inside.
    #[must_use]
    pub fn geocentric_at(&self, at: DateTime<Utc>) -> position::Geocentric {
        self.geocentric_at_s(at.timestamp())
    }

    fn geocentric_at_s(&self, at_s: i64) -> position::Geocentric {
        let last = self.knots.len().saturating_sub(2);
        let number =
            usize::try_from((at_s - self.first_s).div_euclid(KNOT_S)).unwrap_or(0).min(last);
        let (before, after) = (self.knots[number], self.knots[number + 1]);
        let start_s = self.first_s + number as i64 * KNOT_S;
        let share = (at_s - start_s) as f64 / KNOT_S as f64;
        let between = |from: f64, to: f64| from + share * (to - from);
        position::Geocentric {
            greenwich_hour_angle_deg: wrapped_deg(
                mean_sun_hour_angle_deg(at_s) + between(before.equation_deg, after.equation_deg),
            ),
            declination_deg: between(before.declination_deg, after.declination_deg),
            distance_au: between(before.distance_au, after.distance_au),
        }
    }

    /// The sun over the place at `at` (whole seconds).
    #[must_use]
    pub fn at(&self, at: DateTime<Utc>) -> SunVector {
        self.at_s(at.timestamp())
    }

    /// The sun over the place, by seconds since 1970.
    pub(super) fn at_s(&self, at_s: i64) -> SunVector {
        let sun = self.geocentric_at_s(at_s);
        let hour_angle_rad =
            wrapped_deg(sun.greenwich_hour_angle_deg + self.place.longitude_deg).to_radians();
        // The angle is so small that it equals its sine to 1 part in 10^9.
        let sin_parallax = PARALLAX_AT_1_AU_DEG.to_radians() / sun.distance_au;
        let (east, north, up) =
            self.observer.towards(hour_angle_rad, sun.declination_deg.to_radians(), sin_parallax);
        SunVector {
            east,
            north,
            up,
            hour_angle_rad,
            e0n_w_m2: self.solar_constant_w_m2 / (sun.distance_au * sun.distance_au),
        }
    }
}

fn mean_sun_hour_angle_deg(at_s: i64) -> f64 {
    at_s.rem_euclid(DAY_S) as f64 / DAY_S as f64 * 360.0 - 180.0
}

fn wrapped_deg(angle_deg: f64) -> f64 {
    (angle_deg + 180.0).rem_euclid(360.0) - 180.0
}
