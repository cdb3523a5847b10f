//! The picture: the chance over the months for a few hours of the clock, a panel for each strategy.

use super::super::axes::{Scale, level_ticks};
use super::super::canvas::{Canvas, Picture, Point, Rect};
use super::super::labels::{EndLabel, Key, end_labels};
use super::super::odds::on_air::foot;
use super::super::odds::sentence::{exact_percent, whole};
use super::super::page::{ROOM_PX, head};
use super::super::text::{clean, fit, width_px};
use super::super::theme::{
    AMBER_DEEP, AXIS_PEN, Anchor, Dash, LABEL, PETROL, PETROL_PALE, PLUM, Pen, RIM_PX, SLATE,
    SMALL, SUBTITLE, WIDTH_PX,
};
use super::{MONTHS, cases, clock, first_sentence, month_name, what};
use crate::decide::calendar::{Calendar, StrategyCalendar};

const NAME: &str = "calendar";
const LEFT_PX: f64 = 64.0;
/// Room for the labels right of a panel, px.
const LABELS_PX: f64 = 96.0;
/// Height of the name above a panel, px.
const NAME_PX: f64 = 26.0;
/// Room beside the first and the last month, px.
const BESIDE_PX: f64 = 18.0;
/// No axis begins higher: the chances are not known so well.
const HIGHEST_FOOT: f64 = 0.9;
/// Heights of a panel: of one alone, and of the least of many, px.
const PANEL_PX: (f64, f64) = (260.0, 116.0);

/// How the lines of the hours run: apart in lightness and in stroke.
const PENS: [Pen; 4] = [
    Pen { ink: SLATE, width_px: 2.4, dash: Dash::Solid },
    Pen { ink: PETROL, width_px: 1.8, dash: Dash::Dashed },
    Pen { ink: AMBER_DEEP, width_px: 1.2, dash: Dash::Solid },
    Pen { ink: PLUM, width_px: 1.9, dash: Dash::Dotted },
];

/// Most hours of the clock that are drawn.
pub const MOST_CURVES: usize = PENS.len();

/// Draws a calendar for these hours of the clock, at most [`MOST_CURVES`] of them.
#[must_use]
pub fn curves(calendar: &Calendar, clock_hours: &[u32]) -> Picture {
    let mut canvas = Canvas::new();
    let title = first_sentence(calendar);
    let title = title.trim_end_matches('.');
    let about = about_line(calendar);
    let strategies: Vec<&StrategyCalendar> =
        calendar.strategies.iter().filter(|it| !it.months.is_empty()).collect();
    if strategies.is_empty() {
        let y = head(&mut canvas, title, &about, "");
        return canvas.finish(NAME, title, &about, (WIDTH_PX, y + RIM_PX));
    }
    let lowest = strategies
        .iter()
        .flat_map(|it| &it.months)
        .map(|month| month.worst_chance)
        .fold(1.0, f64::min);
    let from = foot(lowest).min(HIGHEST_FOOT);
    let cut = if from > 0.0 {
        format!(" The axes begin at {}.", exact_percent(from))
    } else {
        String::new()
    };
    let drawn = format!(
        "Share of {} with the station on the air for all hours: {}. Lines for a few hours of the clock at which it begins; pale behind them the range of all 24.{cut}",
        cases(calendar),
        what(calendar)
    );
    let mut top = head(&mut canvas, title, &about, &drawn);
    #[allow(clippy::cast_precision_loss)]
    let height = (2.0 * PANEL_PX.0 / strategies.len() as f64).clamp(PANEL_PX.1, PANEL_PX.0);
    let hours = &clock_hours[..clock_hours.len().min(MOST_CURVES)];
    let mut told = Vec::new();
    let mut bottom = top;
    for strategy in &strategies {
        let plot = Rect::new(LEFT_PX, top + NAME_PX, WIDTH_PX - LABELS_PX, top + NAME_PX + height);
        told.push(panel(&mut canvas, plot, strategy, hours, from));
        bottom = plot.y1;
        top = plot.y1 + 8.0;
    }
    let plot = Rect::new(LEFT_PX, bottom, WIDTH_PX - LABELS_PX, bottom);
    for (month, name) in MONTHS.iter().enumerate() {
        let x = month_x(plot, month);
        canvas.line(&[(x, bottom + 4.0), (x, bottom + 8.0)], AXIS_PEN);
        canvas.text(x, bottom + 20.0, &name[..3], SMALL.at(Anchor::Middle));
    }
    canvas.line(&[(plot.x0, bottom + 4.0), (plot.x1, bottom + 4.0)], AXIS_PEN);
    let middle = (plot.x0 + plot.x1) / 2.0;
    let meaning = match calendar.outages {
        crate::decide::calendar::Outages::None => "month of the start",
        _ => "month in which the mains fails",
    };
    canvas.text(middle, bottom + 38.0, meaning, LABEL.at(Anchor::Middle));
    let described = format!("{title}. {about}. {drawn} {}.", told.join("; "));
    canvas.finish(NAME, title, &described, (WIDTH_PX, bottom + 46.0))
}

/// Where a month stands, counted from 0.
#[allow(clippy::cast_precision_loss)]
fn month_x(plot: Rect, month0: usize) -> f64 {
    plot.x0 + BESIDE_PX + month0 as f64 * (plot.width() - 2.0 * BESIDE_PX) / 11.0
}

/// One strategy. Returns what it says in words.
fn panel(
    canvas: &mut Canvas,
    plot: Rect,
    strategy: &StrategyCalendar,
    clock_hours: &[u32],
    from: f64,
) -> String {
    let scale = Scale::new(from * 100.0, 100.0, plot.y1, plot.y0);
    let x = |month: u32| month_x(plot, month.saturating_sub(1) as usize);
    let y = |share: f64| scale.px(share * 100.0);
    let mut range: Vec<Point> =
        strategy.months.iter().map(|it| (x(it.month), y(it.best_chance))).collect();
    range.extend(strategy.months.iter().rev().map(|it| (x(it.month), y(it.worst_chance))));
    canvas.area(&range, PETROL_PALE);
    level_ticks(canvas, plot, &scale, 34.0);
    canvas.text(plot.x0 - 7.0, plot.y0 - 9.0, "%", SMALL.at(Anchor::End));

    let mut labels = Vec::new();
    for (hour, pen) in clock_hours.iter().zip(PENS) {
        let line: Vec<Point> =
            strategy.at(*hour).map(|point| (x(point.month), y(point.chance))).collect();
        canvas.line(&line, pen);
        if let Some((_, y)) = line.last() {
            labels.push(EndLabel {
                y: *y,
                words: clock(*hour),
                ink: pen.ink,
                key: Some(Key::Line(pen)),
            });
        }
    }
    let ends = (plot.y0 - 6.0, plot.y1 + 6.0);
    end_labels(canvas, &labels, plot.x1 - BESIDE_PX + 2.0, LABELS_PX, ends, SMALL.strong());

    let said = said_of(strategy);
    let room = plot.width() - width_px(&said, SMALL) - 16.0;
    let name = fit(&clean(&strategy.strategy), LABEL.strong(), room);
    canvas.text(plot.x0, plot.y0 - 9.0, &name, LABEL.strong());
    canvas.text(plot.x1, plot.y0 - 9.0, &said, SMALL.at(Anchor::End));
    format!("{}: {said}", clean(&strategy.strategy))
}

/// `weakest in December: 12 %, from 3 % at 18:00 to 20 % at 09:00`.
fn said_of(strategy: &StrategyCalendar) -> String {
    let Some(month) = strategy.weakest() else { return String::new() };
    if month.chance >= 1.0 {
        return "all of every month".to_owned();
    }
    let share = exact_percent(month.chance);
    let begins = format!("weakest in {}: {share}", month_name(month.month));
    if month.worst_chance >= month.best_chance {
        return begins;
    }
    format!(
        "{begins}, from {} at {} to {} at {}",
        exact_percent(month.worst_chance),
        clock(month.worst_clock_hour),
        exact_percent(month.best_chance),
        clock(month.best_clock_hour)
    )
}

/// Which station, what fails, how many.
fn about_line(calendar: &Calendar) -> String {
    let early = if calendar.ended_early {
        format!(", ended early of {}", whole(calendar.trials_asked))
    } else {
        String::new()
    };
    let line = format!(
        "{}; {} {} a month and hour (seed {}{early})",
        clean(&calendar.title),
        whole(calendar.trials),
        cases(calendar),
        calendar.seed
    );
    fit(&line, SUBTITLE, ROOM_PX)
}
