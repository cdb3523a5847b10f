//! The axis of elapsed hours, with nights behind the data where all trials begin at the same time.

use chrono::{DateTime, FixedOffset};

use super::super::canvas::{Canvas, Rect};
use super::super::text::width_px;
use super::super::theme::{AXIS_PEN, Anchor, HAIR_PEN, LABEL, NIGHT, SMALL};
use super::super::words::{moment, number};
use super::sentence::Words;
use crate::decide::odds::{Occasion, Subject};

/// Days narrower than this show no nights, px.
const NIGHT_DAY_PX: f64 = 14.0;
/// Distances of ticks, h.
const EVERY_H: [f64; 8] = [0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0];
/// The same where days are told, h.
const EVERY_DAYS_H: [f64; 8] = [24.0, 48.0, 120.0, 168.0, 336.0, 720.0, 1440.0, 4320.0];
/// Spans from here on are told in days, h.
const DAYS_FROM_H: f64 = 14.0 * 24.0;

/// Elapsed hours from left to right.
pub struct Hours<'a> {
    nights_h: &'a [(f64, f64)],
    start: Option<DateTime<FixedOffset>>,
    occasion: Occasion,
    hours: f64,
    x0: f64,
    x1: f64,
}

impl<'a> Hours<'a> {
    /// The span of the trials between two places, px.
    #[must_use]
    pub fn new(subject: &'a Subject, x0: f64, x1: f64) -> Self {
        let Subject { nights_h, start, occasion, .. } = subject;
        Self::over(subject.shape.hours(), nights_h, *start, *occasion, (x0, x1))
    }

    /// So many hours between two places, px, with their nights and their beginning.
    #[must_use]
    pub fn over(
        hours: f64,
        nights_h: &'a [(f64, f64)],
        start: Option<DateTime<FixedOffset>>,
        occasion: Occasion,
        (x0, x1): (f64, f64),
    ) -> Self {
        Self { nights_h, start, occasion, hours: hours.max(1e-9), x0, x1 }
    }

    /// Where an elapsed hour stands, px.
    #[must_use]
    pub fn x(&self, at_h: f64) -> f64 {
        self.x0 + (at_h / self.hours).clamp(0.0, 1.0) * (self.x1 - self.x0)
    }

    /// Nights behind a plot; the first that is wide enough carries its name at its foot.
    pub fn nights(&self, canvas: &mut Canvas, plot: Rect) {
        if (self.x1 - self.x0) * 24.0 / self.hours < NIGHT_DAY_PX {
            return;
        }
        let mut to_name = true;
        for (from, to) in self.nights_h {
            let band = Rect::new(self.x(*from), plot.y0, self.x(*to), plot.y1);
            canvas.rect(band, NIGHT);
            if to_name && band.width() > width_px("night", SMALL) + 4.0 {
                let middle = (band.x0 + band.x1) / 2.0;
                canvas.text(middle, plot.y1 - 7.0, "night", SMALL.at(Anchor::Middle));
                to_name = false;
            }
        }
    }

    /// Hours between ticks.
    fn every_h(&self) -> f64 {
        let hour_px = (self.x1 - self.x0) / self.hours;
        let least = width_px("0000", SMALL) + 10.0;
        let all = if self.in_days() { EVERY_DAYS_H } else { EVERY_H };
        let found = all.into_iter().find(|every| every * hour_px >= least);
        found.unwrap_or(self.hours.max(8760.0))
    }

    fn in_days(&self) -> bool {
        self.hours >= DAYS_FROM_H
    }

    fn ticks(&self) -> impl Iterator<Item = f64> {
        let (every, hours) = (self.every_h(), self.hours);
        (0..200_u32).map(move |k| f64::from(k) * every).take_while(move |at| *at <= hours + 1e-9)
    }

    /// Hair lines through a plot at the ticks.
    pub fn upright_lines(&self, canvas: &mut Canvas, plot: Rect) {
        for at_h in self.ticks().skip(1) {
            let x = self.x(at_h);
            canvas.line(&[(x, plot.y0), (x, plot.y1)], HAIR_PEN);
        }
    }

    /// Ticks and their meaning under a plot whose bottom is `y`. Returns the height below them, px.
    pub fn axis(&self, canvas: &mut Canvas, y: f64) -> f64 {
        canvas.line(&[(self.x0, y), (self.x1, y)], AXIS_PEN);
        let every_h = self.every_h();
        let (unit_h, places) = match every_h {
            _ if self.in_days() => (24.0, 0),
            h if h < 0.5 => (1.0, 2),
            h => (1.0, usize::from(h < 1.0)),
        };
        for at_h in self.ticks() {
            let x = self.x(at_h);
            canvas.line(&[(x, y), (x, y + 4.0)], AXIS_PEN);
            canvas.text(x, y + 16.0, &number(at_h / unit_h, places), SMALL.at(Anchor::Middle));
        }
        let middle = (self.x0 + self.x1) / 2.0;
        canvas.text(middle, y + 34.0, &self.meaning(), LABEL.at(Anchor::Middle));
        y + 40.0
    }

    /// What the hours are counted from.
    fn meaning(&self) -> String {
        let from =
            if self.in_days() { "days since the span began" } else { "hours since the span began" };
        match &self.start {
            Some(at) => format!("{from}, {}", moment(at, self.hours.max(169.0))),
            None => {
                let one = Words::of(self.occasion).one;
                format!("{from}; each {one} begins at another time")
            }
        }
    }
}
