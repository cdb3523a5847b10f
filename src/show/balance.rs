//! The energy balance by local day (week, month, year for long spans): what came in stands above
//! the line, what went out below it, of equal height; the numbers stand under the bars.

use super::axes::{Scale, level_ticks};
use super::balance_rows::{Look, bar, extent, lines, swatch};
use super::bins::{Bin, Grain, finest};
use super::canvas::{Canvas, Picture, Rect};
use super::page::{blank, head, run_line};
use super::sentence::{first_sentence, led_by_off_air};
use super::span::Span;
use super::text::width_px;
use super::theme::{
    AXIS_PEN, Anchor, CRIMSON, HAIR_PEN, LABEL, QUIET, RIM_PX, SMALL, TEXT, WIDTH_PX,
};
use super::words::{EnergyUnit, energy, percent, trimmed};
use crate::simulate::ledger::{Ledger, Origin};
use crate::simulate::summary::Summary;

const NAME: &str = "balance";
/// Left edge of the bars, px: room for the names of the rows.
const LEFT_PX: f64 = 176.0;
/// Room of the last column, the whole span, px.
const TOTAL_PX: f64 = 74.0;
/// Height of the bars, px.
const PLOT_PX: f64 = 250.0;
/// Distance of the rows of numbers, px.
const ROW_PX: f64 = 17.0;
/// Least width of a column, px, and with it the most columns.
const COLUMN_PX: f64 = 41.0;

/// Draws the balance.
#[must_use]
pub fn balance(ledger: &Ledger, summary: &Summary) -> Picture {
    let Some(span) = Span::of(ledger) else {
        return blank(NAME, ledger);
    };
    let mut canvas = Canvas::new();
    let (x0, x1) = (LEFT_PX, WIDTH_PX - RIM_PX - TOTAL_PX);
    let (grain, bins) = finest(&span, Grain::Day, ((x1 - x0) / COLUMN_PX) as usize);
    let lines = lines(&span, &bins);
    let column = (x1 - x0) / bins.len() as f64;
    let energies =
        lines.iter().filter(|line| !matches!(line.look, Look::Number)).flat_map(|line| &line.wh);
    let unit = EnergyUnit::for_largest(energies.copied().fold(0.0, f64::max));
    let in_unit = |wh: f64| wh / unit.wh;

    let title = led_by_off_air(summary, &title_of(&span, &bins, grain, summary));
    let refused = if lines.iter().any(|line| matches!(line.look, Look::Outline)) {
        "; refused sun is on top"
    } else {
        ""
    };
    let missing = if summary.unserved_wh > 0.0 { "; unserved demand hangs below" } else { "" };
    let drawn = format!(
        "Energy by {}, {}: what came in above the line, as much went out below \
         it{refused}{missing}.",
        grain_name(grain),
        unit.name
    );
    let run = run_line(&span);
    let top = head(&mut canvas, &title, &run, &drawn) + 24.0;
    let plot = Rect::new(x0, top, x1, top + PLOT_PX);
    let (low, high) = extent(&lines, bins.len());
    let scale = Scale::new(in_unit(low), in_unit(high), plot.y1, plot.y0);
    level_ticks(&mut canvas, plot, &scale, 30.0);
    canvas.text(x0 - 7.0, plot.y0 - 10.0, unit.name, SMALL.at(Anchor::End));
    let zero = scale.px(0.0);
    for (words, y) in [("came in", zero - 12.0), ("went out", zero + 20.0)] {
        canvas.text(RIM_PX, y, words, LABEL.strong());
    }
    for i in 0..bins.len() {
        let x = x0 + (i as f64 + 0.5) * column;
        let half = (column * 0.31).clamp(1.0, 34.0);
        bar(&mut canvas, &lines, i, (x - half, x + half), &scale, in_unit);
    }
    canvas.line(&[(x0, zero), (x1, zero)], AXIS_PEN);

    let mut y = plot.y1 + 20.0;
    y = heads(&mut canvas, &span, &bins, grain, (x0, x1), y);
    let place_values = column >= 0.95 * COLUMN_PX;
    let mut above = true;
    for line in &lines {
        // A stronger line where what went out begins.
        let goes = !matches!(line.look, Look::Up(_) | Look::Outline);
        let pen = if above && goes { AXIS_PEN } else { HAIR_PEN };
        above = !goes;
        canvas.line(&[(RIM_PX, y - 12.5), (WIDTH_PX - RIM_PX, y - 12.5)], pen);
        swatch(&mut canvas, line, Rect::new(RIM_PX, y - 9.0, RIM_PX + 16.0, y + 1.0));
        let hours_row = matches!(line.look, Look::Number);
        let ink = if matches!(line.look, Look::Missing) { CRIMSON } else { TEXT };
        canvas.text(RIM_PX + 23.0, y, line.name, SMALL.in_ink(ink));
        let value = |v: f64| {
            if v.abs() < 1e-9 {
                "-".to_owned()
            } else if hours_row {
                trimmed(v, 1)
            } else {
                unit.write(v)
            }
        };
        if place_values {
            for (i, v) in line.wh.iter().enumerate() {
                let x = x0 + (i as f64 + 0.5) * column;
                canvas.text(x, y, &value(*v), SMALL.at(Anchor::Middle).in_ink(ink));
            }
        }
        let sum = value(line.wh.iter().sum());
        canvas.text(WIDTH_PX - RIM_PX, y, &sum, SMALL.at(Anchor::End).in_ink(ink).strong());
        y += ROW_PX;
    }
    let about = format!("{}. {run}. {drawn}", first_sentence(ledger, summary));
    canvas.finish(NAME, &title, &about, (WIDTH_PX, y))
}

fn grain_name(grain: Grain) -> String {
    match grain {
        Grain::Step | Grain::Hour | Grain::Day => "local day".to_owned(),
        Grain::Week => "week from Monday".to_owned(),
        other => other.word().to_owned(),
    }
}

/// The finding: what was missing and when; else how the battery fared (days) or how much the sun
/// brought (longer bins).
fn title_of(span: &Span, bins: &[Bin], grain: Grain, summary: &Summary) -> String {
    let name = |i: usize| bin_name(span, bins, i, grain, true);
    let most = |value: &dyn Fn(&Bin) -> f64| {
        let worst = bins.iter().enumerate().max_by(|a, b| value(a.1).total_cmp(&value(b.1)));
        worst.filter(|(_, bin)| bins.len() > 1 && value(bin) > 0.5)
    };
    let on = if grain == Grain::Day { "on" } else { "in" };
    if summary.unserved_wh > 1e-9 * summary.load_wh {
        let (missing, asked) = (energy(summary.unserved_wh), energy(summary.load_wh));
        let said = if summary.unserved_wh > summary.load_wh * (1.0 - 1e-9) {
            format!("All {asked} of demand unserved")
        } else {
            format!("{missing} of {asked} demand unserved")
        };
        return match most(&|bin| bin.unserved_wh) {
            Some((i, bin)) => {
                format!("{said}, most {on} {} ({})", name(i), energy(bin.unserved_wh))
            }
            None => said,
        };
    }
    if grain == Grain::Day {
        let change = summary.stored_change_wh;
        let said = if change.abs() < 0.5 {
            "The battery took as much as it gave".to_owned()
        } else if change < 0.0 {
            format!("The battery gave {} more than it took", energy(-change))
        } else {
            format!("The battery took {} more than it gave", energy(change))
        };
        return match most(&|bin| -bin.stored_change_wh) {
            Some((i, bin)) => {
                format!("{said}; drained most on {}: {}", name(i), energy(-bin.stored_change_wh))
            }
            None => said,
        };
    }
    let sun = |bin: &Bin| bin.used_wh(span, Origin::Sun);
    let came = summary.solar_used_wh
        + summary.mains_to_load_wh
        + summary.mains_to_battery_wh
        + summary.generator_to_load_wh
        + summary.generator_to_battery_wh
        + summary.vehicle_wh;
    let share = if came > 0.0 { percent(summary.solar_used_wh / came) } else { percent(0.0) };
    // A bin at either end may hold a few days only: compare by hour.
    let least = bins
        .iter()
        .enumerate()
        .min_by(|a, b| (sun(a.1) / a.1.hours).total_cmp(&(sun(b.1) / b.1.hours)));
    match least {
        Some((i, bin)) if summary.solar_used_wh > 0.0 => {
            format!(
                "The sun brought {share} of what came in, least in {}: {}",
                name(i),
                energy(sun(bin))
            )
        }
        _ => "The sun brought nothing".to_owned(),
    }
}

/// What a bin is called: `Mon 18 Jan`, `18 Jan`, `Jan`, `2027`.
fn bin_name(span: &Span, bins: &[Bin], i: usize, grain: Grain, long: bool) -> String {
    let date = bins[i].date;
    let pattern = match (grain, long) {
        (Grain::Step | Grain::Hour | Grain::Day, _) => "%a %-d %b",
        (Grain::Week, true) => "the week of %-d %B",
        (Grain::Week, false) => "%-d %b",
        (Grain::Month, true) if span.hours > 330.0 * 24.0 => "%B %Y",
        (Grain::Month, true) => "%B",
        (Grain::Month, false) => "%b",
        (Grain::Year, _) => "%Y",
    };
    date.format(pattern).to_string()
}

/// Names of the columns and, where one is not full, its hours. Returns the height of the first row.
fn heads(
    canvas: &mut Canvas,
    span: &Span,
    bins: &[Bin],
    grain: Grain,
    (x0, x1): (f64, f64),
    y: f64,
) -> f64 {
    let column = (x1 - x0) / bins.len() as f64;
    let names: Vec<String> =
        (0..bins.len()).map(|i| bin_name(span, bins, i, grain, false)).collect();
    let widest = names.iter().map(|name| width_px(name, SMALL)).fold(0.0, f64::max);
    let every = (((widest + 6.0) / column).ceil() as usize).max(1);
    // A day's name that has no room on one line stands on two.
    let two = matches!(grain, Grain::Day) && every > 1;
    let partial = bins.iter().any(|bin| bin.hours < 22.5) && matches!(grain, Grain::Day);
    let base = y + if two { 14.0 } else { 0.0 };
    for (i, name) in names.iter().enumerate() {
        let x = x0 + (i as f64 + 0.5) * column;
        let face = SMALL.at(Anchor::Middle).in_ink(TEXT);
        if let (true, Some((day, date))) = (two, name.split_once(' ')) {
            canvas.text(x, y, day, face);
            canvas.text(x, base, date, face);
        } else if i % every == 0 {
            canvas.text(x, base, name, face);
        }
        if partial && bins[i].hours < 22.5 && column > 30.0 {
            let words = format!("{} h", trimmed(bins[i].hours, 1));
            canvas.text(x, base + 14.0, &words, SMALL.at(Anchor::Middle));
        }
    }
    canvas.text(WIDTH_PX - RIM_PX, base, "whole span", SMALL.at(Anchor::End).in_ink(QUIET));
    base + if partial { 34.0 } else { 20.0 }
}
