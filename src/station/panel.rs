//! What an array makes of the light.
//!
//! Model: `P = rated G/1000 (1 + gamma (Tc - 25)) low_light(G) product(1 - loss)`, with `G` the
//! irradiance that gets through the glass. Cell temperature `Tc = Ta + G (NOCT - 20) / 800`:
//! R. G. Ross, "Interface design considerations for terrestrial solar cell modules", Proc. 12th
//! IEEE Photovoltaic Specialists Conf. (1976); NOCT holds at 1 m/s of wind on an open rack, so
//! cells on a roof without air behind them are hotter and in a gale cooler. Low light: T. Huld
//! and others, "A power-rating model for crystalline silicon PV modules", Solar Energy Materials
//! and Solar Cells 95, 3359 (2011), `1 + k1 ln(G/1000) + k2 ln(G/1000)^2`, with the newer
//! coefficients for crystalline silicon of the Joint Research Centre of the European Commission
//! (as carried by pvlib 0.16.1). The fit has terms of temperature too: it is taken at 25 deg C
//! alone, for gamma already tells what warmth costs. Power at the maximum-power point; no shade
//! on part of a string. Trust: checked against published values.

use crate::scenario::sources::Array;

/// Coefficients of ln and ln squared of the low-light term, crystalline silicon.
const HULD_K1: f64 = -0.006_756;
const HULD_K2: f64 = -0.016_444;

/// An array, ready for any light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PanelArray {
    /// Rated power of all its panels, W.
    pub rated_w: f64,
    /// Change of power with cell temperature, share of rated per kelvin, below zero.
    pub pmax_per_c: f64,
    /// Cell temperature at 800 W/m2, 20 deg C air, 1 m/s wind, deg C.
    pub noct_c: f64,
    /// What the named losses leave, 0 to 1.
    pub kept_share: f64,
}

impl From<&Array> for PanelArray {
    fn from(array: &Array) -> Self {
        Self {
            rated_w: array.rated_w * f64::from(array.count),
            pmax_per_c: array.pmax_per_c,
            noct_c: array.noct_c,
            kept_share: array.loss_share.values().map(|loss| 1.0 - loss).product(),
        }
    }
}

/// Temperature of the cells, deg C.
#[must_use]
pub fn cell_c(in_plane_w_m2: f64, air_c: f64, noct_c: f64) -> f64 {
    air_c + in_plane_w_m2 * (noct_c - 20.0) / 800.0
}

/// Efficiency in weak light over that at 1000 W/m2, cells at 25 deg C; 0 in the dark, 1 at
/// 1000 W/m2.
#[must_use]
pub fn low_light_share(in_plane_w_m2: f64) -> f64 {
    if in_plane_w_m2 <= 0.0 {
        return 0.0;
    }
    let depth = libm::log(in_plane_w_m2 / 1000.0);
    (1.0 + depth * (HULD_K1 + depth * HULD_K2)).max(0.0)
}

/// Power of an array at its maximum-power point after its named losses, W.
///
/// `in_plane_w_m2` is the irradiance that gets through the glass.
#[must_use]
pub fn array_power_w(array: &PanelArray, in_plane_w_m2: f64, air_c: f64) -> f64 {
    if in_plane_w_m2 <= 0.0 {
        return 0.0;
    }
    let warmth = 1.0 + array.pmax_per_c * (cell_c(in_plane_w_m2, air_c, array.noct_c) - 25.0);
    let share = in_plane_w_m2 / 1000.0 * warmth.max(0.0) * low_light_share(in_plane_w_m2);
    rated_share_power_w(array, share)
}

/// Power of an array that gives a share of its rated power before its named losses, W.
#[must_use]
pub fn rated_share_power_w(array: &PanelArray, rated_share: f64) -> f64 {
    array.rated_w * rated_share * array.kept_share
}

#[cfg(test)]
mod tests {
    use super::*;

    fn array() -> PanelArray {
        let array: Array = serde_json::from_value(serde_json::json!({
            "rated_w": 100.0, "count": 4, "tilt_deg": 60.0, "azimuth_deg": 180.0,
            "controller": "c", "loss_share": {"soiling": 0.1, "wiring": 0.2}
        }))
        .unwrap();
        PanelArray::from(&array)
    }

    #[test]
    fn rated_light_gives_rated_power_less_losses() {
        // 25 deg C cells at 1000 W/m2: air at 25 - 1000 (45 - 20) / 800.
        let power = array_power_w(&array(), 1000.0, 25.0 - 31.25);
        assert!((power - 400.0 * 0.9 * 0.8).abs() < 1e-9);
        assert!((rated_share_power_w(&array(), 0.5) - 144.0).abs() < 1e-9);
    }

    #[test]
    fn more_light_and_colder_air_give_more() {
        for air in [-30.0, 0.0, 40.0] {
            let mut before = 0.0;
            for step in 1..=1200 {
                let power = array_power_w(&array(), f64::from(step), air);
                assert!(power >= before, "{step} W/m2");
                assert!(power >= array_power_w(&array(), f64::from(step), air + 1.0));
                before = power;
            }
        }
    }

    #[test]
    fn nothing_in_the_dark_and_never_below_nothing() {
        for light in [0.0, -5.0, 1e-9, 0.2] {
            let power = array_power_w(&array(), light, 20.0);
            assert!((0.0..0.01).contains(&power), "{light}: {power}");
        }
        assert_eq!(array_power_w(&array(), 1000.0, 500.0), 0.0);
    }
}
