//! Scales and round tick values.

use super::canvas::{Canvas, Rect};
use super::theme::{AXIS_PEN, Anchor, HAIR_PEN, SMALL};
use super::words::number;

/// From values to pixels along one axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    low: f64,
    high: f64,
    low_px: f64,
    high_px: f64,
}

impl Scale {
    /// `low` stands at `low_px`, `high` at `high_px`. An empty, turned or not finite range is
    /// widened around its lower end.
    #[must_use]
    pub fn new(low: f64, high: f64, low_px: f64, high_px: f64) -> Self {
        let low = if low.is_finite() { low } else { 0.0 };
        let high = if high.is_finite() && high - low > 1e-9 * low.abs().max(1e-6) {
            high
        } else {
            low + low.abs().max(1.0)
        };
        Self { low, high, low_px, high_px }
    }

    /// Where a value stands, px; values outside stand at the end they pass.
    #[must_use]
    pub fn px(&self, value: f64) -> f64 {
        let share = (value.clamp(self.low, self.high) - self.low) / (self.high - self.low);
        self.low_px + share * (self.high_px - self.low_px)
    }

    /// Pixels of one unit.
    #[must_use]
    pub fn px_per_unit(&self) -> f64 {
        (self.high_px - self.low_px).abs() / (self.high - self.low)
    }

    /// Round values at least `least_px` apart, closer (but never closer than type is high) if that
    /// leaves fewer than three; and the decimal places they need.
    #[must_use]
    pub fn ticks(&self, least_px: f64) -> (Vec<f64>, usize) {
        let wide = self.ticks_apart(least_px);
        if wide.0.len() < 3 { self.ticks_apart(least_px.min(14.0)) } else { wide }
    }

    fn ticks_apart(&self, least_px: f64) -> (Vec<f64>, usize) {
        let (step, places) = round_step(least_px / self.px_per_unit());
        let mut ticks = Vec::new();
        let mut k = (self.low / step - 1e-9).ceil();
        while k * step <= self.high + step * 1e-9 && ticks.len() < 200 {
            ticks.push(k * step);
            k += 1.0;
        }
        (ticks, places)
    }
}

/// The smallest of 1, 2, 5 times a power of ten not below `least`, and the decimals it needs.
#[must_use]
pub fn round_step(least: f64) -> (f64, usize) {
    if !(least.is_finite() && least > 1e-9) {
        return (1e-9, 9);
    }
    for exponent in -9_i32..15 {
        let tens: f64 = (0..exponent.unsigned_abs()).map(|_| 10.0).product();
        let power = if exponent < 0 { 1.0 / tens } else { tens };
        for factor in [1.0, 2.0, 5.0] {
            if power * factor >= least * (1.0 - 1e-9) {
                return (power * factor, usize::try_from(-exponent).unwrap_or(0));
            }
        }
    }
    (1e15, 0)
}

/// Hair lines across a plot at round values, and their numbers left of it.
pub fn level_ticks(canvas: &mut Canvas, plot: Rect, scale: &Scale, least_px: f64) {
    let (ticks, places) = scale.ticks(least_px);
    for value in ticks {
        let y = scale.px(value);
        canvas.line(&[(plot.x0, y), (plot.x1, y)], HAIR_PEN);
        canvas.text(plot.x0 - 7.0, y + 4.0, &number(value, places), SMALL.at(Anchor::End));
    }
    canvas.line(&[(plot.x0, plot.y0), (plot.x0, plot.y1)], AXIS_PEN);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_far_enough_apart() {
        let scale = Scale::new(0.0, 470.0, 300.0, 0.0);
        let (ticks, places) = scale.ticks(28.0);
        assert_eq!(
            (ticks, places),
            (vec![0.0, 50.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0, 450.0], 0)
        );
        assert_eq!(round_step(0.03), (0.05, 2));
        assert_eq!(round_step(0.0).0, 1e-9);
        assert_eq!(round_step(f64::NAN).0, 1e-9);
    }

    #[test]
    fn an_empty_range_still_has_a_scale() {
        for (low, high) in
            [(0.0, 0.0), (5.0, 5.0), (3.0, f64::NAN), (f64::INFINITY, 1.0), (2.0, 1.0)]
        {
            let scale = Scale::new(low, high, 100.0, 0.0);
            assert!(scale.px(low).is_finite() || !low.is_finite());
            assert!(scale.px_per_unit().is_finite() && scale.px_per_unit() > 0.0);
            assert!(!scale.ticks(20.0).0.is_empty());
        }
    }
}
