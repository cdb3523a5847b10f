//! Air that charging lead-acid cells need.
//!
//! `Q = 0.05 n I_gas C / 1000`, m3/h, from `v q s = 24 x 0.42e-3 x 5`: IEC 62485-2 (before:
//! EN 50272-2), hydrogen kept below 4 % with a safety factor of 5. `I_gas` in mA per Ah is that of
//! the standard's table for constant-voltage charging; the free opening for natural draught is
//! `28 Q` cm2 in and as much out. Trust: checked against published values.

use crate::scenario::battery::AcidKind;

/// Dilution times hydrogen per ampere-hour times safety factor, m3 per Ah and cell.
const AIR_M3_PER_AH: f64 = 0.05;
/// Opening for natural draught, cm2 per m3/h.
const OPENING_CM2_PER_M3_H: f64 = 28.0;

/// How the cells are charged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Charging {
    /// Kept full.
    Float,
    /// Charged at absorption volts.
    Boost,
}

/// Gassing current, mA per Ah: 5 and 20 for vented cells, 1 and 8 for valve-regulated ones.
#[must_use]
pub fn gassing_ma_per_ah(kind: AcidKind, charging: Charging) -> f64 {
    match (kind, charging) {
        (AcidKind::Flooded, Charging::Float) => 5.0,
        (AcidKind::Flooded, Charging::Boost) => 20.0,
        (AcidKind::Agm | AcidKind::Gel, Charging::Float) => 1.0,
        (AcidKind::Agm | AcidKind::Gel, Charging::Boost) => 8.0,
    }
}

/// Fresh air for a bank of `cells` in all, m3/h.
#[must_use]
pub fn air_m3_h(cells: u32, gassing_ma_per_ah: f64, capacity_ah: f64) -> f64 {
    AIR_M3_PER_AH * f64::from(cells) * gassing_ma_per_ah * capacity_ah * 1e-3
}

/// Free opening for natural draught, cm2, at the inlet and again at the outlet.
#[must_use]
pub fn opening_cm2(air_m3_h: f64) -> f64 {
    OPENING_CM2_PER_M3_H * air_m3_h
}
