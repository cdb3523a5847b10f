//! Where the energy of the loads came from: the mean of a trial by origin, and what was missing.

use super::super::axes::Scale;
use super::super::canvas::{Canvas, Picture, Rect};
use super::super::page::head;
use super::super::text::width_px;
use super::super::theme::{
    AXIS_PEN, Anchor, DRAWN_FILL, Fill, GENERATOR_FILL, HAIR_PEN, LABEL, LEADER_PEN, MAINS_FILL,
    RIM_PX, SLATE, SMALL, SUN_FILL, UNSERVED_FILL, VEHICLE_FILL, WIDTH_PX,
};
use super::super::words::{energy, length, percent};
use super::sentence::{Words, exact_percent, led_by_failing};
use super::{Trials, blank, trials_line};
use crate::decide::odds::Odds;

const NAME: &str = "odds-origin";
/// Left edge of the bars, px: room for the names.
const LEFT_PX: f64 = 176.0;
/// Height of a row, px.
const ROW_PX: f64 = 34.0;

/// One bar.
struct Row {
    name: &'static str,
    wh: f64,
    deviation_wh: Option<f64>,
    fill: Fill,
    share: String,
}

/// Draws the bars.
#[must_use]
pub fn origin(trials: Trials) -> Picture {
    let odds = trials.odds;
    if odds.trials == 0 {
        return blank(NAME, trials);
    }
    let rows = rows(odds);
    let mut canvas = Canvas::new();
    let words = Words::of(odds.occasion);
    let title = led_by_failing(trials, &title_of(odds));
    let run = trials_line(trials);
    let drawn = format!(
        "Mean energy of one {} of {}, with its share of the demand of {}. A thin line spans one standard deviation from {} to {} to either side.",
        words.one,
        length(odds.hours),
        energy(odds.load_wh),
        words.one,
        words.one
    );
    let top = head(&mut canvas, &title, &run, &drawn) + 10.0;
    let label_room = rows.iter().map(|row| width_px(&label(row), LABEL)).fold(0.0, f64::max) + 14.0;
    let (x0, x1) = (LEFT_PX, WIDTH_PX - RIM_PX - label_room);
    let most = rows.iter().map(|row| row.wh + row.deviation_wh.unwrap_or(0.0)).fold(0.0, f64::max);
    let across = Scale::new(0.0, most, x0, x1);
    let mut y = top;
    for row in &rows {
        let middle = y + ROW_PX / 2.0;
        canvas.line(&[(x0, y + ROW_PX), (WIDTH_PX - RIM_PX, y + ROW_PX)], HAIR_PEN);
        canvas.text(x0 - 10.0, middle + 4.0, row.name, LABEL.at(Anchor::End));
        let end = across.px(row.wh);
        canvas.fill(&[Rect::new(x0, middle - 9.0, end, middle + 9.0)], row.fill);
        let mut label_x = end;
        if let Some(deviation_wh) = row.deviation_wh.filter(|wh| *wh > 0.005 * most) {
            let (a, b) = (across.px(row.wh - deviation_wh), across.px(row.wh + deviation_wh));
            // Below the bar, so that it is seen on any fill.
            let under = middle + 13.0;
            canvas.line(&[(a, under), (b, under)], LEADER_PEN);
            for x in [a, b] {
                canvas.line(&[(x, under - 2.5), (x, under + 2.5)], LEADER_PEN);
            }
            label_x = label_x.max(b);
        }
        canvas.text(label_x + 8.0, middle + 4.0, &label(row), LABEL.in_ink(SLATE));
        y += ROW_PX;
    }
    canvas.line(&[(x0, top), (x0, y)], AXIS_PEN);
    let told: Vec<String> = rows.iter().map(|row| format!("{} {}", row.name, label(row))).collect();
    let notes = ["Stored before: energy in the battery when the span began."];
    canvas.text(x0, y + 20.0, notes[0], SMALL);
    let about = format!("{title}. {run}. {drawn} {}.", told.join("; "));
    canvas.finish(NAME, &title, &about, (WIDTH_PX, y + 34.0))
}

fn label(row: &Row) -> String {
    let amount = if row.wh > 0.0 && row.wh < 0.05 { "< 0.1 Wh".to_owned() } else { energy(row.wh) };
    format!("{amount}, {}", row.share)
}

/// Origins that gave anything, then what was not delivered.
fn rows(odds: &Odds) -> Vec<Row> {
    let (mean, deviation) = (&odds.origin_wh, &odds.origin_sd_wh);
    let share = |wh: f64| if odds.load_wh > 0.0 { wh / odds.load_wh } else { 0.0 };
    let all = [
        ("stored before", mean.stored_before, deviation.stored_before, DRAWN_FILL),
        ("sun", mean.sun, deviation.sun, SUN_FILL),
        ("mains", mean.mains, deviation.mains, MAINS_FILL),
        ("generator", mean.generator, deviation.generator, GENERATOR_FILL),
        ("vehicle", mean.vehicle, deviation.vehicle, VEHICLE_FILL),
    ];
    let mut rows: Vec<Row> = all
        .into_iter()
        .filter(|(name, wh, ..)| *wh > 0.0 || *name == "stored before")
        .map(|(name, wh, deviation_wh, fill)| Row {
            name,
            wh,
            deviation_wh: Some(deviation_wh),
            fill,
            share: percent(share(wh)),
        })
        .collect();
    if odds.expected_unserved_wh > 0.0 {
        let wh = odds.expected_unserved_wh;
        let share = exact_percent(share(wh));
        // Its spread is all in few trials: a deviation would tell nothing.
        rows.push(Row {
            name: "not delivered",
            wh,
            deviation_wh: None,
            fill: UNSERVED_FILL,
            share,
        });
    }
    rows
}

fn title_of(odds: &Odds) -> String {
    let origin = &odds.origin_wh;
    let all = [
        (origin.sun, "from the sun"),
        (origin.mains, "from the mains"),
        (origin.generator, "from the generator"),
        (origin.vehicle, "from the vehicle"),
        (origin.stored_before, "out of what the battery held before"),
    ];
    let mut given: Vec<_> = all.into_iter().filter(|(wh, _)| *wh > 0.0).collect();
    given.sort_by(|a, b| b.0.total_cmp(&a.0));
    match given.first() {
        Some((wh, from)) if odds.served_wh > 0.0 => {
            format!("{} of what the loads got came {from}", percent(wh / odds.served_wh))
        }
        _ => "The loads got nothing".to_owned(),
    }
}
