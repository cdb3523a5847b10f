//! Snow on an array: it covers all of it, then slides off or is cleared.
//!
//! Slide rule of B. Marion, R. Schaefer, H. Caine and G. Sanchez, "Measured and modeled photovoltaic
//! system energy losses from snow for Colorado and Wisconsin locations", Solar Energy 97 (2013) 112:
//! snow slides in an hour in which `air_c > plane / (-80 W/m2 per K)`, by `1.97 sin(tilt)` tenths of
//! the array. A row gives nothing while any of it is covered, the lowest being free last. Assumes a
//! smooth front and room below the lower edge; on the level nothing ever slides. Trust: the rule was
//! fitted to roofs and racks over whole winters; a single hour may be far off.

/// Tenths of the array that slide in an hour on an upright one.
const SLIDES_TENTHS: f64 = 1.97;
/// Irradiance over air temperature at which snow begins to slide, W/m2 per kelvin.
const BEGINS_W_M2_PER_K: f64 = -80.0;
/// Snow thinner than this part of the array is gone.
const GONE_SHARE: f64 = 1e-9;

/// Hours of thaw or sun in which all snow slides off; infinite on the level.
#[must_use]
pub fn slides_all_h(tilt_deg: f64) -> f64 {
    1.0 / slides_share_per_h(tilt_deg)
}

/// Part of the array that slides clear in an hour of thaw or sun.
fn slides_share_per_h(tilt_deg: f64) -> f64 {
    SLIDES_TENTHS / 10.0 * libm::sin(tilt_deg.to_radians())
}

/// Snow on one array.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct SnowCover {
    /// Share of the array, from its lower edge, that is covered.
    covered_share: f64,
    /// Time since the last fall, h.
    since_fall_h: f64,
}

impl SnowCover {
    /// It has snowed.
    pub fn fall(&mut self) {
        *self = Self { covered_share: 1.0, since_fall_h: 0.0 };
    }

    /// Somebody has cleared it, or brought the panels in.
    pub fn clear(&mut self) {
        self.covered_share = 0.0;
    }

    /// Whether anything is covered.
    #[must_use]
    pub fn lies(&self) -> bool {
        self.covered_share > 0.0
    }

    /// Whether the last fall is at least so many hours ago.
    #[must_use]
    pub fn lies_for_h(&self, hours: f64) -> bool {
        self.covered_share > 0.0 && self.since_fall_h >= hours
    }

    /// What of the output is left with so many rows one above the other.
    #[must_use]
    pub fn free_share(&self, rows_up_slope: u32) -> f64 {
        let rows = f64::from(rows_up_slope.max(1));
        1.0 - (self.covered_share * rows - GONE_SHARE).ceil().max(0.0) / rows
    }

    /// Time passes. `in_plane_w_m2` is the light on the array's plane.
    pub fn slide(&mut self, in_plane_w_m2: f64, air_c: f64, tilt_deg: f64, hours: f64) {
        self.since_fall_h += hours;
        if air_c > in_plane_w_m2 / BEGINS_W_M2_PER_K {
            let slides = slides_share_per_h(tilt_deg) * hours;
            self.covered_share = (self.covered_share - slides).max(0.0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sequence of pvlib's own test of this rule (`test_coverage_nrel_hourly`, pvlib-python, BSD
    /// licence; from memory): tilt 45, from full cover `1 - 0.197 sin 45 deg` an hour.
    #[test]
    fn it_slides_as_published() {
        let mut cover = SnowCover::default();
        cover.fall();
        for hour in 0..8 {
            let expected: f64 = 1.0 - 0.197 * 0.5_f64.sqrt() * f64::from(hour);
            assert!((cover.covered_share - expected.max(0.0)).abs() < 1e-12, "{hour}");
            cover.slide(500.0, 0.0, 45.0, 1.0);
        }
    }

    /// -80 W/m2 per kelvin: at 800 W/m2 snow slides above -10 deg C, and in the dark above 0.
    #[test]
    fn it_waits_for_warmth_or_light() {
        for (light, air_c, slides) in [
            (800.0, -9.9, true),
            (800.0, -10.1, false),
            (0.0, 0.1, true),
            (0.0, -0.1, false),
            (80.0, -0.9, true),
        ] {
            let mut cover = SnowCover::default();
            cover.fall();
            cover.slide(light, air_c, 60.0, 1.0);
            assert_eq!(cover.covered_share < 1.0, slides, "{light} {air_c}");
        }
        let mut flat = SnowCover::default();
        flat.fall();
        flat.slide(1000.0, 20.0, 0.0, 100.0);
        assert_eq!(flat.free_share(1), 0.0);
    }

    #[test]
    fn rows_come_free_one_after_the_other() {
        let mut cover = SnowCover::default();
        assert_eq!(cover.free_share(1), 1.0);
        cover.fall();
        assert_eq!(cover.free_share(3), 0.0);
        cover.covered_share = 0.5;
        assert_eq!((cover.free_share(1), cover.free_share(2)), (0.0, 0.5));
        assert!((cover.free_share(3) - 1.0 / 3.0).abs() < 1e-12);
        cover.clear();
        assert_eq!(cover.free_share(3), 1.0);
        assert!(!cover.lies_for_h(0.0));
    }
}
