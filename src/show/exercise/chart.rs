//! The timeline of one trial: who is on watch, the charge of every pack and where it is, swaps, the
//! generator.

use super::super::canvas::{Canvas, Picture, Point, Rect};
use super::super::labels::BEFORE_WORDS_PX;
use super::super::page::head;
use super::super::text::{clean, fit, width_px};
use super::super::theme::{
    Anchor, CRIMSON, Dash, Fill, GENERATOR_FILL, GENERATOR_STORED_FILL, HAIR_PEN, LABEL,
    LEADER_PEN, MAIN_PEN, OLIVE_DEEP, OLIVE_PALE, PETROL, PETROL_PALE, Pen, QUIET, RIM_PX, SLATE,
    SMALL, TEXT, TIER_FILL, Type, UNSERVED_FILL, WIDTH_PX,
};
use super::super::words::trimmed;
use super::clock_axis::ClockAxis;
use super::told::{about, drawn_of, moment, percent_whole, swaps_in_words, title_of};
use crate::decide::exercise::timeline::{PackLine, PackPlace, StationLine};
use crate::decide::exercise::{ClubTimeline, Exercise};

/// Where names end and the plot begins, px.
const LEFT_PX: f64 = 132.0;
/// Room right of the plot, px.
const GUTTER_PX: f64 = 182.0;
/// Height of a lane of watches, px.
const WATCH_PX: f64 = 17.0;
/// Height of the plot of one pack, px.
const PACK_PX: f64 = 40.0;
/// Between two packs, px.
const GAP_PX: f64 = 11.0;

/// A pack in a station.
const IN_STATION: Fill = Fill { base: PETROL_PALE, lines: None, gap_px: 4.0, edge: None };
/// A pack on the charger.
const ON_CHARGER: Fill = Fill { base: OLIVE_PALE, lines: None, gap_px: 4.0, edge: None };
/// Hours in which the generator may run.
const ALLOWED: Fill = Fill { base: OLIVE_PALE, lines: None, gap_px: 4.0, edge: Some(OLIVE_DEEP) };
/// A pack that stands.
const STANDS: Pen = Pen { ink: SLATE, width_px: 1.1, dash: Dash::Dotted };
/// A pack that is carried.
const CARRIED: Pen = Pen { ink: SLATE, width_px: 1.3, dash: Dash::Dashed };
/// The charge of a pack on the charger.
const CHARGING: Pen = Pen { ink: OLIVE_DEEP, width_px: 2.0, dash: Dash::Solid };

/// Draws a trial.
#[must_use]
pub fn timeline(exercise: &Exercise, timeline: &ClubTimeline) -> Picture {
    let name = if timeline.called == "worst" { "timeline-worst" } else { "timeline-median" };
    let mut canvas = Canvas::new();
    let title = title_of(timeline);
    let about = about(exercise, timeline);
    let drawn = drawn_of(timeline);
    let top = head(&mut canvas, &title, &about, drawn) + 10.0;
    let right = WIDTH_PX - GUTTER_PX;
    let axis = ClockAxis::new(timeline.start, timeline.hours, LEFT_PX, right);
    let height = height_of(timeline);
    axis.nights(&mut canvas, &timeline.nights_h, (top, top + height));
    axis.upright_lines(&mut canvas, (top, top + height));

    let mut y = top;
    section(&mut canvas, y, "On watch");
    y += 16.0;
    for station in &timeline.stations {
        watch_lane(&mut canvas, &axis, y, station, timeline);
        y += WATCH_PX;
    }
    y += 8.0;
    section(&mut canvas, y, "Charge");
    y += 18.0;
    let mut tops = Vec::new();
    for (at, pack) in timeline.packs.iter().enumerate() {
        tops.push(y);
        pack_lane(&mut canvas, &axis, y, pack, timeline, at == 0);
        y += PACK_PX + GAP_PX;
    }
    for station in timeline.stations.iter().filter(|it| it.came && !it.takes_packs) {
        own_lane(&mut canvas, &axis, y, station, timeline);
        y += PACK_PX + GAP_PX;
    }
    swap_marks(&mut canvas, &axis, &tops, timeline);
    if timeline.has_point {
        generator_lane(&mut canvas, &axis, y + 2.0, timeline);
        y += WATCH_PX + 6.0;
    }
    let bottom = axis.axis(&mut canvas, y);
    let description = format!("{about}. {title}. {}", swaps_in_words(timeline));
    canvas.finish(name, &title, &description, (WIDTH_PX, bottom + RIM_PX))
}

fn height_of(timeline: &ClubTimeline) -> f64 {
    let own = timeline.stations.iter().filter(|it| it.came && !it.takes_packs).count();
    let charges = (timeline.packs.len() + own) as f64 * (PACK_PX + GAP_PX);
    let point = if timeline.has_point { WATCH_PX + 6.0 } else { 0.0 };
    16.0 + timeline.stations.len() as f64 * WATCH_PX + 8.0 + 18.0 + charges + point
}

fn section(canvas: &mut Canvas, y: f64, words: &str) {
    canvas.text(RIM_PX, y + 9.0, words, LABEL.strong());
}

fn lane_name(canvas: &mut Canvas, y: f64, words: &str) {
    let words = fit(&clean(words), LABEL, LEFT_PX - 34.0 - RIM_PX);
    canvas.text(RIM_PX, y, &words, LABEL);
}

fn side(canvas: &mut Canvas, axis: &ClockAxis, y: f64, words: &str, face: Type) {
    let (_, x1) = axis.ends();
    let words = fit(words, face, GUTTER_PX - BEFORE_WORDS_PX / 2.0 - RIM_PX);
    canvas.text(x1 + BEFORE_WORDS_PX / 2.0, y, &words, face);
}

fn watch_lane(
    canvas: &mut Canvas,
    axis: &ClockAxis,
    top: f64,
    station: &StationLine,
    timeline: &ClubTimeline,
) {
    let middle = top + WATCH_PX / 2.0;
    let (x0, x1) = axis.ends();
    lane_name(canvas, middle + 4.0, &station.name);
    canvas.line(&[(x0, middle), (x1, middle)], HAIR_PEN);
    if !station.came {
        side(canvas, axis, middle + 4.0, "did not come", SMALL.in_ink(CRIMSON));
        return;
    }
    let bars = |spells: &[(f64, f64)], half: f64| -> Vec<Rect> {
        let bar = |(from, to): &(f64, f64)| {
            Rect::new(axis.x(*from), middle - half, axis.x(*to), middle + half)
        };
        spells.iter().map(bar).collect()
    };
    canvas.fill(&bars(&station.watch_h, 4.5), TIER_FILL);
    let off = off_spells(station, timeline.step_h);
    // Hatched: red and slate are alike on grey paper.
    canvas.fill(&bars(&off, 5.5), UNSERVED_FILL);
    let on_h: f64 = station.watch_h.iter().map(|(from, to)| to - from).sum();
    match station.first_off_h {
        Some(h) => {
            let words = format!("off the air, first {}", moment(timeline, h));
            side(canvas, axis, middle + 4.0, &words, SMALL.in_ink(CRIMSON));
        }
        None => {
            let words = format!("on watch {} h", trimmed(on_h, 1));
            side(canvas, axis, middle + 4.0, &words, SMALL);
        }
    }
}

/// Steps in which a station was off the air, joined; the first from the moment at which it went off.
fn off_spells(station: &StationLine, step_h: f64) -> Vec<(f64, f64)> {
    let mut spells: Vec<(f64, f64)> = Vec::new();
    for (step, _) in station.off.iter().enumerate().filter(|(_, off)| **off) {
        let (from, to) = (step as f64 * step_h, (step + 1) as f64 * step_h);
        match spells.last_mut() {
            Some((_, end)) if (from - *end).abs() < 1e-9 => *end = to,
            _ => spells.push((from, to)),
        }
    }
    if let (Some((from, to)), Some(first_h)) = (spells.first_mut(), station.first_off_h) {
        *from = first_h.clamp(*from, *to);
    }
    spells
}

/// The rules of a small plot of a charge, and the place of a charge in it.
fn charge_plot(
    canvas: &mut Canvas,
    axis: &ClockAxis,
    top: f64,
    numbered: bool,
) -> impl Fn(f64) -> f64 + use<> {
    let (x0, x1) = axis.ends();
    let y = move |share: f64| top + PACK_PX * (1.0 - share.clamp(0.0, 1.0));
    for (share, words) in [(0.0, "0"), (0.5, ""), (1.0, "100 %")] {
        canvas.line(&[(x0, y(share)), (x1, y(share))], HAIR_PEN);
        if numbered && !words.is_empty() {
            canvas.text(x0 - 5.0, y(share) + 4.0, words, SMALL.at(Anchor::End));
        }
    }
    y
}

fn pack_lane(
    canvas: &mut Canvas,
    axis: &ClockAxis,
    top: f64,
    pack: &PackLine,
    timeline: &ClubTimeline,
    numbered: bool,
) {
    let y = charge_plot(canvas, axis, top, numbered);
    lane_name(canvas, top + PACK_PX / 2.0 + 4.0, &pack.name);
    if pack.charge_share.is_empty() {
        side(canvas, axis, top + PACK_PX / 2.0 + 4.0, "did not come", SMALL.in_ink(CRIMSON));
        return;
    }
    let step_h = timeline.step_h;
    let charge_before = |step: usize| {
        step.checked_sub(1)
            .and_then(|it| pack.charge_share.get(it))
            .copied()
            .unwrap_or(pack.start_share)
    };
    let mut from = 0;
    let mut named: Vec<(f64, f64, bool, String)> = Vec::new();
    for spell in pack.place.chunk_by(|one, other| one == other) {
        let to = from + spell.len();
        let x = |step: usize| axis.x(step as f64 * step_h);
        let mut line: Vec<Point> = vec![(x(from), y(charge_before(from)))];
        let (mut under, mut rising) = (Vec::new(), Vec::new());
        let mut sum = 0.0;
        for step in from..to {
            let (before, charge) = (charge_before(step), pack.charge_share[step]);
            line.push((x(step + 1), y(charge)));
            sum += charge;
            let area = Rect::new(x(step), y(charge.min(before)), x(step + 1), y(0.0));
            under.push(area);
            if charge > before {
                rising.push(area);
            }
        }
        // Words stand where the line does not.
        let low = sum / (spell.len() as f64) < 0.5;
        let (words, pen) = match &spell[0] {
            PackPlace::Station(name) => {
                canvas.fill(&under, IN_STATION);
                (clean(name), MAIN_PEN)
            }
            PackPlace::Charging => {
                canvas.fill(&under, ON_CHARGER);
                canvas.fill(&rising, GENERATOR_STORED_FILL);
                ("on the charger".to_owned(), CHARGING)
            }
            PackPlace::Standing => ("stands".to_owned(), STANDS),
            PackPlace::Carried => ("carried".to_owned(), CARRIED),
            PackPlace::Absent => (String::new(), STANDS),
        };
        canvas.line(&line, pen);
        named.push((x(from), x(to), low, words));
        from = to;
    }
    for (x0, x1, low, words) in named {
        let width = width_px(&words, SMALL);
        if !words.is_empty() && width + 8.0 <= x1 - x0 {
            let place = (x0 + x1) / 2.0;
            let base = top + if low { 12.0 } else { PACK_PX - 4.0 };
            let half = width / 2.0 + 2.0;
            canvas.veil(Rect::new(place - half, base - 9.5, place + half, base + 2.5));
            canvas.text(place, base, &words, SMALL.at(Anchor::Middle).in_ink(TEXT));
        }
    }
    let end = pack.charge_share.last().copied().unwrap_or(f64::NAN);
    let least = pack.charge_share.iter().copied().fold(pack.start_share, f64::min);
    let words = format!("ends at {}, lowest {}", percent_whole(end), percent_whole(least));
    side(canvas, axis, top + PACK_PX / 2.0 + 4.0, &words, SMALL);
}

fn own_lane(
    canvas: &mut Canvas,
    axis: &ClockAxis,
    top: f64,
    station: &StationLine,
    timeline: &ClubTimeline,
) {
    let y = charge_plot(canvas, axis, top, timeline.packs.is_empty());
    lane_name(canvas, top + PACK_PX / 2.0, &station.name);
    canvas.text(RIM_PX, top + PACK_PX / 2.0 + 13.0, "own battery", SMALL);
    let charges = std::iter::once(&station.start_share).chain(&station.charge_share);
    let line: Vec<Point> = charges
        .enumerate()
        .map(|(step, it)| (axis.x(step as f64 * timeline.step_h), y(*it)))
        .collect();
    canvas.line(&line, MAIN_PEN);
    let end = station.charge_share.last().copied().unwrap_or(f64::NAN);
    let least = station.charge_share.iter().copied().fold(station.start_share, f64::min);
    let words = format!("ends at {}, lowest {}", percent_whole(end), percent_whole(least));
    side(canvas, axis, top + PACK_PX / 2.0 + 4.0, &words, SMALL);
}

/// From the pack that was taken off to the one that was put on.
fn swap_marks(canvas: &mut Canvas, axis: &ClockAxis, tops: &[f64], timeline: &ClubTimeline) {
    let lane = |name: &str| timeline.packs.iter().position(|it| it.name == name);
    for swap in &timeline.swaps {
        let (Some(off), Some(on)) = (lane(&swap.off), lane(&swap.on)) else { continue };
        let x = axis.x(swap.at_h);
        let y = |at: usize, share: f64| tops[at] + PACK_PX * (1.0 - share.clamp(0.0, 1.0));
        let (y_off, y_on) = (y(off, swap.off_share), y(on, swap.on_share));
        canvas.line(&[(x, y_off), (x, y_on)], LEADER_PEN);
        canvas.dot((x, y_off), 3.0, PETROL, false);
        canvas.dot((x, y_on), 3.2, PETROL, true);
    }
}

fn generator_lane(canvas: &mut Canvas, axis: &ClockAxis, top: f64, timeline: &ClubTimeline) {
    let middle = top + WATCH_PX / 2.0;
    let (x0, x1) = axis.ends();
    lane_name(canvas, middle + 4.0, "generator");
    canvas.line(&[(x0, middle), (x1, middle)], HAIR_PEN);
    let allowed: Vec<Rect> = timeline
        .engine_allowed_h
        .iter()
        .map(|(from, to)| Rect::new(axis.x(*from), middle - 5.5, axis.x(*to), middle + 5.5))
        .collect();
    canvas.fill(&allowed, ALLOWED);
    let step_h = timeline.step_h;
    let runs: Vec<Rect> = timeline
        .generator_h
        .iter()
        .enumerate()
        .filter(|(_, h)| **h > 1e-9)
        .map(|(step, h)| {
            let from = step as f64 * step_h;
            // What stops within a step runs at its beginning.
            Rect::new(axis.x(from), middle - 4.0, axis.x(from + h.min(step_h)), middle + 4.0)
        })
        .collect();
    canvas.fill(&runs, GENERATOR_FILL);
    let hours: f64 = timeline.generator_h.iter().sum();
    let words = format!("runs {} h, {} l", trimmed(hours, 1), trimmed(timeline.fuel_l, 1));
    side(canvas, axis, middle + 4.0, &words, SMALL.in_ink(QUIET));
}

#[cfg(test)]
mod tests {
    use super::super::told::tests::evening;
    use super::*;

    #[test]
    fn hatching_begins_when_the_station_goes_off() {
        let told = evening();
        // Steps of half an hour: off in the eighth, ninth and twelfth, first at 3.95 h.
        assert_eq!(off_spells(&told.stations[0], 0.5), [(3.95, 4.5), (5.5, 6.0)]);
        assert_eq!(off_spells(&told.stations[2], 0.5), []);
    }
}
