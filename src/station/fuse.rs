//! Fuses: what they carry, what they break, where they belong.
//!
//! A fuse carries 1.25 times what flows for hours (NEC 210.20 and 215.3). It is no more than the wire
//! carries, or at the most 150 % of that below 50 V (33 CFR 183.455). It stands within 7 inches of
//! what feeds a fault, 40 inches where the lead before it lies in a sheath or a box (33 CFR 183.455).
//! Into a short circuit flows `I = V / R` with everything before the fuse in R. Trust: checked against
//! published values.

/// Rating over what flows for hours.
pub const CONTINUOUS: f64 = 1.25;
/// Rating over ampacity, at the most, below 50 V.
pub const MOST_OF_AMPACITY: f64 = 1.50;
/// Length of bare lead before it, at the most, m: 7 inches.
pub const NEAR_M: f64 = 7.0 * 0.0254;
/// The same in a sheath or a box, m: 40 inches.
pub const NEAR_SHEATHED_M: f64 = 40.0 * 0.0254;
/// What an ordinary blade fuse breaks at 32 V, A: a maker's data sheet.
pub const BLADE_INTERRUPT_A: f64 = 1000.0;
/// Panel-side wire and fuse over short-circuit current: 1.25 x 1.25, NEC 690.8.
pub const PANEL_SIDE: f64 = 1.25 * 1.25;

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
