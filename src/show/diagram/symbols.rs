//! Symbols of the IEC 60617 kind: photovoltaic generator, converter, fuse, contact, cells, machine,
//! antenna. Each stands on the sheet at its centre, the current going left to right unless said.

use crate::show::canvas::{Canvas, Point};
use crate::show::geometry::Rect;
use crate::show::theme::{Anchor, CRIMSON, Dash, Ink, PAPER, Pen, SMALL};

/// Half the side of a box.
pub const HALF_PX: f64 = 15.0;
/// Half the length of a fuse.
pub const FUSE_HALF_PX: f64 = 11.0;
/// Half the gap of a contact.
pub const CONTACT_HALF_PX: f64 = 9.0;

/// A conductor.
pub const fn conductor(ink: Ink) -> Pen {
    Pen { ink, width_px: 1.4, dash: Dash::Solid }
}

/// The outline of a symbol.
const fn outline(ink: Ink) -> Pen {
    Pen { ink, width_px: 1.5, dash: Dash::Solid }
}

fn frame(canvas: &mut Canvas, r: Rect, ink: Ink) {
    canvas.rect(r, PAPER);
    let corners = [(r.x0, r.y0), (r.x1, r.y0), (r.x1, r.y1), (r.x0, r.y1), (r.x0, r.y0)];
    canvas.line(&corners, outline(ink));
}

fn square(at: Point) -> Rect {
    Rect::new(at.0 - HALF_PX, at.1 - HALF_PX, at.0 + HALF_PX, at.1 + HALF_PX)
}

/// Panels: a box with the wedge of the photovoltaic generator, light falling on it.
pub fn panels(canvas: &mut Canvas, at: Point, ink: Ink) {
    let (x, y) = at;
    let r = Rect::new(x - 20.0, y - 12.0, x + 20.0, y + 12.0);
    frame(canvas, r, ink);
    canvas.line(&[(r.x0, r.y0), (x - 6.0, y), (r.x0, r.y1)], outline(ink));
    for dx in [-4.0, 6.0] {
        let (from, to) = ((x + dx - 8.0, r.y0 - 13.0), (x + dx, r.y0 - 3.0));
        canvas.line(&[from, to], conductor(ink));
        canvas.area(&[to, (to.0 - 5.6, to.1 - 2.2), (to.0 - 1.2, to.1 - 5.6)], ink);
    }
}

/// What a converter has on its sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Direct current.
    Direct,
    /// Alternating current.
    Alternating,
}

/// A converter: a square with a diagonal, the kind of current in each half.
pub fn converter(canvas: &mut Canvas, at: Point, from: Side, to: Side, ink: Ink) {
    let r = square(at);
    frame(canvas, r, ink);
    canvas.line(&[(r.x0, r.y1), (r.x1, r.y0)], outline(ink));
    current_mark(canvas, (at.0 - 7.0, at.1 - 7.0), from, ink);
    current_mark(canvas, (at.0 + 7.0, at.1 + 7.0), to, ink);
}

fn current_mark(canvas: &mut Canvas, (x, y): Point, side: Side, ink: Ink) {
    match side {
        Side::Direct => {
            canvas.line(&[(x - 4.5, y - 1.8), (x + 4.5, y - 1.8)], outline(ink));
            for dx in [-4.5, -1.0, 2.5] {
                canvas.line(&[(x + dx, y + 1.8), (x + dx + 2.0, y + 1.8)], outline(ink));
            }
        }
        Side::Alternating => {
            let wave: Vec<Point> = (0..=16)
                .map(|step| {
                    let along = f64::from(step) / 16.0;
                    let height = libm::sin(along * std::f64::consts::TAU);
                    (x - 5.0 + 10.0 * along, y - 3.2 * height)
                })
                .collect();
            canvas.line(&wave, outline(ink));
        }
    }
}

/// A controller that switches: a square with a contact in it.
pub fn switching(canvas: &mut Canvas, at: Point, ink: Ink) {
    frame(canvas, square(at), ink);
    let (x, y) = (at.0, at.1 + 3.0);
    canvas.line(&[(x - HALF_PX, y), (x - 7.0, y), (x + 5.0, y - 9.0)], outline(ink));
    canvas.line(&[(x + 7.0, y), (x + HALF_PX, y)], outline(ink));
}

/// A fuse: a flat box with the conductor through it.
pub fn fuse(canvas: &mut Canvas, at: Point, ink: Ink) {
    let r = Rect::new(at.0 - FUSE_HALF_PX, at.1 - 4.0, at.0 + FUSE_HALF_PX, at.1 + 4.0);
    frame(canvas, r, ink);
    canvas.line(&[(r.x0, at.1), (r.x1, at.1)], conductor(ink));
}

/// A contact: the line broken, its blade lifted. The conductor on both sides ends at the gap.
pub fn contact(canvas: &mut Canvas, at: Point, ink: Ink) {
    let (x, y) = at;
    canvas.rect(Rect::new(x - CONTACT_HALF_PX, y - 2.0, x + CONTACT_HALF_PX, y + 2.0), PAPER);
    canvas.line(&[(x - CONTACT_HALF_PX, y), (x + CONTACT_HALF_PX - 2.0, y - 9.0)], outline(ink));
    canvas.line(&[(x + CONTACT_HALF_PX, y - 3.5), (x + CONTACT_HALF_PX, y + 3.5)], outline(ink));
}

/// A changeover contact: two throws on the left at `upper` and `lower`, the pole on the right, thrown
/// to the lower one.
pub fn changeover(canvas: &mut Canvas, upper: Point, lower: Point, pole: Point, ink: Ink) {
    for throw in [upper, lower] {
        canvas.dot(throw, 2.6, ink, false);
    }
    canvas.line(&[(pole.0, pole.1), (lower.0 + 3.0, lower.1 - 1.6)], outline(ink));
    canvas.dot(pole, 2.2, ink, true);
}

/// The mark of a serious finding: a full dot with an exclamation mark. Returns its place.
pub fn alarm(canvas: &mut Canvas, at: Point) -> Rect {
    canvas.dot(at, ALARM_PX, CRIMSON, true);
    let face = SMALL.strong().in_ink(PAPER).at(Anchor::Middle);
    canvas.text(at.0, at.1 + 4.0, "!", face);
    Rect::new(at.0 - ALARM_PX, at.1 - ALARM_PX, at.0 + ALARM_PX, at.1 + ALARM_PX)
}

/// Half the width of that mark.
const ALARM_PX: f64 = 6.5;

/// A junction.
pub fn junction(canvas: &mut Canvas, at: Point, ink: Ink) {
    canvas.dot(at, 3.0, ink, true);
}

/// A machine: a circle with its letter.
pub fn machine(canvas: &mut Canvas, at: Point, letter: &str, side: Side, ink: Ink) {
    canvas.dot(at, HALF_PX, ink, false);
    canvas.text(at.0, at.1 + 1.0, letter, SMALL.strong().in_ink(ink).at(Anchor::Middle));
    current_mark(canvas, (at.0, at.1 + 7.0), side, ink);
}

/// Mains: an incoming line with an arrow head and the mark of alternating current.
pub fn incoming(canvas: &mut Canvas, at: Point, ink: Ink) {
    let (x, y) = at;
    canvas.line(&[(x - 20.0, y), (x + 20.0, y)], conductor(ink));
    canvas.area(&[(x + 4.0, y), (x - 6.0, y - 5.0), (x - 6.0, y + 5.0)], ink);
    current_mark(canvas, (x - 12.0, y - 10.0), Side::Alternating, ink);
}

/// Cells below a conductor that comes from above: long and short plates. Returns where they end.
pub fn cells(canvas: &mut Canvas, top: Point, ink: Ink) -> f64 {
    let (x, y) = top;
    for pair in 0..2 {
        let y = y + 12.0 * f64::from(pair);
        canvas.line(&[(x - 16.0, y), (x + 16.0, y)], outline(ink));
        let short = Pen { ink, width_px: 3.2, dash: Dash::Solid };
        canvas.line(&[(x - 8.0, y + 6.0), (x + 8.0, y + 6.0)], short);
    }
    y + 18.0
}

/// A set that transmits: a box with an antenna.
pub fn radio(canvas: &mut Canvas, at: Point, ink: Ink) {
    let (x, y) = at;
    frame(canvas, Rect::new(x - 11.0, y - 6.0, x + 11.0, y + 11.0), ink);
    canvas.line(&[(x + 5.0, y - 6.0), (x + 5.0, y - 15.0)], outline(ink));
    canvas.line(&[(x, y - 15.0), (x + 5.0, y - 9.0), (x + 10.0, y - 15.0)], outline(ink));
    canvas.line(&[(x, y - 15.0), (x + 10.0, y - 15.0)], outline(ink));
}

/// Any other load: an arrow out of the drawing.
pub fn load(canvas: &mut Canvas, at: Point, ink: Ink) {
    let (x, y) = at;
    canvas.line(&[(x - 11.0, y), (x + 4.0, y)], conductor(ink));
    canvas.area(&[(x + 11.0, y), (x + 1.0, y - 5.0), (x + 1.0, y + 5.0)], ink);
}

/// A load behind a converter: a small square with a diagonal, then the arrow.
pub fn converted_load(canvas: &mut Canvas, at: Point, ink: Ink) {
    let (x, y) = at;
    let r = Rect::new(x - 11.0, y - 8.0, x + 5.0, y + 8.0);
    frame(canvas, r, ink);
    canvas.line(&[(r.x0, r.y1), (r.x1, r.y0)], outline(ink));
    canvas.line(&[(x + 5.0, y), (x + 8.0, y)], conductor(ink));
    canvas.area(&[(x + 14.0, y), (x + 7.0, y - 4.0), (x + 7.0, y + 4.0)], ink);
}
