//! Colours of the page, by day and by night.

use std::collections::BTreeSet;

use longwatch::show::report::looks::{BY_NIGHT, NAMED, dark, hex};
use longwatch::show::theme::{
    AMBER_DEEP, CRIMSON, Ink, NIGHT, OLIVE_DEEP, PAPER, PETROL, PLUM, QUIET, SLATE, TEXT,
};

use super::common::hall_page;

/// Relative luminance, WCAG 2.1: sRGB to linear light, weighted.
fn luminance(ink: Ink) -> f64 {
    let [r, g, b] = [ink.0, ink.1, ink.2].map(|byte| {
        let v = f64::from(byte) / 255.0;
        if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    });
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

/// Contrast, WCAG 2.1: (L1 + 0.05) / (L2 + 0.05).
fn contrast(one: Ink, other: Ink) -> f64 {
    let (a, b) = (luminance(one), luminance(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn the_formula_gives_the_published_ends() {
    // WCAG 2.1, definition of contrast ratio: from 1:1 to 21:1; exact up to rounding.
    assert!((contrast(Ink(0, 0, 0), Ink(255, 255, 255)) - 21.0).abs() < 1e-9);
    assert!((contrast(Ink(9, 9, 9), Ink(9, 9, 9)) - 1.0).abs() < 1e-12);
}

/// WCAG 2.1, success criterion 1.4.3, level AA: text at least 4.5 to 1.
#[test]
fn text_stands_out_by_day_and_by_night() {
    let of = |name: &str| NAMED.iter().find(|(it, _)| *it == name).unwrap().1;
    for (by, at) in [("day", (|ink| ink) as fn(Ink) -> Ink), ("night", dark)] {
        for text in ["text", "quiet", "link"] {
            let ground = if text == "link" { "paper" } else { "ground" };
            for ground in ["paper", ground] {
                let reached = contrast(at(of(text)), at(of(ground)));
                assert!(reached >= 4.5, "{text} on {ground} by {by}: {reached:.2}");
            }
        }
        // 1.4.11: what marks the focus and the edges of a form at least 3 to 1 (the focus), and
        // visible (edges, which are not needed to know a control: the form is for the pen).
        assert!(contrast(at(of("link")), at(of("paper"))) >= 3.0);
    }
}

/// Text in the pictures, by night: the same inks turned.
#[test]
fn text_in_pictures_stands_out_by_night() {
    for ink in [TEXT, QUIET, AMBER_DEEP, CRIMSON, PETROL, PLUM, SLATE, OLIVE_DEEP] {
        for ground in [PAPER, NIGHT] {
            let reached = contrast(dark(ink), dark(ground));
            assert!(reached >= 4.5, "{} on {}: {reached:.2}", hex(ink), hex(ground));
        }
    }
}

/// No colour of a picture is forgotten: each has its counterpart, and counterparts stay apart.
#[test]
fn every_colour_of_the_pictures_turns() {
    let known: BTreeSet<String> = BY_NIGHT.iter().map(|(day, _)| hex(*day)).collect();
    assert_eq!(known.len(), BY_NIGHT.len(), "an ink stands twice");
    let mut seen = BTreeSet::new();
    for what in ["fill=\"#", "stroke=\"#"] {
        for piece in hall_page().split(what).skip(1) {
            let colour = format!("#{}", piece.split('"').next().unwrap());
            assert!(known.contains(&colour), "{colour} has no counterpart by night");
            seen.insert(colour);
        }
    }
    assert!(seen.len() > 8, "{seen:?}");
    for (day, night) in BY_NIGHT {
        let rules = [
            format!(".chart [fill=\"{}\"]{{fill:{}}}", hex(day), hex(night)),
            format!(".chart [stroke=\"{}\"]{{stroke:{}}}", hex(day), hex(night)),
        ];
        assert!(rules.iter().all(|rule| hall_page().contains(rule)), "{}", hex(day));
    }
}
