//! How far each guess swings the answer: a bar from one end of its spread to the other, around the
//! station as it is stated.

use super::super::axes::Scale;
use super::super::canvas::{Canvas, Picture, Rect};
use super::super::odds::sentence::{Words, whole};
use super::super::page::head;
use super::super::text::{clean, fit, width_px};
use super::super::theme::{
    AXIS_PEN, Anchor, HAIR_PEN, LABEL, RANGE_FILL, RIM_PX, SECOND_PEN, SLATE, SMALL, WIDTH_PX,
};
use super::super::words::number;
use super::sentence::measure_sentence;
use super::trials_line;
use crate::decide::without::{Swing, Without};

const NAME: &str = "without-guesses";
/// Most room for a name, px.
const NAME_PX: f64 = 290.0;
/// Height of a row, px.
const ROW_PX: f64 = 34.0;

/// An end of a bar: what the input is there, what the station carries there.
type End = (String, u64);

/// Ends of a bar, the worse first.
fn ends(swing: &Swing) -> [End; 2] {
    let low = (swing.ends[0].clone(), swing.low.lasted);
    let high = (swing.ends[1].clone(), swing.high.lasted);
    if low.1 <= high.1 { [low, high] } else { [high, low] }
}

/// Draws the bars.
#[must_use]
pub fn swings(it: &Without) -> Picture {
    let mut canvas = Canvas::new();
    let said = measure_sentence(it);
    let title = said.trim_end_matches('.');
    let run = trials_line(it);
    let many = Words::of(it.occasion).many;
    let drawn = format!(
        "How many {many} the station carries at either end of each guess (bar, with what the guess is there) and as it is stated: {} (upright line). One guess is moved at a time.",
        whole(it.whole.lasted)
    );
    let top = head(&mut canvas, title, &run, &drawn) + 10.0;
    let names: Vec<String> =
        it.swings.iter().map(|swing| fit(&clean(&swing.path), LABEL, NAME_PX)).collect();
    let widest = names.iter().map(|name| width_px(name, LABEL)).fold(0.0, f64::max);
    let label_room =
        it.swings.iter().flat_map(ends).map(|(word, _)| width_px(&word, SMALL)).fold(0.0, f64::max)
            + 10.0;
    let x0 = RIM_PX + widest + 14.0;
    let counts = || it.swings.iter().flat_map(ends).map(|(_, lasted)| lasted as f64);
    let stated = it.whole.lasted as f64;
    let least = counts().fold(stated, f64::min);
    let most = counts().fold(stated, f64::max);
    // Where no guess moves the count the axis still spans whole trials, and none that were not played.
    let (from, to) = if most > least {
        (least, most)
    } else if stated < it.trials as f64 {
        (stated, stated + 1.0)
    } else {
        (stated - 1.0, stated)
    };
    let across = Scale::new(from, to, x0 + label_room, WIDTH_PX - RIM_PX - label_room);
    let foot = top + ROW_PX * it.swings.len() as f64;
    let (mut ticks, _) = across.ticks(70.0);
    ticks.retain(|value| value.fract() == 0.0);
    for value in &ticks {
        let x = across.px(*value);
        canvas.line(&[(x, top), (x, foot)], HAIR_PEN);
    }
    let mut y = top;
    for (swing, name) in it.swings.iter().zip(&names) {
        let middle = y + ROW_PX / 2.0;
        canvas.text(x0 - 4.0, middle + 4.0, name, LABEL.at(Anchor::End));
        let [worse, better] = ends(swing);
        let (a, b) = (across.px(worse.1 as f64), across.px(better.1 as f64));
        canvas.fill(&[Rect::new(a, middle - 8.0, b.max(a + 1.0), middle + 8.0)], RANGE_FILL);
        canvas.text(a - 6.0, middle + 4.0, &worse.0, SMALL.at(Anchor::End).in_ink(SLATE));
        canvas.text(b.max(a + 1.0) + 6.0, middle + 4.0, &better.0, SMALL.in_ink(SLATE));
        y += ROW_PX;
    }
    let here = across.px(stated);
    canvas.line(&[(here, top), (here, foot)], SECOND_PEN);
    canvas.line(&[(x0 + label_room, foot), (WIDTH_PX - RIM_PX - label_room, foot)], AXIS_PEN);
    for value in ticks {
        let x = across.px(value);
        canvas.line(&[(x, foot), (x, foot + 4.0)], AXIS_PEN);
        canvas.text(x, foot + 17.0, &number(value, 0), SMALL.at(Anchor::Middle));
    }
    let middle = (x0 + WIDTH_PX - RIM_PX) / 2.0;
    let of = format!("{many} carried, of {}", whole(it.trials));
    canvas.text(middle, foot + 34.0, &of, LABEL.at(Anchor::Middle));
    let told: Vec<String> = it
        .swings
        .iter()
        .map(|swing| {
            let [worse, better] = ends(swing);
            format!(
                "{}: {} at {}, {} at {}",
                clean(&swing.path),
                whole(worse.1),
                worse.0,
                whole(better.1),
                better.0
            )
        })
        .collect();
    let about = format!("{title}. {run}. {drawn} {}.", told.join("; "));
    canvas.finish(NAME, title, &about, (WIDTH_PX, foot + 46.0))
}
