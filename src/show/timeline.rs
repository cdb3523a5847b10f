//! The time axis of a picture: nights behind the data, days and months at their real beginnings.

use chrono::{Datelike, NaiveDate};

use super::canvas::{Canvas, Rect};
use super::span::{Span, first_of_month, first_of_year, monday};
use super::text::width_px;
use super::theme::{AXIS_PEN, Anchor, HAIR_PEN, LABEL, NIGHT, SMALL};

/// Days narrower than this show no nights, px.
const NIGHT_DAY_PX: f64 = 14.0;

/// What the time axis names.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Marked {
    Days,
    Weeks,
    Months,
    Years,
}

/// Time from left to right.
pub struct Timeline<'a> {
    span: &'a Span<'a>,
    x0: f64,
    x1: f64,
    days: Vec<(f64, NaiveDate)>,
}

impl<'a> Timeline<'a> {
    /// The span between two places, px.
    #[must_use]
    pub fn new(span: &'a Span<'a>, x0: f64, x1: f64) -> Self {
        Self { span, x0, x1, days: span.days() }
    }

    /// Where an elapsed hour stands, px.
    #[must_use]
    pub fn x(&self, at_h: f64) -> f64 {
        self.x0 + (at_h / self.span.hours).clamp(0.0, 1.0) * (self.x1 - self.x0)
    }

    /// Its left and right end, px.
    #[must_use]
    pub fn ends(&self) -> (f64, f64) {
        (self.x0, self.x1)
    }

    /// What the axis names: what has room for its name.
    fn marked(&self) -> Marked {
        match self.day_px() {
            day if day >= 52.0 => Marked::Days,
            day if day >= 7.2 => Marked::Weeks,
            day if day >= 0.55 => Marked::Months,
            _ => Marked::Years,
        }
    }

    /// Width of a day, px.
    fn day_px(&self) -> f64 {
        (self.x1 - self.x0) * 24.0 / self.span.hours
    }

    /// Whether nights are drawn.
    #[must_use]
    pub fn shows_nights(&self) -> bool {
        self.day_px() >= NIGHT_DAY_PX && self.span.steps.iter().any(|s| s.row.daylight_share < 1.0)
    }

    /// Nights behind a plot; the first that is wide enough carries its name above the plot if asked.
    pub fn nights(&self, canvas: &mut Canvas, plot: Rect, named: bool) {
        if !self.shows_nights() {
            return;
        }
        let mut to_name = named;
        for (from, to) in self.span.spells(|row| 1.0 - row.daylight_share) {
            let band = Rect::new(self.x(from), plot.y0, self.x(to), plot.y1);
            canvas.rect(band, NIGHT);
            let middle = (band.x0 + band.x1) / 2.0;
            if to_name && band.width() > width_px("night", SMALL) {
                canvas.text(middle, plot.y0 - 5.0, "night", SMALL.at(Anchor::Middle));
                to_name = false;
            }
        }
    }

    /// Places where a day, month or year begins within the span, whichever the axis marks.
    fn bounds(&self) -> Vec<(f64, NaiveDate)> {
        let key: fn(NaiveDate) -> NaiveDate = match self.marked() {
            Marked::Days => |date| date,
            Marked::Weeks => monday,
            Marked::Months => first_of_month,
            Marked::Years => first_of_year,
        };
        let mut bounds: Vec<(f64, NaiveDate)> = Vec::new();
        for (at_h, date) in &self.days {
            if bounds.last().is_none_or(|(_, known)| key(*known) != key(*date)) {
                bounds.push((*at_h, *date));
            }
        }
        bounds
    }

    /// Hair lines through a plot where days, weeks or months begin.
    pub fn upright_lines(&self, canvas: &mut Canvas, plot: Rect) {
        for (at_h, _) in self.bounds().iter().skip(1) {
            let x = self.x(*at_h);
            canvas.line(&[(x, plot.y0), (x, plot.y1)], HAIR_PEN);
        }
    }

    /// Ticks and names under a plot whose bottom is `y`. Returns the height below them, px.
    pub fn axis(&self, canvas: &mut Canvas, y: f64) -> f64 {
        canvas.line(&[(self.x0, y), (self.x1, y)], AXIS_PEN);
        let mut below = y;
        if let Some(every_min) = self.clock_step() {
            for (at_h, time) in self.span.clock_marks(every_min) {
                let x = self.x(at_h);
                canvas.line(&[(x, y), (x, y + 4.0)], AXIS_PEN);
                let words = time.format("%H:%M").to_string();
                self.text_apart(canvas, x, y + 15.0, &words);
            }
            below += 15.0;
        }
        self.names(canvas, y, below)
    }

    /// A small text centred at `x` unless it would touch one already there.
    fn text_apart(&self, canvas: &mut Canvas, x: f64, y: f64, words: &str) {
        let half = width_px(words, SMALL) / 2.0;
        let area = Rect::new(x - half - 4.0, y - 8.0, x + half + 4.0, y + 2.0);
        if canvas.text_boxes().iter().all(|other| !other.overlaps(&area)) {
            canvas.text(x, y, words, SMALL.at(Anchor::Middle));
        }
    }

    /// Minutes between clock labels; `None` when the span is too long for them.
    fn clock_step(&self) -> Option<u32> {
        let minute_px = (self.x1 - self.x0) / (self.span.hours * 60.0);
        let least = width_px("00:00", SMALL) + 14.0;
        [5, 10, 15, 30, 60, 120, 180, 360, 720]
            .into_iter()
            .find(|m| f64::from(*m) * minute_px >= least)
    }

    fn names(&self, canvas: &mut Canvas, y: f64, below: f64) -> f64 {
        let marked = self.marked();
        let patterns: &[&str] = match marked {
            Marked::Days => &["%A %-d %B", "%a %-d %b", "%a %-d", "%-d"],
            Marked::Weeks => &["%a %-d %B", "%-d %B", "%-d %b"],
            Marked::Months => &["%B", "%b", "%b."],
            Marked::Years => &["%Y"],
        };
        if marked == Marked::Weeks {
            for (at_h, _) in &self.days {
                let x = self.x(*at_h);
                canvas.line(&[(x, y), (x, y + 3.0)], AXIS_PEN);
            }
        }
        let bounds = self.bounds();
        let ends = bounds.iter().skip(1).map(|(at_h, _)| *at_h).chain([self.span.hours]);
        let parts: Vec<(f64, f64, NaiveDate)> = bounds
            .iter()
            .zip(ends)
            .map(|((from, date), to)| (self.x(*from), self.x(to), *date))
            .collect();
        let widest = parts.iter().map(|(from, to, _)| to - from).fold(0.0, f64::max);
        // The longest pattern with which every full part has room.
        let fits = |pattern: &str, room: f64, date: &NaiveDate| {
            width_px(&name_of(date, pattern), LABEL) + 6.0 <= room
        };
        let uniform = patterns
            .iter()
            .position(|p| {
                parts
                    .iter()
                    .filter(|(a, b, _)| b - a > 0.85 * widest)
                    .all(|(a, b, d)| fits(p, b - a, d))
            })
            .unwrap_or(patterns.len() - 1);
        let base = below + 16.0;
        // Between names, below the clock labels.
        let from = if below > y { below + 5.0 } else { y };
        let separator = |canvas: &mut Canvas, x: f64| {
            canvas.line(&[(x, from), (x, base + 3.0)], AXIS_PEN);
        };
        let mut year_told: Option<i32> = None;
        for (from, to, date) in &parts {
            let x = *from;
            separator(canvas, x);
            let Some(pattern) = patterns[uniform..].iter().find(|p| fits(p, to - from, date))
            else {
                continue;
            };
            // A week is named by its first day, so the name stands at its beginning.
            let (x, anchor) = match marked {
                Marked::Weeks => (from + 5.0, Anchor::Start),
                _ => ((from + to) / 2.0, Anchor::Middle),
            };
            canvas.text(x, base, &name_of(date, pattern), LABEL.at(anchor));
            if marked == Marked::Months && year_told != Some(date.year()) {
                let words = date.format("%Y").to_string();
                self.text_apart(
                    canvas,
                    ((from + to) / 2.0).max(self.x0 + 14.0),
                    base + 15.0,
                    &words,
                );
                year_told = Some(date.year());
            }
        }
        separator(canvas, self.x1);
        if year_told.is_some() { base + 20.0 } else { base + 6.0 }
    }

    /// Spells as rectangles, joined where less than half a pixel parts them, never thinner than a pixel.
    #[must_use]
    pub fn bars(&self, spells: &[(f64, f64)], y0: f64, y1: f64) -> Vec<Rect> {
        let mut bars: Vec<Rect> = Vec::new();
        for (from, to) in spells {
            let (x0, x1) = (self.x(*from), self.x(*to));
            let x1 = x1.max(x0 + 1.0).min(self.x1.max(x0));
            match bars.last_mut() {
                Some(last) if x0 - last.x1 < 0.5 => last.x1 = last.x1.max(x1),
                _ => bars.push(Rect::new(x0, y0, x1, y1)),
            }
        }
        bars
    }
}

fn name_of(date: &NaiveDate, pattern: &str) -> String {
    let name = date.format(pattern.trim_end_matches('.')).to_string();
    if pattern.ends_with('.') { name.chars().take(1).collect() } else { name }
}
