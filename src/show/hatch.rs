//! Patterns as real lines, clipped to rectangles: they look the same in every program that shows SVG.

use std::collections::BTreeMap;

use super::canvas::{Point, Rect};
use super::theme::Hatch;

/// Ends of one stroke.
type Stroke = (Point, Point);

/// The strokes that hatch a set of rectangles, `gap_px` apart, joined across rectangles that touch.
#[must_use]
pub fn strokes(rects: &[Rect], hatch: Hatch, gap_px: f64) -> Vec<Stroke> {
    let gap = if gap_px >= 1.0 { gap_px } else { 1.0 };
    // Strokes at constant c = k x step; a stroke's own coordinate is x, but y for upright ones.
    let step = match hatch {
        Hatch::Level | Hatch::Upright => gap,
        Hatch::Rising | Hatch::Falling => gap * std::f64::consts::SQRT_2,
    };
    let mut pieces: BTreeMap<i64, Vec<(f64, f64)>> = BTreeMap::new();
    for rect in rects {
        let (low, high) = match hatch {
            Hatch::Level => (rect.y0, rect.y1),
            Hatch::Upright => (rect.x0, rect.x1),
            Hatch::Rising => (rect.x0 + rect.y0, rect.x1 + rect.y1),
            Hatch::Falling => (rect.x0 - rect.y1, rect.x1 - rect.y0),
        };
        let mut k = (low / step).ceil() as i64;
        while (k as f64) * step < high {
            let c = k as f64 * step;
            let (from, to) = match hatch {
                Hatch::Level => (rect.x0, rect.x1),
                Hatch::Upright => (rect.y0, rect.y1),
                Hatch::Rising => (rect.x0.max(c - rect.y1), rect.x1.min(c - rect.y0)),
                Hatch::Falling => (rect.x0.max(c + rect.y0), rect.x1.min(c + rect.y1)),
            };
            if to - from > 0.2 {
                pieces.entry(k).or_default().push((from, to));
            }
            k += 1;
        }
    }
    let mut strokes = Vec::new();
    for (k, mut spans) in pieces {
        let c = k as f64 * step;
        let place = |t: f64| match hatch {
            Hatch::Level => (t, c),
            Hatch::Upright => (c, t),
            Hatch::Rising => (t, c - t),
            Hatch::Falling => (t, t - c),
        };
        spans.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut open: Option<(f64, f64)> = None;
        for (from, to) in spans {
            match &mut open {
                Some((_, end)) if from <= *end + 0.3 => *end = end.max(to),
                _ => {
                    strokes.extend(open.take().map(|(a, b)| (place(a), place(b))));
                    open = Some((from, to));
                }
            }
        }
        strokes.extend(open.map(|(a, b)| (place(a), place(b))));
    }
    strokes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strokes_stay_inside_and_join_across_neighbours() {
        let pair = [Rect::new(0.0, 0.0, 20.0, 10.0), Rect::new(20.0, 0.0, 45.0, 10.0)];
        for hatch in [Hatch::Level, Hatch::Upright, Hatch::Rising, Hatch::Falling] {
            let drawn = strokes(&pair, hatch, 4.0);
            assert!(!drawn.is_empty());
            for (a, b) in &drawn {
                for (x, y) in [a, b] {
                    assert!((-1e-9..=45.0 + 1e-9).contains(x) && (-1e-9..=10.0 + 1e-9).contains(y));
                }
            }
        }
        // y = 0, 4, 8: three strokes, each over both.
        let level = strokes(&pair, Hatch::Level, 4.0);
        assert_eq!(level.len(), 3);
        assert!(level.iter().all(|(a, b)| a.0 == 0.0 && b.0 == 45.0));
    }
}
