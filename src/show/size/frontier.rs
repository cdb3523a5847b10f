//! The chart of the smallest stations: panel watts over ampere-hours.
//!
//! Lines of equal chance are stepped, as the sizes are: the stations on and above a line reach it. Each
//! line is labelled with its chance. Dots are stations that were simulated.

use super::super::axes::{Scale, level_ticks};
use super::super::canvas::{Canvas, Picture, Point, Rect, text_box};
use super::super::labels::{Busy, beside, covered};
use super::super::odds::sentence::{Words, exact_percent, whole};
use super::super::page::{ROOM_PX, head};
use super::super::text::{clean, fit};
use super::super::theme::{
    ASKED_PEN, AXIS_PEN, Anchor, CRIMSON, HAIR_PEN, LABEL, OTHER_PEN, PETROL, RIM_PX, SLATE,
    SLATE_MID, SMALL, SUBTITLE, TEXT, Type, WIDTH_PX,
};
use super::super::words::{hours, number};
use super::sentence::{first_sentence, money, station};
use crate::decide::size::Sizing;
use crate::decide::size::ladder::Place;
use crate::decide::size::result::Contour;
use crate::decide::size::staircase::corners;

const NAME: &str = "size-frontier";
/// Height of the plot, px.
const PLOT_PX: f64 = 430.0;
const LEFT_PX: f64 = 76.0;
const RIGHT_PX: f64 = WIDTH_PX - 40.0;
/// How far the axes go beyond what they must hold.
const BEYOND: f64 = 1.12;
/// How far lines that coincide stand apart, px.
const BESIDE_PX: f64 = 2.6;

/// Draws the chart.
#[must_use]
pub fn frontier(sizing: &Sizing) -> Picture {
    let mut canvas = Canvas::new();
    let said = first_sentence(sizing);
    let title = said.trim_end_matches('.');
    let words = Words::of(sizing.occasion);
    let about = fit(&about_line(sizing), SUBTITLE, ROOM_PX);
    let drawn = format!(
        "Lines: the smallest stations that are on the air for all {} in the share of {} written on \
         them, the thick one for what was asked for; larger stations lie above and to the right. \
         Lines that coincide are drawn a little apart. Dots: stations simulated.",
        hours(f64::from(sizing.wanted.hours)),
        words.many
    );
    let top = head(&mut canvas, title, &about, &drawn) + 30.0;
    let plot = Rect::new(LEFT_PX, top, RIGHT_PX, top + PLOT_PX);
    let scales = Scales::new(sizing, plot);
    axes(&mut canvas, plot, &scales);
    let mut dots = Vec::new();
    for it in &sizing.simulated {
        let at = scales.of(it.place.panels, it.place.battery, sizing);
        let same_layer = Place { panels: 0, battery: 0, ..it.place } == sizing.layer;
        // What lies beyond the axes would be drawn on their end.
        if same_layer && at.0 < plot.x1 && at.1 > plot.y0 {
            canvas.dot(at, 1.7, SLATE_MID, true);
            dots.push(Rect::new(at.0 - 1.7, at.1 - 1.7, at.0 + 1.7, at.1 + 1.7));
        }
    }
    let below = |share: f64| sizing.contours.iter().filter(|it| it.chance < share).count() as f64;
    let target = sizing.wanted.chance;
    let lines: Vec<(&Contour, Vec<Point>)> = sizing
        .contours
        .iter()
        .map(|it| {
            let rank = below(it.chance) - below(target);
            (it, steps(it, sizing, &scales, plot, rank * BESIDE_PX))
        })
        .collect();
    for (at, (_, points)) in lines.iter().enumerate().rev() {
        canvas.line(points, if at == 0 { ASKED_PEN } else { OTHER_PEN });
    }
    let marks = marks(sizing, &scales);
    let mut busy_areas: Vec<Rect> = marks
        .iter()
        .map(|(at, ..)| Rect::new(at.0 - 7.0, at.1 - 7.0, at.0 + 7.0, at.1 + 7.0))
        .collect();
    for (at, (contour, points)) in lines.iter().enumerate() {
        let words = exact_percent(contour.chance);
        let face = if at == 0 { LABEL.strong() } else { SMALL.in_ink(TEXT) };
        let others: Vec<&[Point]> = lines
            .iter()
            .enumerate()
            .filter(|(other, _)| *other != at)
            .map(|(_, (_, points))| points.as_slice())
            .collect();
        on_line(&mut canvas, points, &words, face, (&busy_areas, &others), plot);
    }
    for (at, full, ink, _) in &marks {
        canvas.dot(*at, 5.0, *ink, *full);
    }
    busy_areas.extend(dots);
    let busy = Busy {
        lines: lines.iter().map(|(_, points)| points.as_slice()).collect(),
        areas: &busy_areas,
    };
    for (at, _, ink, words) in &marks {
        beside(&mut canvas, *at, words, LABEL.in_ink(*ink), &busy, plot);
    }
    let told: Vec<String> = marks.into_iter().map(|(.., words)| words).collect();
    let description = format!("{title}. {about}. {drawn} {}.", told.join(". "));
    canvas.finish(NAME, title, &description, (WIDTH_PX, plot.y1 + 46.0 + RIM_PX / 2.0))
}

fn about_line(sizing: &Sizing) -> String {
    let (title, strategy) = (clean(&sizing.title), clean(&sizing.strategy));
    let most = Words::of(sizing.occasion).counted(sizing.trials);
    format!("{title}, \"{strategy}\"; up to {most} a station (seed {})", sizing.seed)
}

/// Where watts and ampere-hours stand.
struct Scales {
    across: Scale,
    up: Scale,
}

impl Scales {
    /// From nothing to what is named and to where all lines have become level or upright; what lies
    /// beyond says nothing more.
    fn new(sizing: &Sizing, plot: Rect) -> Self {
        let ladders = &sizing.options;
        let named = sizing.chosen.iter().chain(&sizing.smallest_stations).chain(&sizing.largest);
        let hand =
            sizing.worksheet.iter().map(|hand| (hand.station.rated_w, hand.station.rated_ah));
        let corners = sizing.contours.iter().flat_map(|it| corners(&it.least_panels));
        let corners = corners.map(|(panels, battery)| {
            (ladders.panels[panels].rated_w, ladders.batteries[battery].rated_ah)
        });
        let (most_w, most_ah) = named
            .map(|it| (it.rated_w, it.rated_ah))
            .chain(hand)
            .chain(corners)
            .fold((0.0_f64, 0.0_f64), |most, it| (most.0.max(it.0), most.1.max(it.1)));
        Self {
            across: Scale::new(0.0, most_ah * BEYOND, plot.x0, plot.x1),
            up: Scale::new(0.0, most_w * BEYOND, plot.y1, plot.y0),
        }
    }

    fn at(&self, rated_w: f64, rated_ah: f64) -> Point {
        (self.across.px(rated_ah), self.up.px(rated_w))
    }

    fn of(&self, panels: usize, battery: usize, sizing: &Sizing) -> Point {
        let ladders = &sizing.options;
        self.at(ladders.panels[panels].rated_w, ladders.batteries[battery].rated_ah)
    }
}

fn axes(canvas: &mut Canvas, plot: Rect, scales: &Scales) {
    level_ticks(canvas, plot, &scales.up, 34.0);
    let (ticks, places) = scales.across.ticks(70.0);
    for tick in ticks {
        let x = scales.across.px(tick);
        canvas.line(&[(x, plot.y0), (x, plot.y1)], HAIR_PEN);
        canvas.line(&[(x, plot.y1), (x, plot.y1 + 4.0)], AXIS_PEN);
        canvas.text(x, plot.y1 + 16.0, &number(tick, places), SMALL.at(Anchor::Middle));
    }
    canvas.line(&[(plot.x0, plot.y1), (plot.x1, plot.y1)], AXIS_PEN);
    canvas.line(&[(plot.x0, plot.y0), (plot.x0, plot.y1)], AXIS_PEN);
    canvas.text(plot.x0, plot.y0 - 10.0, "rated power of the panels, W", LABEL);
    let middle = (plot.x0 + plot.x1) / 2.0;
    canvas.text(
        middle,
        plot.y1 + 34.0,
        "rated capacity of the battery, Ah",
        LABEL.at(Anchor::Middle),
    );
}

/// A line of equal chance: down from the top at the first battery that reaches it, then step by
/// step, and on to the right. Lines that coincide are drawn side by side, the higher chance above
/// and to the right: `beside` is how far this one is moved, px.
fn steps(
    contour: &Contour,
    sizing: &Sizing,
    scales: &Scales,
    plot: Rect,
    beside: f64,
) -> Vec<Point> {
    let mut points: Vec<Point> = Vec::new();
    for (battery, panels) in contour.least_panels.iter().enumerate() {
        let Some(panels) = panels else { continue };
        let at = scales.of(*panels, battery, sizing);
        let (x, y) = ((at.0 + beside).min(plot.x1), (at.1 - beside).max(plot.y0));
        match points.last() {
            None => points.push((x, plot.y0)),
            Some((_, before)) if *before != y => points.push((x, *before)),
            Some(_) => {}
        }
        points.push((x, y));
    }
    if let Some((_, y)) = points.last().copied() {
        points.push((plot.x1, y));
    }
    points
}

/// The stations that are named: place, filled or a ring, ink, words.
fn marks(sizing: &Sizing, scales: &Scales) -> Vec<(Point, bool, super::super::theme::Ink, String)> {
    let mut found = Vec::new();
    let ladders = &sizing.options;
    let trials = |survived: u64, of: u64| format!("{} of {}", whole(survived), whole(of));
    if let Some(chosen) = &sizing.chosen {
        let price = chosen.costs.price.filter(|price| *price > 0.0);
        let price = price.map_or(String::new(), |price| format!(", {}", money(ladders, price)));
        let words = format!(
            "chosen: {}{price}; {}",
            station(ladders, chosen.place),
            trials(chosen.survived, chosen.trials)
        );
        found.push((scales.at(chosen.rated_w, chosen.rated_ah), true, PETROL, words));
    }
    if let Some(largest) = &sizing.largest {
        let words = format!("the largest: {}", trials(largest.survived, largest.trials));
        found.push((scales.at(largest.rated_w, largest.rated_ah), true, CRIMSON, words));
    }
    for it in &sizing.smallest_stations {
        let words = exact_percent(it.on_air_share);
        found.push((scales.at(it.rated_w, it.rated_ah), true, PETROL, words));
    }
    if let Some(hand) = &sizing.worksheet {
        let it = &hand.station;
        let words = format!("worksheet: {}", trials(it.survived, it.trials));
        found.push((scales.at(it.rated_w, it.rated_ah), false, SLATE, words));
    }
    found
}

/// Writes a label on a line, on paper: where it stands on no mark and no other text, covers least of
/// other lines, and stands on a level stretch if there is one.
fn on_line(
    canvas: &mut Canvas,
    points: &[Point],
    words: &str,
    face: Type,
    (marks, others): (&[Rect], &[&[Point]]),
    plot: Rect,
) {
    let face = face.at(Anchor::Middle);
    let mut best: Option<(f64, Point)> = None;
    for pair in points.windows(2) {
        let [(x0, y0), (x1, y1)] = pair else { continue };
        let length = (x1 - x0).abs().max((y1 - y0).abs());
        let parts = (length / 8.0).ceil().max(1.0);
        let mut part = 0.0;
        while part < parts {
            let share = (part + 0.5) / parts;
            part += 1.0;
            let at = (x0 + (x1 - x0) * share, y0 + (y1 - y0) * share + face.size_px * 0.36);
            let area = text_box(at.0, at.1, words, face).grown(2.0);
            let outside =
                area.x0 < plot.x0 || area.x1 > plot.x1 || area.y0 < plot.y0 || area.y1 > plot.y1;
            let taken = canvas.text_boxes().iter().chain(marks).any(|it| it.overlaps(&area));
            if outside || taken {
                continue;
            }
            let hidden: f64 = others.iter().map(|line| covered(line, &area)).sum();
            let level = y0 == y1 && length > area.width();
            let cost = hidden + (share - 0.5).abs() * 10.0 + if level { 0.0 } else { 8.0 };
            if best.is_none_or(|(least, _)| cost < least) {
                best = Some((cost, at));
            }
        }
    }
    if let Some((_, at)) = best {
        let area = text_box(at.0, at.1, words, face).grown(1.0);
        canvas.veil(area);
        canvas.veil(area);
        canvas.text(at.0, at.1, words, face);
    }
}
