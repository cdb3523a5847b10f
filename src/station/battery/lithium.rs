//! Lithium iron phosphate cells.
//!
//! Open-circuit curve: the ten breakpoints of the mean C/32 curve of Sunil et al., IEEE Trans.
//! Instrum. Meas. 2025. Resistance 0.19 ohm Ah a cell over its capacity, lag of the surface 0.07 h
//! charging and 0.10 h discharging, gap 20 mV a cell between charging and discharging: fitted by
//! hand to porous-electrode runs of the open library PyBaMM 26.10 (parameter set Prada2013).
//! Trust: checked against published values (charging of a 45 Ah pack); volts while discharging hard
//! in the cold are not modelled.

use super::curve::Curve;
use super::one_well::{Constants, OneWell};
use crate::scenario::battery::LithiumIronPhosphate;

/// Open-circuit volts of one cell by charge share.
pub const CELL_CURVE: [(f64, f64); 10] = [
    (0.0, 2.0102),
    (0.0033, 2.4177),
    (0.0117, 2.7405),
    (0.0267, 2.9299),
    (0.0534, 3.0872),
    (0.0885, 3.1942),
    (0.2972, 3.2772),
    (0.9833, 3.3511),
    (0.9950, 3.4180),
    (1.0, 3.5981),
];

/// Resistance of a cell times its rated capacity, ohm Ah.
pub const CELL_OHM_AH: f64 = 0.19;
/// Lag of the surface while charging, h.
pub const LAG_CHARGE_H: f64 = 0.07;
/// Lag of the surface while discharging, h.
pub const LAG_DISCHARGE_H: f64 = 0.10;
/// Gap between the charging and the discharging curve of a cell, V.
pub const CELL_GAP_V: f64 = 0.020;
/// Volts by which a cell is named, V.
pub const CELL_NOMINAL_V: f64 = 3.2;

/// What stands in for a capacity that is not given, Ah: the check refuses that.
const LEAST_AH: f64 = 1e-6;

/// The bank of equal strings (see [`super::register`] for packs).
#[must_use]
pub fn bank(cells: &LithiumIronPhosphate) -> OneWell {
    let in_series = f64::from(cells.cells_in_series);
    let strings = f64::from(cells.strings);
    let curve: Vec<_> =
        CELL_CURVE.iter().map(|(share, volts)| (*share, volts * in_series)).collect();
    let string_ah = cells.capacity_ah.unwrap_or(LEAST_AH);
    let string_ohm = in_series * CELL_OHM_AH / string_ah + cells.pack_resistance_ohm;
    OneWell {
        charge_limit_a: cells.charge_limit_a * strings,
        discharge_limit_a: cells.discharge_limit_a * strings,
        board_open_v: cells.cell_cutoff_v * in_series,
        board_close_v: cells.cell_reconnect_v * in_series,
        charge_inhibit_c: Some((cells.charge_inhibit.below_c, cells.charge_inhibit.resume_above_c)),
        usable_at_c: cells
            .usable_share_at_c
            .iter()
            .map(|point| (point.cell_c, point.usable_share))
            .collect(),
        ..OneWell::new(
            Curve::through(&curve),
            &Constants {
                capacity_ah: string_ah * cells.age_capacity_share * strings,
                resistance_ohm: string_ohm / strings,
                lag_charge_h: LAG_CHARGE_H,
                lag_discharge_h: LAG_DISCHARGE_H,
                half_gap_v: CELL_GAP_V * in_series / 2.0,
                self_discharge_share_month: cells.self_discharge_share_month,
                nominal_v: CELL_NOMINAL_V * in_series,
            },
        )
    }
}
