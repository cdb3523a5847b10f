//! The histogram of the lowest charge of each trial, those that failed set apart.

use super::super::axes::{Scale, level_ticks};
use super::super::canvas::{Canvas, Picture, Rect};
use super::super::labels::{EndLabel, Key, end_labels};
use super::super::page::{gutter, head};
use super::super::theme::{
    AXIS_PEN, Anchor, CRIMSON, Ink, LABEL, OPEN_PEN, PETROL, RANGE_FILL, RIM_PX, SMALL,
    UNSERVED_FILL, WIDTH_PX,
};
use super::super::words::{charge as amount, number, percent};
use super::sentence::{Words, led_by_failing, whole};
use super::{Trials, blank, trials_line};
use crate::chance::merge::Ranked;
use crate::decide::odds::answers::CHARGE_UNITS;

const NAME: &str = "odds-lowest";
/// Height of the plot, px.
const PLOT_PX: f64 = 240.0;
const LEFT_PX: f64 = 76.0;
/// Bars from empty to full.
const BARS: usize = 50;

/// Draws the histogram.
#[must_use]
pub fn lowest(trials: Trials) -> Picture {
    if trials.odds.trials == 0 {
        return blank(NAME, trials);
    }
    let mut canvas = Canvas::new();
    let words = Words::of(trials.odds.occasion);
    let (all, failed) = (bars(&trials.answers.lowest), bars(&trials.answers.lowest_failed));
    let failures = trials.odds.failures;
    let stayed_words = format!("stayed on the air: {}", whole(trials.odds.trials - failures));
    let failed_words = format!("off the air at some time: {}", whole(failures));
    let stayed = trials.odds.trials - failures;
    let labels: Vec<(String, Ink, Key)> = [
        (failures, failed_words, CRIMSON, UNSERVED_FILL),
        (stayed, stayed_words, PETROL, RANGE_FILL),
    ]
    .into_iter()
    .filter(|(count, ..)| *count > 0)
    .map(|(_, words, ink, fill)| (words, ink, Key::Area(fill)))
    .collect();
    let texts = labels.iter().map(|(words, ..)| words.clone());
    let right = WIDTH_PX - gutter(texts, SMALL, 100.0, 230.0);
    let title = led_by_failing(trials, &title_of(trials, words));
    let run = trials_line(trials);
    let of = if trials.subject.capacity_ah > 0.0 {
        format!(" of {} (rated, aged)", amount(trials.subject.capacity_ah))
    } else {
        String::new()
    };
    let drawn = format!("How many {} had their lowest charge within each 2 %{of}.", words.many);
    let top = head(&mut canvas, &title, &run, &drawn) + 38.0;
    let plot = Rect::new(LEFT_PX, top, right, top + PLOT_PX);
    let across = Scale::new(0.0, 100.0, plot.x0, plot.x1);
    let most = all.iter().copied().max().unwrap_or(0).max(1) as f64;
    let up = Scale::new(0.0, most, plot.y1, plot.y0);
    level_ticks(&mut canvas, plot, &up, 36.0);

    let bar = |k: usize, low: u64, high: u64| {
        let width = 100.0 / BARS as f64;
        let x0 = across.px(k as f64 * width);
        let x1 = across.px((k + 1) as f64 * width);
        // What is there is seen, be it one of a million.
        let y0 = up.px(high as f64).min(if high > low { up.px(low as f64) - 1.0 } else { plot.y1 });
        Rect::new(x0, y0, x1, up.px(low as f64))
    };
    let stayed: Vec<Rect> =
        (0..BARS).filter(|k| all[*k] > failed[*k]).map(|k| bar(k, failed[k], all[k])).collect();
    let dark: Vec<Rect> =
        (0..BARS).filter(|k| failed[*k] > 0).map(|k| bar(k, 0, failed[k])).collect();
    canvas.fill(&stayed, RANGE_FILL);
    canvas.fill(&dark, UNSERVED_FILL);
    canvas.line(&[(plot.x0, plot.y1), (plot.x1, plot.y1)], AXIS_PEN);
    for tenth in 0..=10_u8 {
        let value = f64::from(tenth) * 10.0;
        let x = across.px(value);
        canvas.line(&[(x, plot.y1), (x, plot.y1 + 4.0)], AXIS_PEN);
        canvas.text(x, plot.y1 + 16.0, &number(value, 0), SMALL.at(Anchor::Middle));
    }
    let middle = (plot.x0 + plot.x1) / 2.0;
    canvas.text(middle, plot.y1 + 34.0, "lowest charge, %", LABEL.at(Anchor::Middle));
    marks(&mut canvas, trials, plot, &across);

    let ends: Vec<EndLabel> = labels
        .into_iter()
        .map(|(words, ink, key)| EndLabel { y: plot.y0 + 20.0, words, ink, key: Some(key) })
        .collect();
    let room = WIDTH_PX - plot.x1 - RIM_PX;
    end_labels(&mut canvas, &ends, plot.x1, room, (plot.y0, plot.y1), SMALL);
    let told: Vec<&str> = ends.iter().map(|label| label.words.as_str()).collect();
    let about = format!("{title}. {run}. {drawn} {}.", told.join(", "));
    canvas.finish(NAME, &title, &about, (WIDTH_PX, plot.y1 + 46.0))
}

/// Upright lines with their names above the plot, at what one in twenty and half of the trials had.
fn marks(canvas: &mut Canvas, trials: Trials, plot: Rect, across: &Scale) {
    let quantiles = &trials.odds.lowest_charge_share;
    let named = [(quantiles.p05, "1 in 20"), (quantiles.p50, "half")];
    let mut free_from = plot.x0;
    for (place, (share, words)) in named.iter().enumerate() {
        let Some(share) = share else { continue };
        let x = across.px(share * 100.0);
        let height = 10.0 + 14.0 * f64::from(u8::from(place == 0));
        canvas.line(&[(x, plot.y0 - height + 4.0), (x, plot.y1)], OPEN_PEN);
        let words = format!("{words} at {} or less", percent(*share));
        let x = (x + 4.0).max(if place == 0 { plot.x0 } else { free_from });
        let area = canvas.text(x, plot.y0 - height + 2.0, &words, SMALL);
        free_from = area.x0;
    }
}

/// How many trials in each bar. What is above full counts as full, below empty as empty.
fn bars(ranked: &Ranked) -> [u64; BARS] {
    let mut bars = [0_u64; BARS];
    for place in ranked.places() {
        let share = place.value as f64 / CHARGE_UNITS;
        let bar = ((share * BARS as f64).max(0.0) as usize).min(BARS - 1);
        bars[bar] += place.count;
    }
    bars
}

fn title_of(trials: Trials, words: Words) -> String {
    let many = words.many;
    match (trials.odds.lowest_charge_share.p05, trials.odds.lowest_charge_share.p50) {
        (Some(p05), Some(p50)) if p05 >= 0.005 => format!(
            "Lowest charge {} or less in half of the {many}, {} or less in 1 of 20",
            percent(p50),
            percent(p05)
        ),
        (_, Some(p50)) => format!(
            "Lowest charge {} or less in half of the {many}; empty in 1 of 20",
            percent(p50)
        ),
        _ => "Lowest charge".to_owned(),
    }
}
