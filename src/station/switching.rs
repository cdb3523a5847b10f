//! Panels at battery volts.
//!
//! The current of a panel at volts V from four points of its datasheet:
//! `I = Isc (1 - C1 (e^(V / (C2 Voc)) - 1))`, `C2 = (Vmp/Voc - 1) / ln(1 - Imp/Isc)`,
//! `C1 = (1 - Imp/Isc) e^(-Vmp / (C2 Voc))` (the usual explicit form of the single-diode curve;
//! textbook, from memory). Light scales Isc; Voc follows `Voc (1 + beta (Tc - 25)) + a ln(G/1000)`
//! with a the thermal volts of the cells, and the curve shifts with it. Named losses scale the
//! current. Trust: plausible; compared with a single-diode model.

use super::panel::{PanelArray, cell_c};
use crate::scenario::sources::{Array, PanelSheet};

/// Volts by which a cell falls when the light falls by a factor e, V: kT/q at 25 deg C times an
/// ideality factor of 1.1 (common practice, no source).
const CELL_THERMAL_V: f64 = 0.0257 * 1.1;
/// Open-circuit volts of a silicon cell by which cells are counted, V: common practice, no source.
const CELL_OPEN_V: f64 = 0.61;

/// The curve of an array.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PanelShape {
    short_a: f64,
    open_v: f64,
    c1: f64,
    c2: f64,
    thermal_v: f64,
    open_per_c: f64,
    short_per_c: f64,
    noct_c: f64,
}

impl PanelShape {
    /// The curve of an array whose panels stand in strings of `sheet.in_series`.
    #[must_use]
    pub fn new(array: &Array, sheet: &PanelSheet) -> Self {
        let series = f64::from(sheet.in_series.max(1));
        let parallel = f64::from(array.count) / series;
        let c2 = (sheet.vmp_v / sheet.voc_v - 1.0) / libm::log(1.0 - sheet.imp_a / sheet.isc_a);
        let c1 =
            (1.0 - sheet.imp_a / sheet.isc_a) * libm::exp(-sheet.vmp_v / (c2 * sheet.voc_v));
        Self {
            short_a: sheet.isc_a * parallel * PanelArray::from(array).kept_share,
            open_v: sheet.voc_v * series,
            c1,
            c2,
            thermal_v: CELL_THERMAL_V * (sheet.voc_v / CELL_OPEN_V).round() * series,
            open_per_c: sheet.voc_per_c,
            short_per_c: sheet.isc_per_c,
            noct_c: array.noct_c,
        }
    }

    /// Current at volts of the panels, A; never below zero: a blocking diode is part of the
    /// controller.
    #[must_use]
    pub fn current_a(&self, plane_w_m2: f64, air_c: f64, volts: f64) -> f64 {
        self.current_at_cell_a(plane_w_m2, cell_c(plane_w_m2, air_c, self.noct_c), volts)
    }

    /// The same with the cell temperature given, deg C.
    #[must_use]
    pub fn current_at_cell_a(&self, plane_w_m2: f64, cell_c: f64, volts: f64) -> f64 {
        if plane_w_m2 <= 0.0 {
            return 0.0;
        }
        let sun = plane_w_m2 / 1000.0;
        let short_a = self.short_a * sun * (1.0 + self.short_per_c * (cell_c - 25.0));
        let open_v = self.open_v * (1.0 + self.open_per_c * (cell_c - 25.0))
            + self.thermal_v * libm::log(sun);
        // The curve at standard conditions, shifted so that it ends at these open-circuit volts.
        let shifted_v = volts + self.open_v - open_v;
        let bend = self.c1 * libm::expm1(shifted_v / (self.c2 * self.open_v));
        (short_a * (1.0 - bend)).max(0.0)
    }
}
