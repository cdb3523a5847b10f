//! Looks of the page: the same inks as the pictures, by day and by night.
//!
//! Pictures stay as they are drawn; where the reader's screen is dark, rules of the page repaint every
//! ink of theme by its counterpart. Paper is always light. `tests/report.rs` computes the contrast
//! of text against its ground by the formula of WCAG 2.1, by day and by night.

use std::fmt::Write;

use super::super::theme::{
    AMBER, AMBER_DEEP, ASH, CLAY, CRIMSON, CRIMSON_FADED, CRIMSON_PALE, HAIR, Ink, NIGHT, OLIVE,
    OLIVE_DEEP, OLIVE_PALE, PAPER, PETROL, PETROL_MID, PETROL_PALE, PLUM, PLUM_PALE, QUIET, RULE,
    SLATE, SLATE_MID, TEXT, UMBER,
};

/// The page's own rules.
const RULES: &str = include_str!("page.css");

/// Every ink of theme and its counterpart on a dark screen.
pub const BY_NIGHT: [(Ink, Ink); 24] = [
    (PAPER, Ink(0x17, 0x1C, 0x21)),
    (TEXT, Ink(0xE8, 0xEC, 0xEF)),
    (QUIET, Ink(0xAE, 0xB8, 0xC1)),
    (RULE, Ink(0x76, 0x82, 0x8D)),
    (HAIR, Ink(0x2F, 0x38, 0x40)),
    (NIGHT, Ink(0x21, 0x28, 0x2F)),
    (AMBER, Ink(0xE3, 0x96, 0x2E)),
    (AMBER_DEEP, Ink(0xF0, 0xB4, 0x5F)),
    (PLUM, Ink(0xB0, 0x8D, 0xD8)),
    (PLUM_PALE, Ink(0x3B, 0x2C, 0x4D)),
    (PETROL, Ink(0x63, 0xBE, 0xD1)),
    (PETROL_PALE, Ink(0x1D, 0x38, 0x40)),
    (PETROL_MID, Ink(0x2F, 0x64, 0x70)),
    (SLATE, Ink(0xD7, 0xDE, 0xE4)),
    (SLATE_MID, Ink(0x8C, 0x99, 0xA4)),
    (CRIMSON, Ink(0xF2, 0x87, 0x90)),
    (CRIMSON_FADED, Ink(0x7A, 0x3A, 0x41)),
    (CRIMSON_PALE, Ink(0x3A, 0x20, 0x23)),
    (CLAY, Ink(0x8A, 0x7C, 0x69)),
    (ASH, Ink(0x3A, 0x42, 0x49)),
    (OLIVE, Ink(0xA3, 0xB1, 0x5A)),
    (OLIVE_DEEP, Ink(0xC6, 0xD2, 0x8A)),
    (OLIVE_PALE, Ink(0x34, 0x3A, 0x22)),
    (UMBER, Ink(0xB0, 0x8C, 0x66)),
];

/// Inks of the page's text and grounds, by the names that its rules use.
pub const NAMED: [(&str, Ink); 7] = [
    ("paper", PAPER),
    ("text", TEXT),
    ("quiet", QUIET),
    ("rule", RULE),
    ("hair", HAIR),
    ("ground", NIGHT),
    ("link", PETROL),
];

/// The counterpart of an ink on a dark screen; itself where it has none.
#[must_use]
pub fn dark(ink: Ink) -> Ink {
    BY_NIGHT.iter().find(|(day, _)| *day == ink).map_or(ink, |(_, night)| *night)
}

/// A colour as pictures and rules write it: `#1C252E`.
#[must_use]
pub fn hex(ink: Ink) -> String {
    format!("#{:02X}{:02X}{:02X}", ink.0, ink.1, ink.2)
}

/// All rules of the page.
#[must_use]
pub fn rules() -> String {
    let names = |of: fn(Ink) -> Ink| -> String {
        NAMED.iter().map(|(name, ink)| format!("--{name}:{};", hex(of(*ink)))).collect()
    };
    let mut pictures = String::new();
    for (day, night) in BY_NIGHT {
        let (day, night) = (hex(day), hex(night));
        for what in ["fill", "stroke"] {
            let _ = write!(pictures, ".chart [{what}=\"{day}\"]{{{what}:{night}}}");
        }
    }
    format!(
        ":root{{{}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{}}}{pictures}}}\n{RULES}",
        names(|ink| ink),
        names(dark)
    )
}
