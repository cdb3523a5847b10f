//! The volts at the battery terminals against what the devices and the disconnect allow.

use super::axes::{Scale, level_ticks};
use super::bins::{Bin, Grain, finest};
use super::canvas::{Canvas, Picture, Rect};
use super::course::{LINE_DAY_PX, draw_range, steps, thin};
use super::labels::{Busy, EndLabel, beside, end_labels};
use super::lanes::{Lane, draw_lanes, lanes_of};
use super::page::{blank, gutter, head, run_line};
use super::sentence::{first_sentence, led_by_off_air};
use super::span::Span;
use super::text::clean;
use super::theme::{
    BOUND_PEN, CRIMSON, LABEL, MAIN_PEN, OPEN_PEN, PETROL, Pen, RIM_PX, SECOND_PEN, SET_POINT_PEN,
    SLATE, SMALL, UNSERVED_FILL, WIDTH_PX,
};
use super::timeline::Timeline;
use super::words::{hours_of, short_moment, trimmed, volts as in_volts};
use crate::simulate::ledger::{Heads, Ledger, Row};
use crate::simulate::summary::{Summary, end_of};

const NAME: &str = "volts";
const LEFT_PX: f64 = 64.0;
/// Height of the plot, px.
const PLOT_PX: f64 = 280.0;
/// Least width of a bin, px.
const BIN_PX: f64 = 1.6;

/// Draws the volts.
#[must_use]
pub fn volts(ledger: &Ledger, summary: &Summary) -> Picture {
    let Some(span) = Span::of(ledger) else {
        return blank(NAME, ledger);
    };
    let mut canvas = Canvas::new();
    let (grain, bins) = finest(&span, Grain::Day, ((WIDTH_PX - LEFT_PX - 180.0) / BIN_PX) as usize);
    let lowest = bins.iter().map(|bin| bin.lowest_v).fold(f64::INFINITY, f64::min);
    let highest = bins.iter().map(|bin| bin.mean_high_v).fold(lowest, f64::max);
    let bounds = bounds(&ledger.heads, lowest, highest);
    let drawn = bounds.iter().filter(|bound| bound.shown).map(|bound| bound.at_v);
    let (low, high) = drawn.fold((lowest, highest), |(low, high), v| (low.min(v), high.max(v)));
    let rim = ((high - low) * 0.06).max(0.02);

    let mut lanes = lanes_of(&span);
    let below = span.spells(|row| f64::from(u8::from(is_below(row.lowest_v, &ledger.heads))));
    let below_h: f64 = below.iter().map(|(a, b)| b - a).sum();
    if below_h > 0.0 {
        let amount = format!("{} h", trimmed(below_h, 1));
        lanes.push(Lane {
            name: "below the window".to_owned(),
            amount,
            spells: below,
            fill: UNSERVED_FILL,
            ink: CRIMSON,
        });
    }
    let (mean_words, low_words) = ("mean volts", "lowest volts");
    let words = bounds.iter().filter(|b| b.shown).map(|b| b.words.clone());
    let words = words
        .chain(lanes.iter().map(Lane::words))
        .chain([mean_words, low_words].map(str::to_owned));
    let right = WIDTH_PX - gutter(words, SMALL, 100.0, 250.0);
    let room = WIDTH_PX - right - RIM_PX;

    let title = led_by_off_air(summary, &title_of(&span, summary, below_h));
    let as_line = (right - LEFT_PX) * 24.0 / span.hours >= LINE_DAY_PX;
    let off: Vec<String> =
        bounds.iter().filter(|bound| !bound.shown).map(|bound| bound.words.clone()).collect();
    let off =
        if off.is_empty() { String::new() } else { format!(" Off the scale: {}.", off.join("; ")) };
    let what = if as_line {
        "mean and lowest (in any load state that lasts) of each step".to_owned()
    } else {
        format!("range of the means (pale) and lowest of each {}", grain.word())
    };
    let cold = if span.steps.iter().any(|step| locked(step.row)) {
        " Loads also go off where the cold locks what is left."
    } else {
        ""
    };
    let drawn = format!("Volts at the battery terminals: {what}.{cold}{off}");
    let run = run_line(&span);
    let top = head(&mut canvas, &title, &run, &drawn) + 20.0;
    let plot = Rect::new(LEFT_PX, top, right, top + PLOT_PX);
    let scale = Scale::new(low - rim, high + rim, plot.y1, plot.y0);
    let time = Timeline::new(&span, plot.x0, plot.x1);
    time.nights(&mut canvas, plot, true);
    time.upright_lines(&mut canvas, plot);
    level_ticks(&mut canvas, plot, &scale, 30.0);
    canvas.text(plot.x0 - 7.0, plot.y0 - 5.0, "V", SMALL.at(super::theme::Anchor::End));

    let (mut labels, mut levels) = (Vec::new(), Vec::new());
    for bound in bounds.iter().filter(|bound| bound.shown) {
        let y = scale.px(bound.at_v);
        canvas.line(&[(plot.x0, y), (plot.x1, y)], bound.pen);
        levels.push([(plot.x0, y), (plot.x1, y)]);
        labels.push(EndLabel { y, words: bound.words.clone(), ink: bound.pen.ink, key: None });
    }
    let deep = deep(&span, &time, &scale, &bins, as_line);
    canvas.fill(&deep, UNSERVED_FILL);
    let courses = if as_line {
        let lowest = thin(&steps(&span, &time, |row| scale.px(row.lowest_v)));
        let mean = thin(&steps(&span, &time, |row| scale.px(row.mean_v)));
        canvas.line(&lowest, SECOND_PEN);
        canvas.line(&mean, MAIN_PEN);
        vec![lowest, mean]
    } else {
        let range = |bin: &Bin| (scale.px(bin.mean_high_v), scale.px(bin.mean_low_v));
        let lowest = |bin: &Bin| scale.px(bin.lowest_v);
        vec![draw_range(&mut canvas, &time, &bins, range, (lowest, SECOND_PEN))]
    };
    if let (Some(bin), Some(step)) = (bins.last(), span.steps.last()) {
        let (mean, lowest) = if as_line {
            (step.row.mean_v, step.row.lowest_v)
        } else {
            ((bin.mean_low_v + bin.mean_high_v) / 2.0, bin.lowest_v)
        };
        let mean = scale.px(mean);
        labels.push(EndLabel { y: mean, words: mean_words.to_owned(), ink: PETROL, key: None });
        let y = scale.px(lowest);
        labels.push(EndLabel { y, words: low_words.to_owned(), ink: SLATE, key: None });
    }
    end_labels(&mut canvas, &labels, plot.x1, room, (plot.y0, plot.y1), SMALL);
    let lines =
        courses.iter().map(Vec::as_slice).chain(levels.iter().map(|level| level.as_slice()));
    let busy = Busy { lines: lines.collect(), areas: &deep };
    mark_lowest(&mut canvas, &span, plot, (&time, &scale), &busy);

    let below = draw_lanes(&mut canvas, &time, plot.y1 + 8.0, &lanes, room);
    let below = time.axis(&mut canvas, below + 4.0);
    let about = format!("{title}. {}. {run}. {drawn}", first_sentence(ledger, summary));
    canvas.finish(NAME, &title, &about, (WIDTH_PX, below + 8.0))
}

/// How far the lowest volts lie below the window, by step, or by bin where steps have no room.
fn deep(span: &Span, time: &Timeline, scale: &Scale, bins: &[Bin], as_line: bool) -> Vec<Rect> {
    let heads = &span.ledger.heads;
    let Some(window) = &heads.window_v else {
        return Vec::new();
    };
    let spans: Vec<(f64, f64, f64)> = if as_line {
        span.steps.iter().map(|step| (step.at_h, step.end_h(), step.row.lowest_v)).collect()
    } else {
        bins.iter().map(|bin| (bin.from_h, bin.to_h, bin.lowest_v)).collect()
    };
    let bound = scale.px(window.lowest_v);
    spans
        .iter()
        .filter(|(_, _, v)| is_below(*v, heads))
        .map(|(from, to, v)| Rect::new(time.x(*from), bound, time.x(*to), scale.px(*v)))
        .collect()
}

/// Whether the loads were off in a step because the cold had locked what was left.
fn locked(row: &Row) -> bool {
    row.open_h > 0.0 && row.locked_share > 0.0 && row.charge_lowest_share <= row.locked_share
}

/// Whether volts lie below the lowest that every device with a window accepts.
fn is_below(lowest_v: f64, heads: &Heads) -> bool {
    heads.window_v.as_ref().is_some_and(|window| lowest_v < window.lowest_v)
}

fn mark_lowest(canvas: &mut Canvas, span: &Span, plot: Rect, on: (&Timeline, &Scale), busy: &Busy) {
    let (time, scale) = on;
    let Some(step) = span.steps.iter().min_by(|a, b| a.row.lowest_v.total_cmp(&b.row.lowest_v))
    else {
        return;
    };
    let at = (time.x((step.at_h + step.end_h()) / 2.0), scale.px(step.row.lowest_v));
    canvas.dot(at, 4.0, CRIMSON, false);
    // The ledger knows the step in which it was, no instant.
    let end = end_of(step.row).format("%H:%M");
    let words = format!(
        "lowest {}, {} to {end}",
        in_volts(step.row.lowest_v),
        short_moment(&step.row.start, span.hours)
    );
    beside(canvas, at, &words, LABEL.strong(), busy, plot);
}

/// A level line.
struct Bound {
    at_v: f64,
    words: String,
    pen: Pen,
    shown: bool,
}

/// The level lines of a station. Those far outside what the volts did are told, not drawn, so that
/// the course stays readable.
fn bounds(heads: &Heads, lowest: f64, highest: f64) -> Vec<Bound> {
    let reach = ((highest - lowest) * 1.2).max(0.12 * highest.abs());
    let near = |v: f64| v > lowest - reach && v < highest + reach;
    let mut bounds = Vec::new();
    let mut add = |at_v: f64, words: String, pen: Pen| {
        if at_v.is_finite() {
            bounds.push(Bound {
                at_v,
                words: format!("{} {words}", in_volts(at_v)),
                pen,
                shown: near(at_v),
            });
        }
    };
    if let Some(window) = &heads.window_v {
        add(window.highest_v, format!("highest for {}", clean(&window.highest_load)), BOUND_PEN);
        add(window.lowest_v, format!("lowest for {}", clean(&window.lowest_load)), BOUND_PEN);
    }
    if let Some(v) = heads.highest_set_point_v {
        let at = if heads.set_point_follows { ", at 25 deg C" } else { "" };
        add(v, format!("highest set point{at}"), SET_POINT_PEN);
    }
    add(heads.disconnect_v, "disconnect opens".to_owned(), OPEN_PEN);
    bounds
}

/// The finding: what fell short; else how far the bus stayed above what would have come first.
fn title_of(span: &Span, summary: &Summary, below_h: f64) -> String {
    let low = in_volts(summary.lowest_v);
    let heads = &span.ledger.heads;
    if let Some(window) = heads.window_v.as_ref().filter(|_| below_h > 0.0) {
        return format!(
            "Bus dips below {}, the lowest for {}, in {}",
            in_volts(window.lowest_v),
            clean(&window.lowest_load),
            hours_of(below_h, span.hours)
        );
    }
    if summary.disconnected_h > 0.0 {
        let open = hours_of(summary.disconnected_h, span.hours);
        return format!("Loads disconnected in {open}; bus never below {low}");
    }
    let spare = |bound_v: f64| in_volts(summary.lowest_v - bound_v);
    match &heads.window_v {
        Some(window) if window.lowest_v >= heads.disconnect_v => {
            let (spare, load) = (spare(window.lowest_v), clean(&window.lowest_load));
            format!("Bus never below {low}, {spare} above the lowest for {load}")
        }
        _ if heads.disconnect_v > 0.0 && heads.disconnect_v < summary.lowest_v => {
            format!("Bus never below {low}, {} above the disconnect", spare(heads.disconnect_v))
        }
        _ => format!("Bus never below {low}"),
    }
}
