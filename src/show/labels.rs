//! Where labels go: beside the end of their line, pushed apart where they would touch; beside a
//! point, where the least is covered.

use super::canvas::{Canvas, Point, Rect, text_box};
use super::text::fit;
use super::theme::{Anchor, Fill, Ink, LEADER_PEN, Pen, Type};

/// Heights for labels that want the given heights: `gap_px` apart, within `top..bottom` if they fit,
/// in the same order, moved as little as that allows.
#[must_use]
pub fn spread(wanted: &[f64], gap_px: f64, top: f64, bottom: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|a, b| wanted[*a].total_cmp(&wanted[*b]));
    // Blocks of labels that touch: first member, members, sum of (wanted - place in the block).
    let mut blocks: Vec<(usize, usize, f64)> = Vec::new();
    let room = (bottom - top).max(0.0);
    let begin = |members: usize, sum: f64| {
        let length = (members as f64 - 1.0) * gap_px;
        (sum / members as f64).min(top + room - length).max(top)
    };
    for (place, index) in order.iter().enumerate() {
        blocks.push((place, 1, wanted[*index]));
        while let [.., (_, n0, sum0), (_, n1, sum1)] = blocks.as_slice() {
            if begin(*n0, *sum0) + *n0 as f64 * gap_px <= begin(*n1, *sum1) + 1e-9 {
                break;
            }
            let merged = (*n0 + *n1, sum0 + sum1 - (*n1 * *n0) as f64 * gap_px);
            blocks.pop();
            if let Some(block) = blocks.last_mut() {
                (block.1, block.2) = merged;
            }
        }
    }
    let mut placed = vec![0.0; wanted.len()];
    for (first, members, sum) in blocks {
        let from = begin(members, sum);
        for k in 0..members {
            placed[order[first + k]] = from + k as f64 * gap_px;
        }
    }
    placed
}

/// A label at the end of a line.
pub struct EndLabel {
    /// Height of the line's end, px.
    pub y: f64,
    /// What it says.
    pub words: String,
    /// Its colour.
    pub ink: Ink,
    /// The look it explains; without one a leader runs to the line's end.
    pub key: Option<Key>,
}

/// The look that a label explains.
#[derive(Debug, Clone, Copy)]
pub enum Key {
    /// An area.
    Area(Fill),
    /// A line.
    Line(Pen),
}

/// Room before the words of a label, px.
pub const BEFORE_WORDS_PX: f64 = 22.0;

/// Draws labels right of `x`, between `top` and `bottom`, no wider than `room_px`.
pub fn end_labels(
    canvas: &mut Canvas,
    labels: &[EndLabel],
    x: f64,
    room_px: f64,
    (top, bottom): (f64, f64),
    face: Type,
) {
    let gap = face.size_px * 1.25;
    let wanted: Vec<f64> = labels.iter().map(|label| label.y).collect();
    let half = face.size_px / 2.0;
    for (label, y) in labels.iter().zip(spread(&wanted, gap, top + half, bottom - half)) {
        match label.key {
            None => canvas.line(&[(x + 2.0, label.y), (x + BEFORE_WORDS_PX - 4.0, y)], LEADER_PEN),
            Some(Key::Area(fill)) => {
                canvas
                    .fill(&[Rect::new(x + 6.0, y - 4.5, x + BEFORE_WORDS_PX - 4.0, y + 4.5)], fill);
            }
            Some(Key::Line(pen)) => {
                canvas.line(&[(x + 6.0, y), (x + BEFORE_WORDS_PX - 4.0, y)], pen)
            }
        }
        let words = fit(&label.words, face, room_px - BEFORE_WORDS_PX);
        canvas.text(x + BEFORE_WORDS_PX, y + face.size_px * 0.36, &words, face.in_ink(label.ink));
    }
}

/// What a label should not stand on.
pub struct Busy<'a> {
    /// Lines.
    pub lines: Vec<&'a [Point]>,
    /// Areas.
    pub areas: &'a [Rect],
}

/// Draws a label beside a point, in the place near it that covers least of what is there and no
/// other text, inside `bounds`; on paper where it must cover something.
pub fn beside(canvas: &mut Canvas, at: Point, words: &str, face: Type, busy: &Busy, bounds: Rect) {
    const WAYS: [(f64, f64); 8] = [
        (1.0, 1.0),
        (-1.0, 1.0),
        (0.0, 1.0),
        (0.0, -1.0),
        (1.0, -1.0),
        (-1.0, -1.0),
        (1.0, 0.0),
        (-1.0, 0.0),
    ];
    let words = fit(words, face, bounds.width());
    let mut best: Option<(f64, bool, Rect, Point, Type)> = None;
    for reach in [9.0, 16.0, 26.0, 40.0, 60.0, 90.0] {
        for (dx, dy) in WAYS {
            let anchor = match dx {
                d if d > 0.0 => Anchor::Start,
                d if d < 0.0 => Anchor::End,
                _ => Anchor::Middle,
            };
            let face = face.at(anchor);
            let side = if dy == 0.0 { reach } else { 6.0 };
            let mut place =
                (at.0 + dx * side, at.1 + dy * reach + face.size_px * (0.36 + 0.4 * dy));
            // Moved in from the sides; above and below there is no help.
            let area = text_box(place.0, place.1, &words, face);
            place.0 += (bounds.x0 - area.x0).max(0.0) - (area.x1 - bounds.x1).max(0.0);
            let area = text_box(place.0, place.1, &words, face).grown(2.5);
            let outside = area.y0 < bounds.y0 - 2.5 || area.y1 > bounds.y1 + 2.5;
            let texts = canvas.text_boxes().iter().filter(|text| text.overlaps(&area)).count();
            let lines: f64 = busy.lines.iter().map(|line| covered(line, &area)).sum();
            let on_area = busy.areas.iter().any(|other| other.overlaps(&area));
            let cost = lines
                + reach * 0.2
                + if area.holds(at) { 30.0 } else { 0.0 }
                + if on_area { 12.0 } else { 0.0 }
                + if outside { 500.0 } else { 0.0 }
                + texts as f64 * 1000.0;
            if best.as_ref().is_none_or(|(least, ..)| cost < *least) {
                best = Some((cost, on_area || lines > 0.0, area.grown(-1.0), place, face));
            }
        }
    }
    if let Some((_, covers, area, place, face)) = best {
        if covers {
            canvas.veil(area);
        }
        canvas.text(place.0, place.1, &words, face);
    }
}

/// Length of a line inside a box, px, taken every two pixels.
#[must_use]
pub fn covered(course: &[Point], area: &Rect) -> f64 {
    let mut length = 0.0;
    for pair in course.windows(2) {
        let [(x0, y0), (x1, y1)] = pair else { continue };
        if !Rect::new(*x0, *y0, *x1, *y1).grown(0.5).overlaps(area) {
            continue;
        }
        let way = ((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0)).sqrt();
        let parts = (way / 2.0).ceil().max(1.0);
        let mut part = 0.0;
        while part < parts {
            let share = (part + 0.5) / parts;
            if area.holds((x0 + (x1 - x0) * share, y0 + (y1 - y0) * share)) {
                length += way / parts;
            }
            part += 1.0;
        }
    }
    length
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_their_distance_and_their_order() {
        let placed = spread(&[50.0, 52.0, 10.0, 51.0], 12.0, 0.0, 100.0);
        // 50, 51, 52 share a block around 51; 10 stays.
        assert_eq!(placed, [39.0, 63.0, 10.0, 51.0]);
        let crowded = spread(&[99.0, 99.0, 99.0], 12.0, 0.0, 100.0);
        assert_eq!(crowded, [76.0, 88.0, 100.0]);
        let chained = spread(&[0.0, 5.0, 20.0, 22.0, 41.0], 12.0, 0.0, 100.0);
        for pair in chained.windows(2) {
            assert!(pair[1] - pair[0] >= 12.0 - 1e-9, "{chained:?}");
        }
        assert!(spread(&[], 12.0, 0.0, 100.0).is_empty());
    }
}
