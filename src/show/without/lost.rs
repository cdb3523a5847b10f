//! What each missing part costs: a bar a part, as long as the trials that fail without it.

use super::super::axes::Scale;
use super::super::canvas::{Canvas, Picture, Rect};
use super::super::odds::sentence::{Words, whole};
use super::super::page::head;
use super::super::text::{clean, fit, width_px};
use super::super::theme::{
    AXIS_PEN, Anchor, HAIR_PEN, LABEL, ONLY_ONE_FILL, RIM_PX, SMALL, TOO_FEW_FILL, WIDTH_PX,
};
use super::sentence::{first_sentence, value};
use super::trials_line;
use crate::decide::without::{Lost, ToldBy, Without};

const NAME: &str = "without-parts";
/// Most room for a name, px.
const NAME_PX: f64 = 300.0;
/// Height of a row, px.
const ROW_PX: f64 = 32.0;

/// Draws the bars.
#[must_use]
pub fn lost(it: &Without) -> Picture {
    let mut canvas = Canvas::new();
    let said = first_sentence(it);
    let title = said.trim_end_matches('.');
    let run = trials_line(it);
    let many = Words::of(it.occasion).many;
    let drawn = format!(
        "{} that the whole station survives and that fail without the part. Hatched where the trials are too few to tell.",
        Words::of(it.occasion).capital()
    );
    let top = head(&mut canvas, title, &run, &drawn) + 10.0;
    let names: Vec<String> =
        it.lost.iter().map(|lost| fit(&clean(&lost.part), LABEL, NAME_PX)).collect();
    let widest = names.iter().map(|name| width_px(name, LABEL)).fold(0.0, f64::max);
    let x0 = RIM_PX + widest + 12.0;
    let room = it.lost.iter().map(|lost| width_px(&label(it, lost), LABEL)).fold(0.0, f64::max);
    let x1 = WIDTH_PX - RIM_PX - room - 12.0;
    let most = it.lost.iter().map(|lost| lost.pair.only_a).max().unwrap_or(0);
    let across = Scale::new(0.0, (most as f64).max(1.0), x0, x1);
    let mut y = top;
    for (lost, name) in it.lost.iter().zip(&names) {
        let middle = y + ROW_PX / 2.0;
        canvas.line(&[(x0, y + ROW_PX), (WIDTH_PX - RIM_PX, y + ROW_PX)], HAIR_PEN);
        canvas.text(x0 - 10.0, middle + 4.0, name, LABEL.at(Anchor::End));
        let fill = if lost.pair.enough_trials { ONLY_ONE_FILL } else { TOO_FEW_FILL };
        let end = across.px(lost.pair.only_a as f64);
        canvas.fill(&[Rect::new(x0, middle - 9.0, end, middle + 9.0)], fill);
        canvas.text(end + 8.0, middle + 4.0, &label(it, lost), LABEL);
        y += ROW_PX;
    }
    canvas.line(&[(x0, top), (x0, y)], AXIS_PEN);
    canvas.text(x0, y + 18.0, &format!("{many} that fail"), SMALL);
    let told: Vec<String> =
        it.lost.iter().map(|lost| format!("{}: {}", clean(&lost.part), label(it, lost))).collect();
    let about = format!("{title}. {run}. {drawn} {}.", told.join("; "));
    canvas.finish(NAME, title, &about, (WIDTH_PX, y + 32.0))
}

fn label(it: &Without, lost: &Lost) -> String {
    let by = lost.told_by(&it.whole);
    match (by, lost.pair.only_b) {
        (ToldBy::OffAir, _) => format!("0 fail; off the air {}", value(by, &lost.carried)),
        (ToldBy::LowestCharge, _) => {
            format!("0 fail; 1 in 20 down to {}", value(by, &lost.carried))
        }
        (_, 0) => format!("{} fail", whole(lost.pair.only_a)),
        (_, won) => format!("{} fail, {} survive", whole(lost.pair.only_a), whole(won)),
    }
}
