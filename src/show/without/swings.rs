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
use super::sentence::{measure_sentence, measured_by, value};
use super::trials_line;
use crate::decide::without::{Carried, Swing, ToldBy, Without};

const NAME: &str = "without-guesses";
/// Most room for a name, px.
const NAME_PX: f64 = 290.0;
/// Height of a row, px.
const ROW_PX: f64 = 34.0;

/// An end of a bar: what the input is there, the result of the station there.
struct End {
    guess: String,
    value: f64,
    words: String,
}

/// Ends of a bar, from left to right.
fn ends(swing: &Swing, by: ToldBy) -> [End; 2] {
    let [low, high] = [(0, &swing.low), (1, &swing.high)].map(|(end, carried)| End {
        guess: swing.ends[end].clone(),
        value: number_of(by, carried),
        words: value(by, carried),
    });
    if low.value <= high.value { [low, high] } else { [high, low] }
}

fn number_of(by: ToldBy, carried: &Carried) -> f64 {
    match by {
        ToldBy::OffAir => carried.off_air_h,
        ToldBy::LowestCharge => carried.lowest_charge_p05_share * 100.0,
        ToldBy::Count | ToldBy::Nothing => carried.lasted as f64,
    }
}

/// Draws the bars.
#[must_use]
pub fn swings(it: &Without) -> Picture {
    let mut canvas = Canvas::new();
    let said = measure_sentence(it);
    let title = said.trim_end_matches('.');
    let run = trials_line(it);
    let many = Words::of(it.occasion).many;
    let by = it.swings.first().map_or(ToldBy::Nothing, Swing::told_by);
    let counts = matches!(by, ToldBy::Count | ToldBy::Nothing);
    let measure = measured_by(by, Words::of(it.occasion));
    let drawn = format!(
        "{}{} at either end of each guess (bar, with what the guess is there) and as it is stated: {} (upright line). One guess is varied at a time.",
        measure[..1].to_uppercase(),
        &measure[1..],
        value(by, &it.whole)
    );
    let top = head(&mut canvas, title, &run, &drawn) + 10.0;
    let names: Vec<String> =
        it.swings.iter().map(|swing| fit(&clean(&swing.path), LABEL, NAME_PX)).collect();
    let widest = names.iter().map(|name| width_px(name, LABEL)).fold(0.0, f64::max);
    let all = || it.swings.iter().flat_map(|swing| ends(swing, by));
    let label_room = all().map(|end| width_px(&end.guess, SMALL)).fold(0.0, f64::max) + 10.0;
    let x0 = RIM_PX + widest + 14.0;
    let stated = number_of(by, &it.whole);
    let least = all().map(|end| end.value).fold(stated, f64::min);
    let most = all().map(|end| end.value).fold(stated, f64::max);
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
    let (mut ticks, places) = across.ticks(70.0);
    ticks.retain(|value| !counts || value.fract() == 0.0);
    let places = if counts { 0 } else { places };
    for value in &ticks {
        let x = across.px(*value);
        canvas.line(&[(x, top), (x, foot)], HAIR_PEN);
    }
    let mut y = top;
    for (swing, name) in it.swings.iter().zip(&names) {
        let middle = y + ROW_PX / 2.0;
        canvas.text(x0 - 4.0, middle + 4.0, name, LABEL.at(Anchor::End));
        let [worse, better] = ends(swing, by);
        let (a, b) = (across.px(worse.value), across.px(better.value));
        canvas.fill(&[Rect::new(a, middle - 8.0, b.max(a + 1.0), middle + 8.0)], RANGE_FILL);
        canvas.text(a - 6.0, middle + 4.0, &worse.guess, SMALL.at(Anchor::End).in_ink(SLATE));
        canvas.text(b.max(a + 1.0) + 6.0, middle + 4.0, &better.guess, SMALL.in_ink(SLATE));
        y += ROW_PX;
    }
    let here = across.px(stated);
    canvas.line(&[(here, top), (here, foot)], SECOND_PEN);
    canvas.line(&[(x0 + label_room, foot), (WIDTH_PX - RIM_PX - label_room, foot)], AXIS_PEN);
    for value in ticks {
        let x = across.px(value);
        canvas.line(&[(x, foot), (x, foot + 4.0)], AXIS_PEN);
        canvas.text(x, foot + 17.0, &number(value, places), SMALL.at(Anchor::Middle));
    }
    let middle = (x0 + WIDTH_PX - RIM_PX) / 2.0;
    let of = match by {
        ToldBy::OffAir => format!("{measure}, h"),
        ToldBy::LowestCharge => format!("{measure}, %"),
        ToldBy::Count | ToldBy::Nothing => format!("{many} survived, of {}", whole(it.trials)),
    };
    canvas.text(middle, foot + 34.0, &of, LABEL.at(Anchor::Middle));
    let told: Vec<String> = it
        .swings
        .iter()
        .map(|swing| {
            let [worse, better] = ends(swing, by);
            format!(
                "{}: {} at {}, {} at {}",
                clean(&swing.path),
                worse.words,
                worse.guess,
                better.words,
                better.guess
            )
        })
        .collect();
    let about = format!("{title}. {run}. {drawn} {}.", told.join("; "));
    canvas.finish(NAME, title, &about, (WIDTH_PX, foot + 46.0))
}
