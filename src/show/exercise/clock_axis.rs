//! An axis of the clock on the wall for a span of a few days.

use chrono::{DateTime, Duration, FixedOffset, Timelike};

use super::super::canvas::{Canvas, Rect};
use super::super::theme::{AXIS_PEN, Anchor, HAIR_PEN, NIGHT, SMALL, TEXT};

/// Distances of ticks, h.
const EVERY_H: [i64; 6] = [1, 2, 3, 6, 12, 24];
/// Least distance of ticks, px.
const LEAST_PX: f64 = 42.0;

/// The clock from left to right.
pub struct ClockAxis {
    start: Option<DateTime<FixedOffset>>,
    hours: f64,
    x0: f64,
    x1: f64,
}

impl ClockAxis {
    /// A span between two places, px.
    #[must_use]
    pub fn new(start: Option<DateTime<FixedOffset>>, hours: f64, x0: f64, x1: f64) -> Self {
        Self { start, hours: hours.max(1e-9), x0, x1 }
    }

    /// Where an elapsed hour stands, px.
    #[must_use]
    pub fn x(&self, at_h: f64) -> f64 {
        self.x0 + (at_h / self.hours).clamp(0.0, 1.0) * (self.x1 - self.x0)
    }

    /// The ends, px.
    #[must_use]
    pub fn ends(&self) -> (f64, f64) {
        (self.x0, self.x1)
    }

    /// Nights behind a plot.
    pub fn nights(&self, canvas: &mut Canvas, nights_h: &[(f64, f64)], (top, bottom): (f64, f64)) {
        for (from, to) in nights_h {
            canvas.rect(Rect::new(self.x(*from), top, self.x(*to), bottom), NIGHT);
        }
    }

    /// Elapsed hours at which the clock shows a round time, and what it shows.
    #[allow(clippy::cast_precision_loss)]
    fn ticks(&self) -> Vec<(f64, DateTime<FixedOffset>)> {
        let Some(start) = self.start else { return Vec::new() };
        let hour_px = (self.x1 - self.x0) / self.hours;
        let every = EVERY_H.into_iter().find(|it| *it as f64 * hour_px >= LEAST_PX).unwrap_or(24);
        let past_min = i64::from(start.minute());
        let first =
            start - Duration::minutes(past_min) - Duration::seconds(i64::from(start.second()));
        let mut found = Vec::new();
        for count in 0..=(self.hours as i64 + 1) {
            let at = first + Duration::hours(count);
            let at_h = (at - start).num_minutes() as f64 / 60.0;
            if i64::from(at.hour()) % every == 0 && at_h >= -1e-9 && at_h <= self.hours + 1e-9 {
                found.push((at_h, at));
            }
        }
        found
    }

    /// Hair lines at the ticks.
    pub fn upright_lines(&self, canvas: &mut Canvas, (top, bottom): (f64, f64)) {
        for (at_h, _) in self.ticks() {
            let x = self.x(at_h);
            canvas.line(&[(x, top), (x, bottom)], HAIR_PEN);
        }
    }

    /// Ticks, times and days below `y`. Returns the height below them, px.
    pub fn axis(&self, canvas: &mut Canvas, y: f64) -> f64 {
        canvas.line(&[(self.x0, y), (self.x1, y)], AXIS_PEN);
        let mut day = String::new();
        for (at_h, at) in self.ticks() {
            let x = self.x(at_h);
            canvas.line(&[(x, y), (x, y + 4.0)], AXIS_PEN);
            canvas.text(x, y + 16.0, &at.format("%H:%M").to_string(), SMALL.at(Anchor::Middle));
            let this = at.format("%A").to_string();
            if this != day {
                canvas.text(x, y + 30.0, &this, SMALL.at(Anchor::Middle).in_ink(TEXT));
                day = this;
            }
        }
        y + 36.0
    }
}
