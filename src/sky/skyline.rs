//! What stands on the horizon.
//!
//! Model: heights over azimuths, straight lines between the points, all round. A sun behind it
//! gives neither beam nor the glow around it. What it hides of the sky is taken as black, the
//! rest of the sky as evenly bright: the share of a tilted plane's view that is left is the
//! integral of the cosine of incidence over the open sky, over pi; its inner part (height) is
//! closed, its outer part (azimuth) summed over half degrees. Refraction and the width of the
//! disc (together up to 0.8 degrees on the horizon) are left out. The ground is lit as without
//! a skyline. Trust: exact but for these.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::scenario::site::HorizonPoint;

use super::track::SunVector;

/// The skyline of a place.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Skyline {
    /// Azimuth and height in degrees, by azimuth from 0 to below 360.
    points: Vec<(f64, f64)>,
}

impl Skyline {
    /// The skyline through `points`, in any order. No point is a level horizon, one the same
    /// height all round; heights below level count as level.
    #[must_use]
    pub fn new(points: &[HorizonPoint]) -> Self {
        let mut points: Vec<(f64, f64)> = points
            .iter()
            .map(|point| (point.azimuth_deg.rem_euclid(360.0), point.height_deg.clamp(0.0, 90.0)))
            .collect();
        points.sort_by(|one, other| one.0.total_cmp(&other.0));
        if points.iter().all(|point| point.1 == 0.0) {
            points.clear();
        }
        Self { points }
    }

    /// Whether nothing stands on it.
    #[must_use]
    pub fn is_level(&self) -> bool {
        self.points.is_empty()
    }

    /// Height at an azimuth, degrees.
    #[must_use]
    pub fn height_deg(&self, azimuth_deg: f64) -> f64 {
        let (Some(&first), Some(&last)) = (self.points.first(), self.points.last()) else {
            return 0.0;
        };
        let azimuth_deg = azimuth_deg.rem_euclid(360.0);
        let after = self.points.partition_point(|point| point.0 <= azimuth_deg);
        let before = match after {
            0 => (last.0 - 360.0, last.1),
            _ => self.points[after - 1],
        };
        let next = self.points.get(after).copied().unwrap_or((first.0 + 360.0, first.1));
        let width = next.0 - before.0;
        if width <= 0.0 {
            return before.1;
        }
        before.1 + (next.1 - before.1) * (azimuth_deg - before.0) / width
    }

    /// Whether the centre of the sun stands behind it.
    #[must_use]
    pub fn hides(&self, sun: &SunVector) -> bool {
        !self.is_level() && sun.height_deg() < self.height_deg(sun.azimuth_deg())
    }

    /// Share of an even sky that a plane sees, over what one on the level without skyline sees:
    /// `(1 + cos tilt) / 2` over a level horizon, less behind a skyline.
    #[must_use]
    pub fn sky_share(&self, tilt_deg: f64, azimuth_deg: f64) -> f64 {
        const STEPS: u32 = 720;
        let (sin_tilt, cos_tilt) = libm::sincos(tilt_deg.to_radians());
        if self.is_level() {
            return (1.0 + cos_tilt) / 2.0;
        }
        let mut sum = 0.0;
        for step in 0..STEPS {
            let towards_deg = (f64::from(step) + 0.5) * 360.0 / f64::from(STEPS);
            let side = sin_tilt * libm::cos((towards_deg - azimuth_deg).to_radians());
            // Below this height the plane sees its own back.
            let grazing = if side < 0.0 { libm::atan2(-side, cos_tilt) } else { 0.0 };
            let lowest = self.height_deg(towards_deg).to_radians().max(grazing);
            sum += view_below(side, cos_tilt, FRAC_PI_2) - view_below(side, cos_tilt, lowest);
        }
        (sum * 2.0 * PI / f64::from(STEPS) / PI).max(0.0)
    }
}

/// Integral over height of (side cos + cos_tilt sin) cos: the view of a strip of sky.
fn view_below(side: f64, cos_tilt: f64, height_rad: f64) -> f64 {
    let sin_height = libm::sin(height_rad);
    side * (height_rad / 2.0 + libm::sin(2.0 * height_rad) / 4.0)
        + cos_tilt * sin_height * sin_height / 2.0
}
