//! Fuses: what they carry, what they break, where they belong.
//!
//! A fuse carries 1.25 times what flows for hours (NEC 210.20 and 215.3). It is no more than the wire
//! carries, or at the most 150 % of that below 50 V (33 CFR 183.455). It stands within 7 inches of
//! what feeds a fault, 40 inches where the lead before it lies in a sheath or a box (33 CFR 183.455).
//! Into a short circuit flows `I = V / R` with everything before the fuse in R. Where the datasheet of
//! the battery is not at hand, R is that of its kind, in proportion to its cells over its capacity.
//! Trust: checked against published values; what batteries of a kind give into a short circuit is
//! plausible.

/// Rating over what flows for hours.
pub const CONTINUOUS: f64 = 1.25;
/// Rating over ampacity, at the most, below 50 V.
pub const MOST_OF_AMPACITY: f64 = 1.50;
/// Volts up to which that holds, V.
pub const LOW_V: f64 = 50.0;
/// Length of bare lead before it, at the most, m: 7 inches.
pub const NEAR_M: f64 = 7.0 * 0.0254;
/// The same in a sheath or a box, m: 40 inches.
pub const NEAR_SHEATHED_M: f64 = 40.0 * 0.0254;
/// What an ordinary blade fuse breaks at 32 V, A: a maker's data sheet.
pub const BLADE_INTERRUPT_A: f64 = 1000.0;
/// Panel-side wire and fuse over short-circuit current: 1.25 x 1.25, NEC 690.8.
pub const PANEL_SIDE: f64 = 1.25 * 1.25;

/// Strings of panels side by side that need no fuse of their own: NEC 690.9, IEC 62548.
pub const STRINGS_WITHOUT_FUSE: f64 = 2.0;
/// Fuse of a string over its short-circuit current, at the most: IEC 62548, from memory.
pub const STRING_FUSE_MOST: f64 = 2.4;

/// Sizes in which fuses are sold, A: blade fuses of ISO 8820-3 up to 40 A, from memory, then NEC
/// 240.6(A).
pub const STANDARD_A: [f64; 38] = [
    1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0,
    80.0, 90.0, 100.0, 110.0, 125.0, 150.0, 175.0, 200.0, 225.0, 250.0, 300.0, 350.0, 400.0, 450.0,
    500.0, 600.0, 700.0, 800.0, 1000.0, 1200.0, 1600.0,
];

/// Resistance into a short circuit of a lithium iron phosphate cell of 100 Ah, ohm: a strong one and
/// a weak one. 3 and 5 mohm for four of them, common practice, no source.
pub const LITHIUM_CELL_OHM: [f64; 2] = [0.003 / 4.0, 0.005 / 4.0];
/// The same of a lead-acid cell of 100 Ah: 4 and 7 mohm for six of them, common practice, no source.
/// Ten times the one-minute rate, some 300 A, comes to the strong one (IEEE 946, from memory).
pub const ACID_CELL_OHM: [f64; 2] = [0.004 / 6.0, 0.007 / 6.0];

/// Resistance into a short circuit of a battery of a kind, ohm: that of a cell of 100 Ah times cells in
/// series, over the capacity of all that stands side by side.
#[must_use]
pub fn usual_ohm(cell_ohm: f64, cells_in_series: u32, capacity_ah: f64) -> f64 {
    cell_ohm * f64::from(cells_in_series) * 100.0 / capacity_ah
}

/// The largest fuse of [`STANDARD_A`] at or below some amperes, A.
#[must_use]
pub fn at_most_a(amperes: f64) -> Option<f64> {
    STANDARD_A.into_iter().rev().find(|it| *it <= amperes * (1.0 + 1e-9))
}

/// The smallest fuse of [`STANDARD_A`] at or above some amperes, A; beyond the table the amperes
/// themselves.
#[must_use]
pub fn at_least_a(amperes: f64) -> f64 {
    STANDARD_A.into_iter().find(|it| *it >= amperes * (1.0 - 1e-9)).unwrap_or(amperes)
}

/// Current into a short circuit, A.
#[must_use]
pub fn short_circuit_a(open_v: f64, ohm: f64) -> f64 {
    open_v / ohm
}

/// The least rating for a current that flows for hours, A.
#[must_use]
pub fn least_rating_a(continuous_a: f64) -> f64 {
    CONTINUOUS * continuous_a
}
