//! Lines over time: every step while there is room, the lowest and highest of each pixel column
//! where steps are finer than that, and the range of each day where days are narrow.

use super::bins::Bin;
use super::canvas::{Canvas, Point, Rect};
use super::span::Span;
use super::theme::{Pen, RANGE_FILL};
use super::timeline::Timeline;
use crate::simulate::ledger::Row;

/// Days at least this wide show a line, narrower ones their range, px.
pub const LINE_DAY_PX: f64 = 9.0;

/// A line of one value a step, drawn as steps, broken where steps are missing.
pub fn steps(span: &Span, time: &Timeline, y_of: impl Fn(&Row) -> f64) -> Vec<Point> {
    let mut points: Vec<Point> = Vec::new();
    let mut end_before = f64::NEG_INFINITY;
    for step in &span.steps {
        if step.at_h > end_before + 1e-6 {
            points.push((f64::NAN, f64::NAN));
        }
        let y = y_of(step.row);
        points.extend([(time.x(step.at_h), y), (time.x(step.end_h()), y)]);
        end_before = step.end_h();
    }
    points
}

/// The same line with at most four points in a column of one pixel: its first, lowest, highest and
/// last there. Breaks stay.
#[must_use]
pub fn thin(points: &[Point]) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::new();
    for run in points.chunk_by(|a, b| a.0.floor() == b.0.floor()) {
        if run.len() <= 4 || run[0].0.is_nan() {
            kept.extend(run);
            continue;
        }
        let by_height = |a: &usize, b: &usize| run[*a].1.total_cmp(&run[*b].1);
        let mut places = vec![0, run.len() - 1];
        places.extend((0..run.len()).min_by(by_height));
        places.extend((0..run.len()).max_by(by_height));
        places.sort_unstable();
        places.dedup();
        kept.extend(places.iter().map(|place| run[*place]));
    }
    kept
}

/// The part of a line between two places, px; its ends lie on the line.
#[must_use]
pub fn within(points: &[Point], x0: f64, x1: f64) -> Vec<Point> {
    let mut part: Vec<Point> = Vec::new();
    for pair in points.windows(2) {
        let [a, b] = pair else { continue };
        let (from, to) = (a.0.max(x0), b.0.min(x1));
        if a.0.is_nan() || b.0.is_nan() || from > to {
            continue;
        }
        let width = b.0 - a.0;
        let at = |x: f64, else_y: f64| {
            if width > 0.0 { a.1 + (b.1 - a.1) * (x - a.0) / width } else { else_y }
        };
        if part.last().is_some_and(|(x, _)| from - x > 1e-6) {
            part.push((f64::NAN, f64::NAN));
        }
        part.extend([(from, at(from, a.1)), (to, at(to, b.1))]);
    }
    part
}

/// The range of each bin as a pale band, and one value of each as steps. Heights in px. Returns the
/// steps.
pub fn draw_range(
    canvas: &mut Canvas,
    time: &Timeline,
    bins: &[Bin],
    range: impl Fn(&Bin) -> (f64, f64),
    (line, pen): (impl Fn(&Bin) -> f64, Pen),
) -> Vec<Point> {
    let mut bands = Vec::new();
    let mut points: Vec<Point> = Vec::new();
    for bin in bins {
        let (x0, x1) = (time.x(bin.from_h), time.x(bin.to_h));
        let (top, bottom) = range(bin);
        bands.push(Rect::new(x0, top - 0.6, x1, bottom + 0.6));
        if points.last().is_some_and(|(x, _)| x0 - x > 0.5) {
            points.push((f64::NAN, f64::NAN));
        }
        points.extend([(x0, line(bin)), (x1, line(bin))]);
    }
    canvas.fill(&bands, RANGE_FILL);
    canvas.line(&points, pen);
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_of_a_line_ends_on_the_line() {
        let line = [(0.0, 0.0), (4.0, 8.0), (f64::NAN, f64::NAN), (6.0, 1.0), (8.0, 3.0)];
        assert_eq!(within(&line, 1.0, 3.0), [(1.0, 2.0), (3.0, 6.0)]);
        let over_the_gap = within(&line, 3.0, 7.0);
        assert_eq!(over_the_gap[..2], [(3.0, 6.0), (4.0, 8.0)]);
        assert!(over_the_gap[2].0.is_nan());
        assert_eq!(over_the_gap[3..], [(6.0, 1.0), (7.0, 2.0)]);
        assert!(within(&line, 9.0, 10.0).is_empty());
    }

    #[test]
    fn a_thinned_line_keeps_its_ends_and_its_extremes() {
        let line: Vec<Point> =
            (0..1000).map(|k| (f64::from(k) / 100.0, f64::from((k * 37) % 101))).collect();
        let short = thin(&line);
        assert!(short.len() <= 40);
        assert_eq!(short.first(), line.first());
        assert_eq!(short.last(), line.last());
        for column in 0..10 {
            let most = |points: &[Point]| {
                let inside = points.iter().filter(|p| p.0.floor() == f64::from(column));
                inside.map(|p| p.1).fold(f64::NEG_INFINITY, f64::max)
            };
            assert_eq!(most(&line), most(&short));
        }
        let broken = [(0.0, 1.0), (0.1, 2.0), (f64::NAN, 0.0), (0.2, 3.0), (0.3, 4.0)];
        assert_eq!(thin(&broken).len(), 5);
    }
}
