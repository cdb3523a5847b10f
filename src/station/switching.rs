//! Panels at battery volts.
//!
//! Five-parameter single-diode model (De Soto, Klein & Beckman, "Improvement and validation of a
//! model for photovoltaic array performance", Solar Energy 80 (2006) 78):
//!
//! `I = IL - I0 (e^(x/a) - 1) - g x`,  `x = V + I Rs`
//!
//! Light scales IL and the shunt g, cell temperature scales a (with the absolute temperature) and
//! IL. The parameters are those with which the curve goes through the datasheet's short circuit,
//! open circuit and maximum-power point, is level in power there, and whose open-circuit volts
//! fall with temperature as the sheet says: for silicon (band gap 1.121 eV)
//! `a = Voc (1/T - beta) / (3/T + Eg/(k T^2) + 0.0002677 Eg/(k T) - alpha)`.
//! Away from 25 deg C I0 is set by the straight line of Voc(T) instead of the band gap: the same
//! thing at 25 deg C, and it holds for any sheet. A sheet that no such curve fits gets one without
//! shunt, or without resistance too. Named losses scale the current. No shade on part of a string.
//! Trust: checked against published values (a full single-diode model), no measurement.

use super::panel::{PanelArray, cell_c};
use crate::scenario::sources::{Array, PanelSheet};

/// 25 deg C, K.
const STANDARD_K: f64 = 298.15;
/// Boltzmann constant, eV/K.
const BOLTZMANN_EV_K: f64 = 8.617_333e-5;
/// Band gap of silicon at 25 deg C, eV, and its fall, share per kelvin (De Soto and others).
const BAND_GAP_EV: f64 = 1.121;
const BAND_GAP_PER_K: f64 = 0.000_267_7;
/// How finely the series resistance is looked for before it is bisected.
const SEARCH_STEPS: u32 = 64;
/// Rounds after which the volts of the junction are taken as settled; about six are needed.
const MOST_ROUNDS: usize = 60;

/// The curve of an array.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PanelShape {
    /// Of one panel at 25 deg C and 1000 W/m2.
    diode: Diode,
    open_v: f64,
    open_per_c: f64,
    short_per_c: f64,
    noct_c: f64,
    in_series: f64,
    /// Strings side by side, times what the named losses leave.
    times_current: f64,
}

/// Parameters of the single-diode model.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Diode {
    light_a: f64,
    saturation_a: f64,
    /// Thermal volts times ideality times cells, V.
    slope_v: f64,
    series_ohm: f64,
    shunt_a_per_v: f64,
}

impl Diode {
    fn at(sheet: &PanelSheet) -> Self {
        let thermal_ev = BOLTZMANN_EV_K * STANDARD_K;
        let saturation_per_k = 3.0 / STANDARD_K
            + BAND_GAP_EV / (thermal_ev * STANDARD_K)
            + BAND_GAP_PER_K * BAND_GAP_EV / thermal_ev;
        let slope_v = sheet.voc_v * (1.0 / STANDARD_K - sheet.voc_per_c)
            / (saturation_per_k - sheet.isc_per_c);
        Self::with_shunt(sheet, slope_v)
            .or_else(|| Self::without_shunt(sheet, slope_v))
            .unwrap_or_else(|| Self::plain(sheet))
    }

    /// Through the three points and level in power at the middle one.
    fn with_shunt(sheet: &PanelSheet, slope_v: f64) -> Option<Self> {
        let most_ohm = (sheet.voc_v - sheet.vmp_v) / sheet.imp_a;
        let tilt = |series_ohm: f64| {
            let diode = Self::through(sheet, slope_v, series_ohm);
            let x = sheet.vmp_v + sheet.imp_a * series_ohm;
            let per_v = diode.saturation_a / slope_v * libm::exp(x / slope_v) + diode.shunt_a_per_v;
            per_v / (1.0 + series_ohm * per_v) - sheet.imp_a / sheet.vmp_v
        };
        let at = |step: u32| most_ohm * f64::from(step) / f64::from(SEARCH_STEPS);
        let step = (1..SEARCH_STEPS).find(|step| tilt(at(step - 1)) * tilt(at(*step)) <= 0.0)?;
        let (mut low, mut high) = (at(step - 1), at(step));
        let low_side = tilt(low) > 0.0;
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if (tilt(middle) > 0.0) == low_side { low = middle } else { high = middle }
        }
        let diode = Self::through(sheet, slope_v, (low + high) / 2.0);
        let good = diode.shunt_a_per_v >= 0.0 && diode.saturation_a > 0.0 && diode.light_a > 0.0;
        good.then_some(diode)
    }

    /// Through short circuit, open circuit and maximum-power point with a series resistance given:
    /// linear in the three other parameters.
    fn through(sheet: &PanelSheet, slope_v: f64, series_ohm: f64) -> Self {
        let x = [sheet.isc_a * series_ohm, sheet.voc_v, sheet.vmp_v + sheet.imp_a * series_ohm];
        let grown = x.map(|x| libm::expm1(x / slope_v));
        // Rows  I0 (grown - grown at short) + g (x - x at short) = Isc - I.
        let (open, best) = ((grown[1] - grown[0], x[1] - x[0]), (grown[2] - grown[0], x[2] - x[0]));
        let (open_a, best_a) = (sheet.isc_a, sheet.isc_a - sheet.imp_a);
        let det = open.0 * best.1 - open.1 * best.0;
        let saturation_a = (open_a * best.1 - open.1 * best_a) / det;
        let shunt_a_per_v = (open.0 * best_a - open_a * best.0) / det;
        Self {
            light_a: sheet.isc_a + saturation_a * grown[0] + shunt_a_per_v * x[0],
            saturation_a,
            slope_v,
            series_ohm,
            shunt_a_per_v,
        }
    }

    /// Through the three points, all that falls before the knee by the series resistance.
    fn without_shunt(sheet: &PanelSheet, slope_v: f64) -> Option<Self> {
        let saturation_a = sheet.isc_a / libm::expm1(sheet.voc_v / slope_v);
        let best_x = slope_v * libm::log(1.0 + (sheet.isc_a - sheet.imp_a) / saturation_a);
        let series_ohm = (best_x - sheet.vmp_v) / sheet.imp_a;
        (series_ohm >= 0.0).then_some(Self {
            light_a: sheet.isc_a,
            saturation_a,
            slope_v,
            series_ohm,
            shunt_a_per_v: 0.0,
        })
    }

    /// Through the three points with nothing but the exponential.
    fn plain(sheet: &PanelSheet) -> Self {
        let slope_v = (sheet.vmp_v - sheet.voc_v) / libm::log(1.0 - sheet.imp_a / sheet.isc_a);
        Self {
            light_a: sheet.isc_a,
            saturation_a: sheet.isc_a / libm::expm1(sheet.voc_v / slope_v),
            slope_v,
            series_ohm: 0.0,
            shunt_a_per_v: 0.0,
        }
    }

    /// Current at volts, A; none above the open-circuit volts: a blocking diode is part of the
    /// controller.
    fn current_a(&self, volts: f64) -> f64 {
        let at = |x: f64| {
            self.light_a
                - self.saturation_a * libm::expm1(x / self.slope_v)
                - self.shunt_a_per_v * x
        };
        if at(volts) <= 0.0 {
            return 0.0;
        }
        // Newton from above: the excess x - V - Rs I(x) rises and bends upwards, so x only falls.
        let mut x = volts + self.series_ohm * self.light_a;
        for _ in 0..MOST_ROUNDS {
            let per_v =
                self.saturation_a / self.slope_v * libm::exp(x / self.slope_v) + self.shunt_a_per_v;
            let less = (x - volts - self.series_ohm * at(x)) / (1.0 + self.series_ohm * per_v);
            x -= less;
            if less < 1e-12 {
                break;
            }
        }
        at(x).max(0.0)
    }
}

impl PanelShape {
    /// The curve of an array whose panels stand in strings of `sheet.in_series`.
    #[must_use]
    pub fn new(array: &Array, sheet: &PanelSheet) -> Self {
        let in_series = f64::from(sheet.in_series.max(1));
        let parallel = f64::from(array.count) / in_series;
        Self {
            diode: Diode::at(sheet),
            open_v: sheet.voc_v,
            open_per_c: sheet.voc_per_c,
            short_per_c: sheet.isc_per_c,
            noct_c: array.noct_c,
            in_series,
            times_current: parallel * PanelArray::from(array).kept_share,
        }
    }

    /// Current at volts of the panels, A; never below zero.
    #[must_use]
    pub fn current_a(&self, in_plane_w_m2: f64, air_c: f64, volts: f64) -> f64 {
        self.current_at_cell_a(in_plane_w_m2, cell_c(in_plane_w_m2, air_c, self.noct_c), volts)
    }

    /// The same with the cell temperature given, deg C.
    #[must_use]
    pub fn current_at_cell_a(&self, in_plane_w_m2: f64, cell_c: f64, volts: f64) -> f64 {
        if in_plane_w_m2 <= 0.0 {
            return 0.0;
        }
        let warmer_k = cell_c - 25.0;
        let slope_v = self.diode.slope_v * (1.0 + warmer_k / STANDARD_K).max(0.1);
        let light_a = (self.diode.light_a * (1.0 + self.short_per_c * warmer_k)).max(0.0);
        let open_v = self.open_v * (1.0 + self.open_per_c * warmer_k).max(0.1);
        let saturation_a =
            (light_a - self.diode.shunt_a_per_v * open_v) / libm::expm1(open_v / slope_v);
        let sun = in_plane_w_m2 / 1000.0;
        let now = Diode {
            light_a: light_a * sun,
            saturation_a,
            slope_v,
            series_ohm: self.diode.series_ohm,
            shunt_a_per_v: self.diode.shunt_a_per_v * sun,
        };
        self.times_current * now.current_a(volts / self.in_series)
    }
}
