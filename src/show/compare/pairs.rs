//! Trials that only one of two survives: a row a pair, one bar to either side.

use super::super::axes::Scale;
use super::super::canvas::{Canvas, Picture, Rect};
use super::super::odds::sentence::{Words, whole};
use super::super::page::head;
use super::super::text::{clean, fit};
use super::super::theme::{
    AXIS_PEN, Anchor, HAIR_PEN, LABEL, ONLY_ONE_FILL, RIM_PX, SMALL, TOO_FEW_FILL, WIDTH_PX,
};
use super::sentence::pairs_title;
use super::{told_pairs, trials_line};
use crate::decide::compare::Comparison;
use crate::decide::contest::pairs::Pair;

const NAME: &str = "compare-pairs";
/// Height of a row, px.
const ROW_PX: f64 = 30.0;
/// Room for a name, px.
const NAME_PX: f64 = 178.0;
/// Room for a count, px.
const COUNT_PX: f64 = 64.0;

/// Draws the bars.
#[must_use]
pub fn pairs(it: &Comparison) -> Picture {
    let pairs = told_pairs(it);
    let mut canvas = Canvas::new();
    let title = pairs_title(it);
    let run = trials_line(it);
    let words = Words::of(it.occasion);
    let drawn = format!(
        "{} survived only with the left one of two (bar to the left) and only with the right one (bar to the right). Hatched where the trials are too few to call one of them better.",
        words.capital()
    );
    let top = head(&mut canvas, &title, &run, &drawn) + 12.0;
    let middle = WIDTH_PX / 2.0;
    let reach = middle - RIM_PX - NAME_PX - COUNT_PX;
    let most = pairs.iter().map(|pair| pair.only_a.max(pair.only_b)).max().unwrap_or(0);
    let across = Scale::new(0.0, (most as f64).max(1.0), 0.0, reach);
    let mut y = top;
    for pair in &pairs {
        let centre = y + ROW_PX / 2.0;
        let fill = if pair.enough_trials { ONLY_ONE_FILL } else { TOO_FEW_FILL };
        for (name, count, to_right) in [(&pair.a, pair.only_a, false), (&pair.b, pair.only_b, true)]
        {
            let sign = if to_right { 1.0 } else { -1.0 };
            let end = middle + sign * across.px(count as f64);
            let (x0, x1) = (middle.min(end), middle.max(end));
            canvas.fill(&[Rect::new(x0, centre - 8.0, x1, centre + 8.0)], fill);
            let (inner, outer) =
                if to_right { (Anchor::Start, Anchor::End) } else { (Anchor::End, Anchor::Start) };
            canvas.text(end + sign * 6.0, centre + 4.0, &whole(count), SMALL.at(inner));
            let rim = if to_right { WIDTH_PX - RIM_PX } else { RIM_PX };
            let words = fit(&clean(name), LABEL, NAME_PX - 4.0);
            canvas.text(rim, centre + 4.0, &words, LABEL.at(outer));
        }
        y += ROW_PX;
        canvas.line(&[(RIM_PX, y), (WIDTH_PX - RIM_PX, y)], HAIR_PEN);
    }
    canvas.line(&[(middle, top), (middle, y)], AXIS_PEN);
    let foot = format!("{} survived with only one of the two", words.many);
    canvas.text(middle, y + 18.0, &foot, SMALL.at(Anchor::Middle));
    let told: Vec<String> = pairs.iter().map(|pair| in_words(pair)).collect();
    let about = format!("{title}. {run}. {drawn} {}.", told.join("; "));
    canvas.finish(NAME, &title, &about, (WIDTH_PX, y + 32.0))
}

fn in_words(pair: &Pair) -> String {
    format!(
        "{} alone {}, {} alone {}",
        clean(&pair.a),
        whole(pair.only_a),
        clean(&pair.b),
        whole(pair.only_b)
    )
}
