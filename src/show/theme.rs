//! The one table of colours, patterns, line styles and type sizes.
//!
//! Every quantity keeps its look in every picture. Looks differ in lightness and, where the
//! lightness comes close, in pattern, so that they stay apart for colour-blind readers and on grey
//! paper; `tests/pictures.rs` checks that under the matrices of Machado, Oliveira & Fernandes,
//! "A Physiologically-based Model for Simulation of Color Vision Deficiency", IEEE TVCG 15(6), 2009.

/// A colour, red, green, blue 0..255.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Ink(pub u8, pub u8, pub u8);

/// A pattern of parallel lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Hatch {
    /// Rising to the right.
    Rising,
    /// Falling to the right.
    Falling,
    /// Level lines.
    Level,
    /// Upright lines.
    Upright,
}

/// How an area is filled: a plain colour, with lines over it if stated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fill {
    /// The plain colour beneath.
    pub base: Ink,
    /// Lines over it and their colour.
    pub lines: Option<(Hatch, Ink)>,
    /// Distance between lines, px.
    pub gap_px: f64,
    /// Edge of areas that would be lost on white paper.
    pub edge: Option<Ink>,
}

const fn plain(base: Ink) -> Fill {
    Fill { base, lines: None, gap_px: 4.0, edge: None }
}

const fn hatched(base: Ink, hatch: Hatch, lines: Ink, gap_px: f64) -> Fill {
    Fill { base, lines: Some((hatch, lines)), gap_px, edge: Some(lines) }
}

/// How a line runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dash {
    /// Unbroken.
    Solid,
    /// Long strokes.
    Dashed,
    /// Points.
    Dotted,
    /// Long strokes with a point between.
    DashDotted,
    /// Strokes twice as long, far apart.
    LongDashed,
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Its colour.
    pub ink: Ink,
    /// Its width, px.
    pub width_px: f64,
    /// How it runs.
    pub dash: Dash,
}

const fn pen(ink: Ink, width_px: f64, dash: Dash) -> Pen {
    Pen { ink, width_px, dash }
}

/// Where the given point lies in a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// At its beginning.
    Start,
    /// In its middle.
    Middle,
    /// At its end.
    End,
}

/// How a text is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Type {
    /// Size of the letters, px.
    pub size_px: f64,
    /// Bold or regular.
    pub bold: bool,
    /// Its colour.
    pub ink: Ink,
    /// Where the given point lies.
    pub anchor: Anchor,
}

impl Type {
    /// The same with another anchor.
    #[must_use]
    pub const fn at(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }

    /// The same in another colour.
    #[must_use]
    pub const fn in_ink(self, ink: Ink) -> Self {
        Self { ink, ..self }
    }

    /// The same in bold.
    #[must_use]
    pub const fn strong(self) -> Self {
        Self { bold: true, ..self }
    }
}

const fn set(size_px: f64, bold: bool, ink: Ink) -> Type {
    Type { size_px, bold, ink, anchor: Anchor::Start }
}

/// Family asked for; the others stand in where it is missing and are about as wide.
pub const FONT_FAMILY: &str = "DejaVu Sans, Verdana, sans-serif";

/// Width of a picture, px: what a README shows without shrinking.
pub const WIDTH_PX: f64 = 900.0;
/// Free rim of a picture, px.
pub const RIM_PX: f64 = 16.0;

/// The ground of a picture.
pub const PAPER: Ink = Ink(0xFF, 0xFF, 0xFF);
/// Titles, numbers, names.
pub const TEXT: Ink = Ink(0x1C, 0x25, 0x2E);
/// Subtitles, axis labels.
pub const QUIET: Ink = Ink(0x55, 0x60, 0x6B);
/// Axis lines and ticks.
pub const RULE: Ink = Ink(0x9A, 0xA3, 0xAC);
/// Hair lines behind the data.
pub const HAIR: Ink = Ink(0xDD, 0xE1, 0xE5);
/// Nights behind the data.
pub const NIGHT: Ink = Ink(0xEC, 0xEF, 0xF2);

/// Amber: the sun.
pub const AMBER: Ink = Ink(0xE3, 0x96, 0x2E);
/// Deep amber, for lines and text on paper.
pub const AMBER_DEEP: Ink = Ink(0x8F, 0x56, 0x0C);
/// Plum: the mains.
pub const PLUM: Ink = Ink(0x5E, 0x33, 0x87);
/// Pale plum.
pub const PLUM_PALE: Ink = Ink(0xDD, 0xD0, 0xE9);
/// Petrol: the battery.
pub const PETROL: Ink = Ink(0x1B, 0x7B, 0x8F);
/// Pale petrol.
pub const PETROL_PALE: Ink = Ink(0xD3, 0xE8, 0xEC);
/// Middle petrol: ranges behind a line.
pub const PETROL_MID: Ink = Ink(0xA6, 0xCC, 0xD4);
/// Slate: what the loads got, as lines and text.
pub const SLATE: Ink = Ink(0x2B, 0x36, 0x42);
/// Lighter slate, for areas.
pub const SLATE_MID: Ink = Ink(0x58, 0x66, 0x72);
/// Crimson: what is missing or forbidden.
pub const CRIMSON: Ink = Ink(0xB0, 0x20, 0x2E);
/// Faded crimson.
pub const CRIMSON_FADED: Ink = Ink(0xE2, 0xB4, 0xB8);
/// Pale crimson.
pub const CRIMSON_PALE: Ink = Ink(0xFB, 0xE9, 0xEA);
/// Clay: what the controllers draw themselves.
pub const CLAY: Ink = Ink(0xA7, 0x98, 0x84);
/// Ash: losses.
pub const ASH: Ink = Ink(0xE3, 0xE6, 0xE9);

/// Olive: the generator.
pub const OLIVE: Ink = Ink(0x7F, 0x8C, 0x3A);
/// Deep olive, for text on paper.
pub const OLIVE_DEEP: Ink = Ink(0x55, 0x60, 0x1E);
/// Pale olive.
pub const OLIVE_PALE: Ink = Ink(0xF0, 0xF3, 0xDC);
/// Umber: the vehicle.
pub const UMBER: Ink = Ink(0x7A, 0x5C, 0x3E);

/// Sun used.
pub const SUN_FILL: Fill = plain(AMBER);
/// Mains, all of it or what went to loads.
pub const MAINS_FILL: Fill = plain(PLUM);
/// Mains that went into the battery.
pub const MAINS_STORED_FILL: Fill = hatched(PLUM_PALE, Hatch::Rising, PLUM, 4.0);
/// Generator, all of it or what went to loads.
pub const GENERATOR_FILL: Fill = plain(OLIVE);
/// Generator that went into the battery.
pub const GENERATOR_STORED_FILL: Fill = hatched(OLIVE_PALE, Hatch::Rising, OLIVE, 4.0);
/// Vehicle.
pub const VEHICLE_FILL: Fill = hatched(UMBER, Hatch::Upright, PAPER, 6.0);
/// Energy into the battery.
pub const STORED_FILL: Fill = hatched(PETROL, Hatch::Rising, PETROL_MID, 6.0);
/// Energy out of the battery.
pub const DRAWN_FILL: Fill = hatched(PETROL_PALE, Hatch::Level, PETROL, 4.0);
/// Load served.
pub const SERVED_FILL: Fill = plain(SLATE_MID);
/// Load not served.
pub const UNSERVED_FILL: Fill = hatched(CRIMSON_PALE, Hatch::Falling, CRIMSON, 4.0);
/// What controllers draw themselves.
pub const STANDBY_FILL: Fill = hatched(CLAY, Hatch::Falling, PAPER, 5.0);
/// What the heater of the battery draws.
pub const HEATER_FILL: Fill = hatched(CLAY, Hatch::Level, PAPER, 4.0);
/// Losses.
pub const LOSS_FILL: Fill = hatched(ASH, Hatch::Upright, QUIET, 5.0);
/// Grid down.
pub const GRID_DOWN_FILL: Fill = hatched(PAPER, Hatch::Rising, QUIET, 3.5);
/// A tier in force.
pub const TIER_FILL: Fill = plain(QUIET);
/// Loads disconnected.
pub const OPEN_FILL: Fill = hatched(CRIMSON_PALE, Hatch::Upright, CRIMSON, 3.5);
/// A tier in force in which the station does not count as on the air.
pub const TIER_OFF_AIR_FILL: Fill = hatched(PAPER, Hatch::Level, CRIMSON, 3.0);
/// Off the air.
pub const OFF_AIR_FILL: Fill = plain(CRIMSON);

/// Hours off the air behind a line.
pub const OFF_AIR_BAND_FILL: Fill = hatched(CRIMSON_PALE, Hatch::Falling, CRIMSON_FADED, 8.0);
/// The range that a line moved in.
pub const RANGE_FILL: Fill = plain(PETROL_MID);

/// Trials that only one of two stations carries, or that the loss of a part costs.
pub const ONLY_ONE_FILL: Fill = plain(PETROL);
/// The same where the trials are too few to call one of them better.
pub const TOO_FEW_FILL: Fill = hatched(PAPER, Hatch::Falling, PETROL, 5.0);
/// Fills that stand for quantities, with their names; the tests compare all pairs.
pub const FILLS: [(&str, Fill); 13] = [
    ("sun", SUN_FILL),
    ("mains", MAINS_FILL),
    ("mains into the battery", MAINS_STORED_FILL),
    ("generator", GENERATOR_FILL),
    ("generator into the battery", GENERATOR_STORED_FILL),
    ("vehicle", VEHICLE_FILL),
    ("into the battery", STORED_FILL),
    ("out of the battery", DRAWN_FILL),
    ("served", SERVED_FILL),
    ("unserved", UNSERVED_FILL),
    ("standby", STANDBY_FILL),
    ("heater", HEATER_FILL),
    ("losses", LOSS_FILL),
];

/// The leading line of a picture.
pub const MAIN_PEN: Pen = pen(PETROL, 2.2, Dash::Solid);
/// The leading line while the station is off the air.
pub const OFF_AIR_PEN: Pen = pen(CRIMSON, 2.2, Dash::Solid);
/// The leading line where it is crowded.
pub const THIN_MAIN_PEN: Pen = pen(PETROL, 1.2, Dash::Solid);
/// The edge of a pale range, so that it is seen on a night in grey.
pub const EDGE_PEN: Pen = pen(PETROL, 0.8, Dash::Solid);
/// The line that was asked for among others like it: the darkest and thickest, in grey too.
pub const ASKED_PEN: Pen = pen(TEXT, 2.6, Dash::Solid);
/// The others.
pub const OTHER_PEN: Pen = pen(SLATE_MID, 1.1, Dash::Solid);
/// The second line.
pub const SECOND_PEN: Pen = pen(SLATE, 1.1, Dash::Solid);
/// Energy that was there and was refused.
pub const REFUSED_PEN: Pen = pen(AMBER_DEEP, 1.3, Dash::Solid);
/// What the top tier would want besides.
pub const SHED_PEN: Pen = pen(QUIET, 1.3, Dash::Dotted);
/// A bound that must not be crossed.
pub const BOUND_PEN: Pen = pen(CRIMSON, 1.4, Dash::Dashed);
/// Volts at which the disconnect opens.
pub const OPEN_PEN: Pen = pen(SLATE, 1.2, Dash::Dotted);
/// Charge that the cold locks.
pub const LOCKED_PEN: Pen = pen(SLATE, 1.2, Dash::Dotted);
/// A set point.
pub const SET_POINT_PEN: Pen = pen(AMBER_DEEP, 1.2, Dash::Dashed);
/// Stations side by side, in their order; each is named at the end of its line.
pub const SIDE_PENS: [Pen; 8] = [
    pen(PETROL, 2.6, Dash::Solid),
    pen(PLUM, 1.8, Dash::Dashed),
    pen(AMBER_DEEP, 2.0, Dash::Dotted),
    pen(SLATE, 1.1, Dash::Solid),
    pen(OLIVE_DEEP, 1.6, Dash::DashDotted),
    pen(UMBER, 1.6, Dash::LongDashed),
    pen(PLUM, 1.0, Dash::Dotted),
    pen(PETROL, 0.8, Dash::Solid),
];
/// Axis lines and ticks.
pub const AXIS_PEN: Pen = pen(RULE, 1.0, Dash::Solid);
/// Hair lines behind the data.
pub const HAIR_PEN: Pen = pen(HAIR, 0.8, Dash::Solid);
/// From a label to its line.
pub const LEADER_PEN: Pen = pen(RULE, 0.8, Dash::Solid);

/// The finding.
pub const TITLE: Type = set(18.0, true, TEXT);
/// What is drawn.
pub const SUBTITLE: Type = set(12.5, false, QUIET);
/// Names and values beside the data.
pub const LABEL: Type = set(12.0, false, TEXT);
/// Ticks, lanes and small notes.
pub const SMALL: Type = set(11.0, false, QUIET);
