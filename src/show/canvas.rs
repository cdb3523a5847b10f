//! The sheet a picture is drawn on.
//!
//! Marks are collected in pixels and drawn by the SVG backend of plotters on a sheet ten times as
//! large, because its coordinates are whole pixels; the view box brings it back. What is not finite
//! is never drawn: plotters would put it at zero.

use plotters::backend::{DrawingBackend, SVGBackend};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, FontFamily, FontStyle, RGBColor, ShapeStyle, TextStyle};

pub use super::geometry::{Point, Rect};
use super::hatch;
use super::text;
use super::theme::{Anchor, Dash, FONT_FAMILY, Fill, Ink, PAPER, Pen, Type};

/// How many units of the drawing make a pixel.
const FINER: f64 = 10.0;
/// Opacity of the paper behind a text that stands on the data.
const VEIL_OPACITY: f64 = 0.78;
/// Height of letters above the base line that plotters uses, em.
const ABOVE_EM: f64 = 0.76;
/// Depth of letters below it, em.
const BELOW_EM: f64 = 0.24;

/// A finished picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// A word for file names: `charge`.
    pub name: &'static str,
    /// The finding.
    pub title: String,
    /// What is drawn, and the numbers that matter, for those who hear the page.
    pub description: String,
    /// Width, px.
    pub width_px: f64,
    /// Height, px.
    pub height_px: f64,
    /// The drawing: one `svg` element, good in a file and inside a page.
    pub svg: String,
}

enum Mark {
    Line(Vec<Point>, Ink, f64),
    Area(Vec<Point>, Ink),
    Rect(Rect, Ink),
    Veil(Rect),
    Dot(Point, f64, Ink, bool),
    Text(Point, String, Type),
}

/// A sheet being drawn on.
#[derive(Default)]
pub struct Canvas {
    marks: Vec<Mark>,
    text_boxes: Vec<Rect>,
    told: Vec<(Rect, String)>,
}

impl Canvas {
    /// An empty sheet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// The boxes of all text so far.
    #[must_use]
    pub fn text_boxes(&self) -> &[Rect] {
        &self.text_boxes
    }

    /// A line through points; broken where one is not finite.
    pub fn line(&mut self, points: &[Point], pen: Pen) {
        for run in points.split(|(x, y)| !x.is_finite() || !y.is_finite()) {
            if run.len() < 2 {
                continue;
            }
            match pen.dash {
                Dash::Solid => self.marks.push(Mark::Line(run.to_vec(), pen.ink, pen.width_px)),
                Dash::Dashed => self.dashes(run, pen, &[6.0, 3.5]),
                Dash::Dotted => self.dashes(run, pen, &[1.6, 2.6]),
                Dash::DashDotted => self.dashes(run, pen, &[5.5, 2.2, 1.4, 2.2]),
                Dash::LongDashed => self.dashes(run, pen, &[13.0, 4.5]),
            }
        }
    }

    /// A line in strokes and gaps of the lengths given, px, in turn.
    fn dashes(&mut self, run: &[Point], pen: Pen, lengths_px: &[f64]) {
        let mut turns = lengths_px.iter().copied().cycle();
        let Some(mut left) = turns.next() else { return };
        let mut inked = true;
        let mut stroke: Vec<Point> = run.first().copied().into_iter().collect();
        for pair in run.windows(2) {
            let [(x0, y0), (x1, y1)] = pair else { continue };
            let length = ((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0)).sqrt();
            let mut done = 0.0;
            while length - done > left {
                done += left;
                let share = done / length;
                let here = (x0 + (x1 - x0) * share, y0 + (y1 - y0) * share);
                if inked {
                    stroke.push(here);
                    self.marks.push(Mark::Line(std::mem::take(&mut stroke), pen.ink, pen.width_px));
                } else {
                    stroke = vec![here];
                }
                inked = !inked;
                left = turns.next().unwrap_or(left);
            }
            left -= length - done;
            if inked {
                stroke.push((*x1, *y1));
            }
        }
        if inked && stroke.len() > 1 {
            self.marks.push(Mark::Line(stroke, pen.ink, pen.width_px));
        }
    }

    /// A plain rectangle.
    pub fn rect(&mut self, rect: Rect, ink: Ink) {
        if rect.is_finite() && rect.width() > 0.0 && rect.height() > 0.0 {
            self.marks.push(Mark::Rect(rect, ink));
        }
    }

    /// Paper, nearly opaque, behind a text that stands on the data.
    pub fn veil(&mut self, rect: Rect) {
        if rect.is_finite() {
            self.marks.push(Mark::Veil(rect));
        }
    }

    /// Rectangles side by side as one area: neighbours that touch leave no seam, those without
    /// height leave nothing.
    pub fn fill(&mut self, rects: &[Rect], fill: Fill) {
        let solid: Vec<Rect> = rects
            .iter()
            .copied()
            .filter(|r| r.is_finite() && r.height() > 0.04 && r.width() > 0.0)
            .collect();
        let mut from = 0;
        for to in 1..=solid.len() {
            let joined = to < solid.len()
                && (solid[to].x0 - solid[to - 1].x1).abs() < 0.02
                && solid[to].y0 <= solid[to - 1].y1
                && solid[to - 1].y0 <= solid[to].y1;
            if joined {
                continue;
            }
            let run = &solid[from..to];
            from = to;
            let top = run.iter().flat_map(|r| [(r.x0, r.y0), (r.x1, r.y0)]);
            let bottom = run.iter().rev().flat_map(|r| [(r.x1, r.y1), (r.x0, r.y1)]);
            let mut outline: Vec<Point> = top.chain(bottom).collect();
            self.marks.push(Mark::Area(outline.clone(), fill.base));
            if let Some((pattern, ink)) = fill.lines {
                for (a, b) in hatch::strokes(run, pattern, fill.gap_px) {
                    self.marks.push(Mark::Line(vec![a, b], ink, 1.0));
                }
            }
            if let Some(edge) = fill.edge {
                outline.extend(outline.first().copied());
                self.marks.push(Mark::Line(outline, edge, 0.8));
            }
        }
    }

    /// A plain area inside an outline; nothing if a corner is not finite.
    pub fn area(&mut self, outline: &[Point], ink: Ink) {
        if outline.len() > 2 && outline.iter().all(|(x, y)| x.is_finite() && y.is_finite()) {
            self.marks.push(Mark::Area(outline.to_vec(), ink));
        }
    }

    /// A round mark, filled with paper inside a ring of ink, or all ink.
    pub fn dot(&mut self, at: Point, radius_px: f64, ink: Ink, full: bool) {
        if at.0.is_finite() && at.1.is_finite() {
            self.marks.push(Mark::Dot(at, radius_px, ink, full));
        }
    }

    /// A text whose base line stands at `y`. Returns its box.
    pub fn text(&mut self, x: f64, y: f64, words: &str, face: Type) -> Rect {
        let words = text::clean(words);
        let area = text_box(x, y, &words, face);
        if area.is_finite() {
            self.text_boxes.push(area);
            self.marks.push(Mark::Text((x, y), words, face));
        }
        area
    }

    /// Words that are told of a place when somebody points at it.
    pub fn tell(&mut self, rect: Rect, words: &str) {
        if rect.is_finite() {
            self.told.push((rect, text::clean(words)));
        }
    }

    /// The picture of what was drawn, on paper of the given size.
    #[must_use]
    pub fn finish(
        self,
        name: &'static str,
        title: &str,
        description: &str,
        size: Point,
    ) -> Picture {
        let (width, height) = size;
        let mut drawn = String::new();
        {
            let mut sheet =
                SVGBackend::with_string(&mut drawn, (finer(width) as u32, finer(height) as u32));
            let paper = Mark::Rect(Rect::new(0.0, 0.0, width, height), PAPER);
            for mark in std::iter::once(&paper).chain(&self.marks) {
                draw(&mut sheet, mark);
            }
            sheet.present().ok();
        }
        let (title, description) = (text::clean(title), text::clean(description));
        let body = drawn.split_once('>').map_or("", |(_, body)| body);
        let (body, end) =
            body.rsplit_once("</svg>").map_or((body, ""), |(body, _)| (body, "</svg>\n"));
        let told: String = self
            .told
            .iter()
            .map(|(r, words)| {
                format!(
                    "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"none\" \
                     pointer-events=\"all\"><title>{}</title></rect>\n",
                    finer(r.x0),
                    finer(r.y0),
                    finer(r.width()),
                    finer(r.height()),
                    escaped(words)
                )
            })
            .collect();
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart\" width=\"{width}\" \
             height=\"{height}\" viewBox=\"0 0 {} {}\" role=\"img\" \
             aria-labelledby=\"{name}-title {name}-desc\">\n\
             <title id=\"{name}-title\">{}</title>\n<desc id=\"{name}-desc\">{}</desc>{body}{told}{end}",
            finer(width),
            finer(height),
            escaped(&title),
            escaped(&description),
        );
        Picture { name, title, description, width_px: width, height_px: height, svg }
    }
}

/// The box that a text fills.
#[must_use]
pub fn text_box(x: f64, y: f64, words: &str, face: Type) -> Rect {
    let width = text::width_px(words, face);
    let x0 = match face.anchor {
        Anchor::Start => x,
        Anchor::Middle => x - width / 2.0,
        Anchor::End => x - width,
    };
    Rect::new(x0, y - ABOVE_EM * face.size_px, x0 + width, y + BELOW_EM * face.size_px)
}

fn escaped(words: &str) -> String {
    words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

fn finer(px: f64) -> i32 {
    (px * FINER).round().clamp(-1e6, 1e6) as i32
}

fn place(at: Point) -> (i32, i32) {
    (finer(at.0), finer(at.1))
}

/// Writing into a string cannot fail: the errors of the backend are those of its other targets.
fn draw(sheet: &mut SVGBackend, mark: &Mark) -> Option<()> {
    let shape = |ink: Ink, width_px: f64, filled: bool| ShapeStyle {
        color: RGBColor(ink.0, ink.1, ink.2).to_rgba(),
        filled,
        stroke_width: finer(width_px).max(1) as u32,
    };
    let drawn = match mark {
        Mark::Line(points, ink, width) => {
            sheet.draw_path(points.iter().copied().map(place), &shape(*ink, *width, false))
        }
        Mark::Area(points, ink) => {
            sheet.fill_polygon(points.iter().copied().map(place), &shape(*ink, 0.1, true))
        }
        Mark::Rect(r, ink) => {
            sheet.draw_rect(place((r.x0, r.y0)), place((r.x1, r.y1)), &shape(*ink, 0.1, true), true)
        }
        Mark::Veil(r) => {
            let mut paper = shape(PAPER, 0.1, true);
            paper.color = paper.color.mix(VEIL_OPACITY);
            sheet.draw_rect(place((r.x0, r.y0)), place((r.x1, r.y1)), &paper, true)
        }
        Mark::Dot(at, radius, ink, full) => {
            let radius_fine = finer(*radius).max(1) as u32;
            if !full {
                sheet.draw_circle(place(*at), radius_fine, &shape(PAPER, 0.1, true), true).ok()?;
            }
            sheet.draw_circle(place(*at), radius_fine, &shape(*ink, 1.8, *full), *full)
        }
        Mark::Text((x, y), words, face) => {
            let style = if face.bold { FontStyle::Bold } else { FontStyle::Normal };
            let h_pos = match face.anchor {
                Anchor::Start => HPos::Left,
                Anchor::Middle => HPos::Center,
                Anchor::End => HPos::Right,
            };
            let font = TextStyle {
                // The SVG backend divides sizes by 1.24.
                font: FontDesc::new(
                    FontFamily::Name(FONT_FAMILY),
                    face.size_px * FINER * 1.24,
                    style,
                ),
                color: RGBColor(face.ink.0, face.ink.1, face.ink.2).to_backend_color(),
                pos: Pos::new(h_pos, VPos::Top),
            };
            // Top-anchored text has its base line 0.76 em below the given place.
            sheet.draw_text(words, &font, place((*x, y - ABOVE_EM * face.size_px)))
        }
    };
    drawn.ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::show::theme::{AXIS_PEN, BOUND_PEN, LABEL, SUN_FILL};

    #[test]
    fn what_is_not_finite_is_left_out() {
        let mut canvas = Canvas::new();
        canvas.line(&[(0.0, f64::NAN), (1.0, 1.0)], AXIS_PEN);
        canvas.rect(Rect::new(0.0, 0.0, f64::INFINITY, 5.0), PAPER);
        canvas.fill(&[Rect::new(0.0, 0.0, 5.0, f64::NAN)], SUN_FILL);
        canvas.dot((f64::NAN, 0.0), 2.0, PAPER, true);
        canvas.text(f64::NAN, 0.0, "x", LABEL);
        assert!(canvas.marks.is_empty());
        canvas.line(&[(0.0, 0.0), (9.0, 0.0), (f64::NAN, 0.0), (20.0, 0.0), (30.0, 0.0)], AXIS_PEN);
        assert_eq!(canvas.marks.len(), 2);
    }

    #[test]
    fn dashes_cover_their_share_of_the_line() {
        let mut canvas = Canvas::new();
        canvas.line(&[(0.0, 0.0), (50.0, 0.0), (50.0, 45.0)], BOUND_PEN);
        let inked: f64 = canvas
            .marks
            .iter()
            .map(|mark| match mark {
                Mark::Line(points, ..) => points
                    .windows(2)
                    .map(|p| (p[1].0 - p[0].0).abs() + (p[1].1 - p[0].1).abs())
                    .sum(),
                _ => 0.0,
            })
            .sum();
        // Ten periods of 6 on, 3.5 off.
        assert!((inked - 60.0).abs() < 1e-9, "{inked}");
    }

    #[test]
    fn a_picture_says_what_it_shows_in_words_that_xml_allows() {
        let mut canvas = Canvas::new();
        canvas.text(10.0, 20.0, "a<b>&\"c\"\u{1}", LABEL);
        let picture = canvas.finish("test", "t < u & v", "d\u{0}e", (100.0, 50.0));
        assert!(picture.svg.starts_with("<svg xmlns"));
        assert!(picture.svg.contains("viewBox=\"0 0 1000 500\" role=\"img\""));
        assert!(picture.svg.contains(">t &lt; u &amp; v</title>"));
        assert!(picture.svg.contains(">de</desc>"));
        assert!(picture.svg.contains("a&lt;b&gt;&amp;&quot;c&quot;"));
        assert!(picture.svg.trim_end().ends_with("</svg>"));
    }
}
