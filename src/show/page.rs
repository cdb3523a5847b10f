//! What every picture shares: the finding as its title, what is drawn as its subtitle, and the
//! sheet for a run that has nothing to draw.

use super::canvas::{Canvas, Picture};
use super::labels::BEFORE_WORDS_PX;
use super::sentence::whose_hours;
use super::span::Span;
use super::text::{clean, fit, fold, width_px};
use super::theme::{RIM_PX, SUBTITLE, TITLE, Type, WIDTH_PX};
use super::words::period;
use crate::simulate::ledger::Ledger;

/// Room for text across a picture, px.
pub const ROOM_PX: f64 = WIDTH_PX - 2.0 * RIM_PX;

/// Room that names of the scenario may take where the line has no room to spare, px.
const NAME_PX: f64 = 240.0;

/// Writes the title, the run and what is drawn at the top and returns the height below them, px.
pub fn head(canvas: &mut Canvas, title: &str, run: &str, drawn: &str) -> f64 {
    let mut y = RIM_PX;
    for (words, face, lines) in [(title, TITLE, 2), (run, SUBTITLE, 2), (drawn, SUBTITLE, 3)] {
        for line in fold(words, face, ROOM_PX, lines).iter().filter(|line| !line.is_empty()) {
            y += face.size_px * 1.2;
            canvas.text(RIM_PX, y, line, face);
        }
        y += if face == TITLE { 3.0 } else { 0.5 };
    }
    y + 6.0
}

/// The run: which scenario, when, under which strategy and weather, and how much had to be left out.
#[must_use]
pub fn run_line(span: &Span) -> String {
    let left_out = match span.left_out {
        0 => String::new(),
        1 => "; one step is left out, it holds a value that is not a number".to_owned(),
        n => format!("; {n} steps are left out, they hold values that are not numbers"),
    };
    let when = period(&span.start, &span.end);
    let heads = &span.ledger.heads;
    let whose = whose_hours(&fit(&clean(&heads.strategy), SUBTITLE, NAME_PX), heads.weather);
    let rest = format!(", {when}; {whose}{left_out}");
    let room = (ROOM_PX - width_px(&rest, SUBTITLE)).max(NAME_PX);
    format!("{}{rest}", fit(&clean(&heads.title), SUBTITLE, room))
}

/// The picture of a run that has nothing to draw.
#[must_use]
pub fn blank(name: &'static str, ledger: &Ledger) -> Picture {
    let mut canvas = Canvas::new();
    let title = "Nothing to draw: the run holds no step";
    let about = fit(&clean(&ledger.heads.title), SUBTITLE, ROOM_PX);
    let y = head(&mut canvas, title, &about, "");
    canvas.finish(name, title, &about, (WIDTH_PX, y + RIM_PX))
}

/// Room that the widest of some labels needs right of a plot, between `least` and `most` px.
#[must_use]
pub fn gutter(labels: impl Iterator<Item = String>, face: Type, least: f64, most: f64) -> f64 {
    let widest = labels.map(|words| width_px(&words, face)).fold(0.0, f64::max);
    (widest + BEFORE_WORDS_PX + RIM_PX + 1.0).clamp(least, most)
}
