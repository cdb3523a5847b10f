//! What stands on the horizon.
//!
//! Model: heights over azimuths, straight lines between the points, all round. A sun behind it
//! gives neither beam nor the glow around it. What it hides of the sky is taken as black, the
//! rest of the sky as evenly bright: the share of a tilted plane's view that is left is the
//! integral of the cosine of incidence over the open sky, over pi; its inner part (height) is
//! closed, its outer part (azimuth) summed over half degrees. Refraction and the width of the
//! disc (together up to 0.8 degrees on the horizon) are left out. The ground is lit as without
//! a skyline. Trust: exact but for these.

use std::f64::consts::FRAC_PI_2;

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
            // Between these heights the direction is in front of the plane.
            let (from, to) = if cos_tilt >= 0.0 {
                let grazing = if side < 0.0 { libm::atan2(-side, cos_tilt) } else { 0.0 };
                (grazing, FRAC_PI_2)
            } else {
                (0.0, if side > 0.0 { libm::atan2(side, -cos_tilt) } else { 0.0 })
            };
            let lowest = self.height_deg(towards_deg).to_radians().max(from);
            if lowest < to {
                sum += view_below(side, cos_tilt, to) - view_below(side, cos_tilt, lowest);
            }
        }
        sum * 2.0 / f64::from(STEPS)
    }
}

/// Integral over height of (side cos + cos_tilt sin) cos: the view of a strip of sky.
fn view_below(side: f64, cos_tilt: f64, height_rad: f64) -> f64 {
    let sin_height = libm::sin(height_rad);
    side * (height_rad / 2.0 + libm::sin(2.0 * height_rad) / 4.0)
        + cos_tilt * sin_height * sin_height / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(points: &[(f64, f64)]) -> Vec<HorizonPoint> {
        points
            .iter()
            .map(|&(azimuth_deg, height_deg)| HorizonPoint { azimuth_deg, height_deg })
            .collect()
    }

    #[test]
    fn skyline_is_straight_between_its_points_all_round() {
        let skyline = Skyline::new(&points(&[(270.0, 3.0), (90.0, 3.0), (180.0, 6.0)]));
        for (azimuth, height) in
            [(90.0, 3.0), (135.0, 4.5), (180.0, 6.0), (225.0, 4.5), (0.0, 3.0), (-45.0, 3.0)]
        {
            assert!((skyline.height_deg(azimuth) - height).abs() < 1e-12, "{azimuth}");
        }
        let across_north = Skyline::new(&points(&[(350.0, 10.0), (10.0, 0.0)]));
        assert!((across_north.height_deg(0.0) - 5.0).abs() < 1e-12);
        assert!((Skyline::new(&points(&[(5.0, 7.0)])).height_deg(200.0) - 7.0).abs() < 1e-12);
        assert!(Skyline::new(&points(&[(5.0, -7.0)])).is_level());
    }

    /// Known integrals: over a level horizon (1 + cos tilt) / 2; flat within a wall of height h all
    /// round cos^2 h, and upright 1/2 - (h + sin 2h / 2) / pi.
    #[test]
    fn skyline_takes_its_share_of_the_sky() {
        let all_but_level = Skyline::new(&points(&[(0.0, 1e-9)]));
        for tilt in [0.0, 30.0, 60.0, 90.0, 120.0, 180.0] {
            let exact = (1.0 + f64::to_radians(tilt).cos()) / 2.0;
            let summed = all_but_level.sky_share(tilt, 143.0);
            assert!((summed - exact).abs() < 1e-5, "tilt {tilt}: {summed} against {exact}");
            assert!((Skyline::default().sky_share(tilt, 143.0) - exact).abs() < 1e-12);
        }
        for height in [5.0, 20.0, 60.0] {
            let wall = Skyline::new(&points(&[(0.0, height)]));
            let high = f64::to_radians(height);
            assert!((wall.sky_share(0.0, 0.0) - high.cos() * high.cos()).abs() < 1e-9);
            let upright = 0.5 - (high + (2.0 * high).sin() / 2.0) / std::f64::consts::PI;
            assert!((wall.sky_share(90.0, 77.0) - upright).abs() < 1e-5);
        }
    }
}
