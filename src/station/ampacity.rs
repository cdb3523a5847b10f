//! What a copper wire carries without harm to its insulation.
//!
//! Amperes by gauge and insulation temperature in air of 30 deg C: US 33 CFR 183.425, table 5, copper
//! below 50 V. Other air: `sqrt((T_i - T_a) / (T_i - 30))`, NEC 310.15(B), from memory; the table's own
//! factors for engine spaces of 50 deg C come out of it. Bundles: NEC 310.15(C)(1), from memory, by the
//! number of conductors that carry current. An area between two gauges counts as the thinner one, an
//! insulation between two columns as the cooler one. Trust: checked against published values.

use super::wire::awg_area_mm2;
use crate::scenario::loads::Wire;

/// Insulation temperatures of the table's columns, deg C.
pub const INSULATION_C: [f64; 7] = [60.0, 75.0, 80.0, 90.0, 105.0, 125.0, 200.0];

/// American wire gauge, then amperes by column of [`INSULATION_C`], thinnest first.
pub const TABLE: [(i32, [f64; 7]); 15] = [
    (18, [10.0, 10.0, 15.0, 20.0, 20.0, 25.0, 25.0]),
    (16, [15.0, 15.0, 20.0, 25.0, 25.0, 30.0, 35.0]),
    (14, [20.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0]),
    (12, [25.0, 25.0, 35.0, 40.0, 45.0, 50.0, 55.0]),
    (10, [40.0, 40.0, 50.0, 55.0, 60.0, 70.0, 70.0]),
    (8, [55.0, 65.0, 70.0, 70.0, 80.0, 90.0, 100.0]),
    (6, [80.0, 95.0, 100.0, 100.0, 120.0, 125.0, 135.0]),
    (4, [105.0, 125.0, 130.0, 135.0, 160.0, 170.0, 180.0]),
    (3, [120.0, 145.0, 150.0, 155.0, 180.0, 195.0, 210.0]),
    (2, [140.0, 170.0, 175.0, 180.0, 210.0, 225.0, 240.0]),
    (1, [165.0, 195.0, 210.0, 210.0, 245.0, 265.0, 280.0]),
    (0, [195.0, 230.0, 245.0, 245.0, 285.0, 305.0, 325.0]),
    (-1, [225.0, 265.0, 285.0, 285.0, 330.0, 355.0, 370.0]),
    (-2, [260.0, 310.0, 330.0, 330.0, 385.0, 410.0, 430.0]),
    (-3, [300.0, 360.0, 385.0, 385.0, 445.0, 475.0, 510.0]),
];

/// Air of the table, deg C.
pub const TABLE_AIR_C: f64 = 30.0;
/// An area this much below a gauge's still counts as that gauge: areas are printed rounded.
const ROUNDED: f64 = 0.98;

/// Amperes of the table for a copper area and an insulation; `None` below the thinnest gauge or the
/// coolest insulation.
#[must_use]
pub fn in_table_a(area_mm2: f64, insulation_c: f64) -> Option<f64> {
    let column = INSULATION_C.iter().rposition(|column_c| *column_c <= insulation_c)?;
    let fits = |gauge: i32| area_mm2 >= ROUNDED * awg_area_mm2(gauge);
    TABLE.iter().rev().find(|(gauge, _)| fits(*gauge)).map(|(_, amperes)| amperes[column])
}

/// Share of that in other air; 0 where the air is as hot as the insulation may be.
#[must_use]
pub fn air_share(insulation_c: f64, air_c: f64) -> f64 {
    libm::sqrt(((insulation_c - air_c) / (insulation_c - TABLE_AIR_C)).max(0.0))
}

/// Share of that for each of `conductors` that carry current side by side.
#[must_use]
pub fn bundle_share(conductors: u32) -> f64 {
    match conductors {
        0..=3 => 1.0,
        4..=6 => 0.80,
        7..=9 => 0.70,
        10..=20 => 0.50,
        21..=30 => 0.45,
        31..=40 => 0.40,
        _ => 0.35,
    }
}

/// What a wire carries where it lies, with an insulation made for `insulation_c`, A; `None` where the
/// table says nothing.
#[must_use]
pub fn allowable_a(wire: &Wire, insulation_c: f64) -> Option<f64> {
    let table_a = in_table_a(super::wire::area_mm2(wire)?, insulation_c)?;
    let bundle = wire.bundled.map_or(1.0, bundle_share);
    Some(table_a * air_share(insulation_c, air_c(wire)) * bundle)
}

/// Warmest air around a wire, deg C; that of the table where nobody says.
#[must_use]
pub fn air_c(wire: &Wire) -> f64 {
    wire.surroundings_c.unwrap_or(TABLE_AIR_C)
}
