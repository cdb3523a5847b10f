//! Still on the air at hour h, a line a station: strategies in one plot, variants in another.

use super::super::axes::{Scale, level_ticks};
use super::super::canvas::{Canvas, Picture, Point, Rect};
use super::super::labels::{EndLabel, Key, end_labels};
use super::super::odds::axis::Hours;
use super::super::odds::on_air::foot;
use super::super::odds::sentence::{Words, exact_percent, whole};
use super::super::page::{gutter, head};
use super::super::text::clean;
use super::super::theme::{Anchor, LABEL, Pen, RIM_PX, SIDE_PENS, SMALL, WIDTH_PX};
use super::sentence::title;
use super::trials_line;
use crate::decide::compare::{Comparison, Kind};

const NAME: &str = "compare-on-air";
/// Height of a plot, px.
const PLOT_PX: f64 = 210.0;
const LEFT_PX: f64 = 64.0;

/// A station in a plot.
struct Course<'a> {
    name: String,
    on_air: &'a [u64],
    pen: Pen,
}

/// Draws the lines.
#[must_use]
pub fn on_air(it: &Comparison) -> Picture {
    let mut canvas = Canvas::new();
    let title = title(it);
    let run = trials_line(it);
    let many = Words::of(it.occasion).many;
    let drawn = format!(
        "Share of the {many} in which each is still on the air, hour by hour; at the end of a line how many of {} it survives.",
        whole(it.trials)
    );
    let mut y = head(&mut canvas, &title, &run, &drawn) + 14.0;
    let courses = |kind: Kind| -> Vec<Course> {
        it.stations
            .iter()
            .enumerate()
            .filter(|(at, station)| station.kind == kind || (kind == Kind::Variant && *at == 0))
            .enumerate()
            .map(|(place, (_, station))| Course {
                name: clean(&station.name),
                on_air: &station.on_air,
                pen: SIDE_PENS[place % SIDE_PENS.len()],
            })
            .collect()
    };
    let variants = it.stations.iter().any(|station| station.kind == Kind::Variant);
    let strategies = it.stations.iter().filter(|it| it.kind == Kind::Strategy).count();
    let mut plots = Vec::new();
    if strategies > 1 || !variants {
        plots.push(("Strategies of the station", courses(Kind::Strategy)));
    }
    if variants {
        plots.push(("Variants, and the station itself", courses(Kind::Variant)));
    }
    let labels = it.stations.iter().map(|station| label(&clean(&station.name), station.lasted));
    let right = WIDTH_PX - gutter(labels, SMALL.strong(), 120.0, 270.0);
    for (heading, courses) in &plots {
        let from = foot_of(it, courses);
        let cut = if from > 0.0 {
            format!("; the axis begins at {}", exact_percent(from))
        } else {
            String::new()
        };
        canvas.text(LEFT_PX, y + 10.0, &format!("{heading}{cut}"), LABEL.strong());
        y = plot(&mut canvas, it, courses, Rect::new(LEFT_PX, y + 26.0, right, y + 26.0 + PLOT_PX));
        y += 16.0;
    }
    let told: Vec<String> = it
        .stations
        .iter()
        .map(|station| format!("{} {}", clean(&station.name), exact_percent(station.on_air_share)))
        .collect();
    let about = format!("{title}. {run}. {drawn} {}.", told.join("; "));
    canvas.finish(NAME, &title, &about, (WIDTH_PX, y))
}

impl Course<'_> {
    fn last(&self) -> u64 {
        self.on_air.last().copied().unwrap_or(0)
    }
}

fn share_of(it: &Comparison, count: u64) -> f64 {
    count as f64 / it.trials.max(1) as f64
}

/// Share at which the axis of a plot begins.
fn foot_of(it: &Comparison, courses: &[Course]) -> f64 {
    // Where all last, a hundredth is shown all the same.
    foot(courses.iter().map(|course| share_of(it, course.last())).fold(0.99, f64::min))
}

fn label(name: &str, lasted: u64) -> String {
    format!("{name}: {}", whole(lasted))
}

/// One plot with its axis; gives back the height below it.
fn plot(canvas: &mut Canvas, it: &Comparison, courses: &[Course], plot: Rect) -> f64 {
    let scale = Scale::new(foot_of(it, courses) * 100.0, 100.0, plot.y1, plot.y0);
    let y = |count: u64| scale.px(share_of(it, count) * 100.0);
    let last = Course::last;
    let time = Hours::over(it.hours, &it.nights_h, it.start, it.occasion, (plot.x0, plot.x1));
    time.nights(canvas, plot);
    time.upright_lines(canvas, plot);
    level_ticks(canvas, plot, &scale, 30.0);
    canvas.text(plot.x0 - 7.0, plot.y0 - 9.0, "%", SMALL.at(Anchor::End));
    let mut labels = Vec::new();
    // The first last, so that it lies on top.
    for course in courses.iter().rev() {
        // What holds at an hour holds until the next: a loss within an hour is drawn at its end.
        let mut line: Vec<Point> = Vec::new();
        for (hours, counts) in it.on_air_at_h.windows(2).zip(course.on_air.windows(2)) {
            line.extend([(time.x(hours[0]), y(counts[0])), (time.x(hours[1]), y(counts[0]))]);
        }
        line.push((plot.x1, y(last(course))));
        canvas.line(&line, course.pen);
        labels.push(EndLabel {
            y: y(last(course)),
            words: label(&course.name, last(course)),
            ink: course.pen.ink,
            key: Some(Key::Line(course.pen)),
        });
    }
    let room = WIDTH_PX - plot.x1 - RIM_PX;
    end_labels(canvas, &labels, plot.x1, room, (plot.y0 - 6.0, plot.y1 + 6.0), SMALL.strong());
    time.axis(canvas, plot.y1 + 4.0)
}
