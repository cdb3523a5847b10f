//! One row of a picture of small multiples: stacked step areas above and below zero, an outline
//! over them, and labels with their looks at the end.

use super::axes::{Scale, level_ticks, round_step};
use super::bins::Bin;
use super::canvas::{Canvas, Point, Rect};
use super::labels::{EndLabel, Key, end_labels};
use super::text::fit;
use super::theme::{AXIS_PEN, Anchor, Fill, Ink, LABEL, Pen, SMALL};
use super::timeline::Timeline;
use super::words::energy;

/// The unit of a row's axis.
#[derive(Debug, Clone, Copy)]
pub struct Unit {
    /// Its name.
    pub name: &'static str,
    /// Watts in one of it.
    pub watts: f64,
}

/// A stacked quantity: energy by bin, Wh.
pub struct Area {
    /// What it is called, with its sum.
    pub words: String,
    /// By bin.
    pub wh: Vec<f64>,
    /// Its look.
    pub fill: Fill,
    /// The colour of its words.
    pub ink: Ink,
}

impl Area {
    /// A quantity with its sum in its words.
    #[must_use]
    pub fn new(word: &str, wh: Vec<f64>, fill: Fill, ink: Ink) -> Self {
        Self { words: with_sum(word, &wh), wh, fill, ink }
    }
}

/// A line over the upper stack: energy by bin that comes on top of it, Wh.
pub struct Outline {
    /// What it is called, with its sum.
    pub words: String,
    /// By bin.
    pub wh: Vec<f64>,
    /// Its look.
    pub pen: Pen,
}

impl Outline {
    /// A line, if there is anything to outline.
    #[must_use]
    pub fn of(word: &str, wh: Vec<f64>, pen: Pen) -> Option<Self> {
        any(&wh).then(|| Self { words: with_sum(word, &wh), wh, pen })
    }
}

/// A row of the picture.
pub struct Panel {
    /// What it shows.
    pub name: String,
    /// Stacked above zero, the lowest first.
    pub up: Vec<Area>,
    /// Stacked below zero.
    pub down: Vec<Area>,
    /// What stands on top of the upper stack.
    pub over: Option<Outline>,
}

fn with_sum(word: &str, wh: &[f64]) -> String {
    format!("{word} {}", energy(wh.iter().sum()))
}

/// Whether anything moved.
#[must_use]
pub fn any(wh: &[f64]) -> bool {
    wh.iter().any(|v| *v > 1e-9)
}

impl Panel {
    /// What its labels say.
    pub fn words(&self) -> impl Iterator<Item = &str> {
        let areas = self.up.iter().chain(&self.down).map(|area| area.words.as_str());
        areas.chain(self.over.iter().map(|over| over.words.as_str()))
    }

    /// Lowest and highest mean power of a bin, W, rounded outwards.
    #[must_use]
    pub fn extent_w(&self, bins: &[Bin]) -> (f64, f64) {
        let mut extent = (0.0_f64, 0.0_f64);
        for (i, bin) in bins.iter().enumerate() {
            let stack =
                |areas: &[Area]| areas.iter().map(|area| area.wh[i]).sum::<f64>() / bin.hours;
            let over = self.over.as_ref().map_or(0.0, |over| over.wh[i] / bin.hours);
            extent.0 = extent.0.min(-stack(&self.down));
            extent.1 = extent.1.max(stack(&self.up) + over);
        }
        if extent.1 - extent.0 < 1e-6 {
            return (0.0, 1.0);
        }
        let (step, _) = round_step((extent.1 - extent.0) / 10.0);
        ((extent.0 / step + 1e-9).floor() * step, (extent.1 / step - 1e-9).ceil() * step)
    }

    /// Draws the row into a plot, its labels into `room_px` right of it.
    pub fn draw(
        &self,
        canvas: &mut Canvas,
        plot: Rect,
        (scale, unit): (&Scale, Unit),
        time: &Timeline,
        bins: &[Bin],
        room_px: f64,
    ) {
        // Where the mean power of an energy in a bin stands.
        let height = |wh: f64, bin: &Bin| scale.px(wh / bin.hours / unit.watts);
        time.nights(canvas, plot, false);
        time.upright_lines(canvas, plot);
        level_ticks(canvas, plot, scale, 22.0);
        for (areas, sign) in [(&self.up, 1.0), (&self.down, -1.0)] {
            let mut base = vec![0.0; bins.len()];
            for area in areas {
                let mut rects = Vec::new();
                for ((bin, base), wh) in bins.iter().zip(&mut base).zip(&area.wh) {
                    let top = *base + sign * wh;
                    let (y0, y1) = (height(*base, bin), height(top, bin));
                    rects.push(Rect::new(time.x(bin.from_h), y0, time.x(bin.to_h), y1));
                    *base = top;
                }
                canvas.fill(&rects, area.fill);
            }
        }
        if let Some(over) = &self.over {
            canvas.line(&self.outline(over, height, time, bins), over.pen);
        }
        let zero = scale.px(0.0);
        canvas.line(&[(plot.x0, zero), (plot.x1, zero)], AXIS_PEN);
        let name = fit(&self.name, LABEL.strong(), plot.width() - 100.0);
        canvas.text(plot.x0, plot.y0 - 8.0, &name, LABEL.strong());
        canvas.text(plot.x0 - 7.0, plot.y0 - 8.0, unit.name, SMALL.at(Anchor::End));
        self.label(canvas, plot, room_px);
    }

    /// The outline, drawn only where there is something to outline.
    fn outline(
        &self,
        over: &Outline,
        height: impl Fn(f64, &Bin) -> f64,
        time: &Timeline,
        bins: &[Bin],
    ) -> Vec<Point> {
        let mut points: Vec<Point> = Vec::new();
        for (i, bin) in bins.iter().enumerate() {
            if over.wh[i] <= 1e-9 {
                points.push((f64::NAN, f64::NAN));
                continue;
            }
            let base = self.up.iter().map(|area| area.wh[i]).sum::<f64>();
            let foot = height(base, bin);
            let y = height(base + over.wh[i], bin);
            let (x0, x1) = (time.x(bin.from_h), time.x(bin.to_h));
            if points.last().is_none_or(|(x, _)| x.is_nan()) {
                points.push((x0, foot));
            }
            points.extend([(x0, y), (x1, y)]);
            if over.wh.get(i + 1).is_none_or(|next| *next <= 1e-9) {
                points.push((x1, foot));
            }
        }
        points
    }

    /// Labels from the top of the stack to its foot, in the middle of the row.
    fn label(&self, canvas: &mut Canvas, plot: Rect, room_px: f64) {
        let over = self.over.iter().map(|o| (o.words.clone(), o.pen.ink, Key::Line(o.pen)));
        let areas = self.up.iter().rev().chain(&self.down);
        let areas = areas.map(|area| (area.words.clone(), area.ink, Key::Area(area.fill)));
        let middle = (plot.y0 + plot.y1) / 2.0;
        let labels: Vec<EndLabel> = over
            .chain(areas)
            .map(|(words, ink, key)| EndLabel { y: middle, words, ink, key: Some(key) })
            .collect();
        end_labels(canvas, &labels, plot.x1, room_px, (plot.y0 - 8.0, plot.y1 + 8.0), SMALL);
    }
}
