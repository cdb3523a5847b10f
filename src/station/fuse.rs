//! Fuses: what they carry, what they break, where they belong.
//!
//! A fuse carries 1.25 times what flows for hours (NEC 210.20 and 215.3). It is no more than the wire
//! carries, or at most 150 % of that below 50 V (33 CFR 183.455). It stands within 7 inches of
//! what feeds a fault, 40 inches where the lead before it lies in a sheath or a box (33 CFR 183.455).
//! Into a short circuit flows `I = V / R` with everything before the fuse in R. Where the datasheet of
//! the battery is not at hand, R is that of its kind, in proportion to its cells over its capacity.
//! Trust: checked against published values; what batteries of a kind give into a short circuit is
//! plausible.

/// Rating over what flows for hours.
pub const CONTINUOUS: f64 = 1.25;
/// Rating over ampacity, at most, below 50 V.
pub const MOST_OF_AMPACITY: f64 = 1.50;
/// Volts up to which that holds, V.
pub const LOW_V: f64 = 50.0;
/// Length of bare lead before it, at most, m: 7 inches.
pub const NEAR_M: f64 = 7.0 * 0.0254;
/// The same in a sheath or a box, m: 40 inches.
pub const NEAR_SHEATHED_M: f64 = 40.0 * 0.0254;
/// What an ordinary blade fuse breaks at 32 V, A: a maker's data sheet.
pub const BLADE_INTERRUPT_A: f64 = 1000.0;
/// Panel-side wire and fuse over short-circuit current: 1.25 x 1.25, NEC 690.8.
pub const PANEL_SIDE: f64 = 1.25 * 1.25;

/// Strings of panels side by side that need no fuse of their own: NEC 690.9, IEC 62548.
pub const STRINGS_WITHOUT_FUSE: f64 = 2.0;
/// Fuse of a string over its short-circuit current, at most: IEC 62548, from memory.
pub const STRING_FUSE_MOST: f64 = 2.4;

/// A size in which fuses are sold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// Rated current, A.
    pub rated_a: f64,
    /// The standard that has it.
    pub series: &'static str,
}

const ISO: &str = "ISO 8820-3";
const IEC: &str = "IEC 60269";
const NEC: &str = "NEC 240.6(A)";
const EITHER: &str = "IEC 60269 or NEC 240.6(A)";

/// Sizes in which fuses are sold, by rising amperes: those of ISO 8820-3 up to 40 A, then those of IEC
/// 60269 and of NEC 240.6(A). All three from memory.
pub const SIZES: [Size; 43] = [
    size(1.0, ISO),
    size(2.0, ISO),
    size(3.0, ISO),
    size(4.0, ISO),
    size(5.0, ISO),
    size(7.5, ISO),
    size(10.0, ISO),
    size(15.0, ISO),
    size(20.0, ISO),
    size(25.0, ISO),
    size(30.0, ISO),
    size(35.0, ISO),
    size(40.0, ISO),
    size(45.0, NEC),
    size(50.0, EITHER),
    size(60.0, NEC),
    size(63.0, IEC),
    size(70.0, NEC),
    size(80.0, EITHER),
    size(90.0, NEC),
    size(100.0, EITHER),
    size(110.0, NEC),
    size(125.0, EITHER),
    size(150.0, NEC),
    size(160.0, IEC),
    size(175.0, NEC),
    size(200.0, EITHER),
    size(225.0, NEC),
    size(250.0, EITHER),
    size(300.0, NEC),
    size(315.0, IEC),
    size(350.0, NEC),
    size(400.0, EITHER),
    size(450.0, NEC),
    size(500.0, EITHER),
    size(600.0, NEC),
    size(630.0, IEC),
    size(700.0, NEC),
    size(800.0, EITHER),
    size(1000.0, EITHER),
    size(1200.0, NEC),
    size(1250.0, IEC),
    size(1600.0, NEC),
];

const fn size(rated_a: f64, series: &'static str) -> Size {
    Size { rated_a, series }
}

/// The smallest size that carries `least_a` and is no more than `most_a`; `None` when there is none.
#[must_use]
pub fn choose(least_a: f64, most_a: f64) -> Option<Size> {
    let smallest = SIZES.into_iter().find(|it| it.rated_a >= least_a * (1.0 - 1e-9))?;
    (smallest.rated_a <= most_a * (1.0 + 1e-9)).then_some(smallest)
}

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

/// The smallest fuse of [`SIZES`] at or above some amperes, A; beyond the table the amperes
/// themselves.
#[must_use]
pub fn at_least_a(amperes: f64) -> f64 {
    choose(amperes, f64::INFINITY).map_or(amperes, |it| it.rated_a)
}

/// Current into a short circuit, A.
#[must_use]
pub fn short_circuit_a(disconnect_v: f64, ohm: f64) -> f64 {
    disconnect_v / ohm
}

/// The least rating for a current that flows for hours, A.
#[must_use]
pub fn least_rating_a(continuous_a: f64) -> f64 {
    CONTINUOUS * continuous_a
}
