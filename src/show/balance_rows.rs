//! The rows of the energy balance: what is told of each bin, and how it looks in the bars above.

use super::axes::{Scale, round_step};
use super::bins::Bin;
use super::canvas::{Canvas, Point, Rect};
use super::span::Span;
use super::theme::{
    DRAWN_FILL, Fill, GENERATOR_FILL, HEATER_FILL, LOSS_FILL, MAINS_FILL, REFUSED_PEN, SERVED_FILL,
    STANDBY_FILL, STORED_FILL, SUN_FILL, UNSERVED_FILL, VEHICLE_FILL,
};
use crate::simulate::ledger::Origin;

/// What a row of the table is in the bars above it.
pub enum Look {
    /// Part of the stack above the line.
    Up(Fill),
    /// Part of the stack below it.
    Down(Fill),
    /// An outline on top of the upper stack.
    Outline,
    /// Hatched, beneath the lower stack.
    Missing,
    /// Energy, only in the table.
    Beside,
    /// Only in the table, and no energy.
    Number,
}

/// A row: its name, its look in the bars, and what it holds by bin.
pub struct Line {
    /// Its name.
    pub name: &'static str,
    /// What it is in the bars.
    pub look: Look,
    /// Energy by bin, Wh; hours for rows of numbers.
    pub wh: Vec<f64>,
}

/// The rows of a span that tell something.
#[must_use]
pub fn lines(span: &Span, bins: &[Bin]) -> Vec<Line> {
    let of = |value: &dyn Fn(&Bin) -> f64| -> Vec<f64> { bins.iter().map(value).collect() };
    let all = [
        ("sun", Look::Up(SUN_FILL), of(&|b| b.used_wh(span, Origin::Sun))),
        ("mains", Look::Up(MAINS_FILL), of(&|b| b.used_wh(span, Origin::Mains))),
        ("generator", Look::Up(GENERATOR_FILL), of(&|b| b.used_wh(span, Origin::Generator))),
        ("vehicle", Look::Up(VEHICLE_FILL), of(&|b| b.used_wh(span, Origin::Vehicle))),
        ("from the battery, net", Look::Up(DRAWN_FILL), of(&|b| (-b.stored_change_wh).max(0.0))),
        ("sun refused", Look::Outline, of(&|b| b.refused_wh())),
        ("loads served", Look::Down(SERVED_FILL), of(&|b| b.served_wh)),
        ("controllers, standby", Look::Down(STANDBY_FILL), of(&|b| b.standby_wh)),
        ("battery heater", Look::Down(HEATER_FILL), of(&|b| b.heater_wh)),
        ("losses", Look::Down(LOSS_FILL), of(&|b| b.loss_wh)),
        ("into the battery, net", Look::Down(STORED_FILL), of(&|b| b.stored_change_wh.max(0.0))),
        ("unserved", Look::Missing, of(&|b| b.unserved_wh)),
        (
            "off the operating point",
            Look::Beside,
            of(&|b| b.sources.iter().map(|flow| flow.operating_point_loss_wh).sum()),
        ),
        ("fuel, l", Look::Number, of(&|b| b.fuel_l)),
        ("grid down, h", Look::Number, of(&|b| b.grid_down_h)),
        ("no power, h", Look::Number, of(&|b| b.no_power_h)),
    ];
    let has =
        |origin: Origin| span.ledger.heads.sources.iter().any(|source| source.origin == origin);
    let (has_sun, has_grid) = (has(Origin::Sun), span.ledger.heads.has_grid);
    let keep = |name: &str, wh: &[f64]| {
        let happened = wh.iter().any(|v| *v > 1e-9);
        name == "loads served"
            || (has_sun && name == "sun")
            || (happened && (has_grid || name != "grid down, h"))
    };
    all.into_iter()
        .filter(|(name, _, wh)| keep(name, wh))
        .map(|(name, look, wh)| Line { name, look, wh })
        .collect()
}

/// Lowest and highest value of the stacks, Wh, rounded outwards.
#[must_use]
pub fn extent(lines: &[Line], bins: usize) -> (f64, f64) {
    let (mut low, mut high) = (0.0_f64, 0.0_f64);
    for i in 0..bins {
        let sum = |above: bool| -> f64 {
            lines
                .iter()
                .filter(|line| match line.look {
                    Look::Up(_) | Look::Outline => above,
                    Look::Down(_) | Look::Missing => !above,
                    Look::Beside | Look::Number => false,
                })
                .map(|line| line.wh[i])
                .sum()
        };
        high = high.max(sum(true));
        low = low.min(-sum(false));
    }
    if high - low < 1e-6 {
        return (-1.0, 1.0);
    }
    let (step, _) = round_step((high - low) / 16.0);
    ((low / step + 1e-9).floor() * step, (high / step - 1e-9).ceil() * step)
}

/// Draws the stacks of one bin.
pub fn bar(
    canvas: &mut Canvas,
    lines: &[Line],
    i: usize,
    (x0, x1): (f64, f64),
    scale: &Scale,
    in_unit: impl Fn(f64) -> f64,
) {
    let (mut up, mut down) = (0.0, 0.0);
    for line in lines {
        let wh = in_unit(line.wh[i]);
        match line.look {
            Look::Up(fill) => {
                canvas.fill(&[Rect::new(x0, scale.px(up), x1, scale.px(up + wh))], fill);
                up += wh;
            }
            Look::Outline => {
                let (base, top) = (scale.px(up), scale.px(up + wh));
                if base - top > 0.8 {
                    let path: [Point; 4] = [(x0, base), (x0, top), (x1, top), (x1, base)];
                    canvas.line(&path, REFUSED_PEN);
                }
            }
            Look::Down(fill) => {
                canvas.fill(&[Rect::new(x0, scale.px(down), x1, scale.px(down - wh))], fill);
                down -= wh;
            }
            Look::Missing => {
                canvas
                    .fill(&[Rect::new(x0, scale.px(down), x1, scale.px(down - wh))], UNSERVED_FILL);
            }
            Look::Beside | Look::Number => {}
        }
    }
}

/// Draws the look of a row before its name.
pub fn swatch(canvas: &mut Canvas, line: &Line, area: Rect) {
    match line.look {
        Look::Up(fill) | Look::Down(fill) => canvas.fill(&[area], fill),
        Look::Missing => canvas.fill(&[area], UNSERVED_FILL),
        Look::Outline => {
            let path =
                [(area.x0, area.y1), (area.x0, area.y0), (area.x1, area.y0), (area.x1, area.y1)];
            canvas.line(&path, REFUSED_PEN);
        }
        Look::Beside | Look::Number => {}
    }
}
