//! The charge of the battery over time: how low, when, in which tier, with or without the mains.

use super::axes::Scale;
use super::bins::{Bin, Grain, finest};
use super::canvas::{Canvas, Picture, Point, Rect};
use super::course::{LINE_DAY_PX, draw_range, steps, thin, within};
use super::labels::{Busy, EndLabel, beside, end_labels};
use super::lanes::{Lane, draw_lanes, lanes_of};
use super::page::{blank, gutter, head, run_line};
use super::sentence::{charge_course, first_sentence, led_by_off_air};
use super::span::Span;
use super::text::width_px;
use super::theme::{
    AXIS_PEN, Anchor, CRIMSON, HAIR_PEN, LABEL, LOCKED_PEN, MAIN_PEN, OFF_AIR_BAND_FILL,
    OFF_AIR_PEN, PETROL, RIM_PX, SLATE, SMALL, THIN_MAIN_PEN, WIDTH_PX,
};
use super::timeline::Timeline;
use super::words::{charge as amount, length, number, percent, percent_full, short_moment};
use crate::simulate::ledger::Ledger;
use crate::simulate::summary::Summary;

const NAME: &str = "charge";
/// Right end of the ampere-hours before the plot, px.
const AH_PX: f64 = 42.0;
/// Height of the plot, px.
const PLOT_PX: f64 = 260.0;
/// Least width of a bin, px.
const BIN_PX: f64 = 1.6;
/// Charge that the cold locks is drawn where it comes to this: less changes nothing that is read off.
const LOCKED_FROM: f64 = 0.08;
const LOCKED: &str = "locked by the cold";

/// Draws the charge.
#[must_use]
pub fn charge(ledger: &Ledger, summary: &Summary) -> Picture {
    let Some(span) = Span::of(ledger) else {
        return blank(NAME, ledger);
    };
    let mut canvas = Canvas::new();
    let lanes = lanes_of(&span);
    let last = span.steps.last().map_or(0.0, |step| step.row.charge_end_share);
    let end_words = format!("{} at the end", percent_full(last));
    let locks = span.steps.iter().any(|step| step.row.locked_share >= LOCKED_FROM);
    let words = lanes.iter().map(Lane::words).chain([end_words.clone()]);
    let words = words.chain(locks.then(|| LOCKED.to_owned()));
    let right = WIDTH_PX - gutter(words, SMALL.strong(), 100.0, 210.0);
    let left = RIM_PX + AH_PX + width_px(&number(ledger.heads.capacity_ah, 0), SMALL).max(34.0);
    let run = run_line(&span);
    let title = title_of(summary);
    // A line as long as days are wide enough for it, else the range of each day with its lowest.
    let day_px = (right - left) * 24.0 / span.hours;
    let (grain, bins) = finest(&span, Grain::Day, ((right - left) / BIN_PX) as usize);
    let drawn = if day_px >= LINE_DAY_PX {
        "Charge of the battery".to_owned()
    } else {
        format!("Lowest charge of each {0} (line) and the range of each {0} (pale)", grain.word())
    };
    let of = if ledger.heads.capacity_ah > 0.0 {
        format!(", share of {} (rated, aged)", amount(ledger.heads.capacity_ah))
    } else {
        String::new()
    };
    let drawn = format!("{drawn}{of}; {} at the start.", percent_full(summary.start_charge_share));
    let top = head(&mut canvas, &title, &run, &drawn) + 20.0;
    let plot = Rect::new(left, top, right, top + PLOT_PX);
    let time = Timeline::new(&span, plot.x0, plot.x1);
    let highest = bins.iter().map(|bin| bin.charge_high).fold(1.0, f64::max);
    let scale = Scale::new(0.0, highest, plot.y1, plot.y0);

    time.nights(&mut canvas, plot, true);
    time.upright_lines(&mut canvas, plot);
    rulers(&mut canvas, plot, &scale, ledger.heads.capacity_ah);
    let off_air = time.bars(&span.off_air_spells(), plot.y0, plot.y1);
    canvas.fill(&off_air, OFF_AIR_BAND_FILL);

    let locked: Vec<Point> = if !locks {
        Vec::new()
    } else if day_px >= LINE_DAY_PX {
        thin(&steps(&span, &time, |row| scale.px(row.locked_share)))
    } else {
        let ends = |bin: &Bin| [time.x(bin.from_h), time.x(bin.to_h)];
        bins.iter().flat_map(|bin| ends(bin).map(|x| (x, scale.px(bin.locked_high)))).collect()
    };
    canvas.line(&locked, LOCKED_PEN);
    let course: Vec<Point> = if day_px >= LINE_DAY_PX {
        let course = thin(&course(&span, &time, &scale));
        canvas.line(&course, MAIN_PEN);
        for bar in &off_air {
            canvas.line(&within(&course, bar.x0, bar.x1), OFF_AIR_PEN);
        }
        course
    } else {
        let range = |bin: &Bin| (scale.px(bin.charge_high), scale.px(bin.charge_low));
        let lowest = |bin: &Bin| scale.px(bin.charge_low);
        draw_range(&mut canvas, &time, &bins, range, (lowest, THIN_MAIN_PEN))
    };

    if summary.lowest_charge_share.is_finite() {
        let at = (
            time.x(span.elapsed_h(&summary.lowest_charge_at)),
            scale.px(summary.lowest_charge_share),
        );
        canvas.dot(at, 4.0, CRIMSON, false);
        let ah = if ledger.heads.capacity_ah > 0.0 {
            format!(" ({})", amount(summary.lowest_charge_ah))
        } else {
            String::new()
        };
        let words = format!(
            "lowest {}{ah}, {}",
            percent(summary.lowest_charge_share),
            short_moment(&summary.lowest_charge_at, summary.hours)
        );
        let busy = Busy { lines: vec![&course, &locked], areas: &off_air };
        beside(&mut canvas, at, &words, LABEL.strong(), &busy, plot);
    }
    let mut labels = vec![EndLabel { y: scale.px(last), words: end_words, ink: PETROL, key: None }];
    if let Some((_, y)) = locked.last() {
        labels.push(EndLabel { y: *y, words: LOCKED.to_owned(), ink: SLATE, key: None });
    }
    end_labels(
        &mut canvas,
        &labels,
        plot.x1,
        WIDTH_PX - plot.x1 - RIM_PX,
        (plot.y0, plot.y1),
        SMALL.strong(),
    );

    let below = draw_lanes(&mut canvas, &time, plot.y1 + 8.0, &lanes, WIDTH_PX - plot.x1 - RIM_PX);
    let below = time.axis(&mut canvas, below + 4.0);
    let about =
        format!("{}; {}. {run}. {drawn}", first_sentence(ledger, summary), charge_course(summary));
    canvas.finish(NAME, &title, &about, (WIDTH_PX, below + 8.0))
}

/// The charge at the start of the first step and at the end of each, broken where steps are missing.
fn course(span: &Span, time: &Timeline, scale: &Scale) -> Vec<Point> {
    let mut points: Vec<Point> = Vec::new();
    let mut end_before = f64::NEG_INFINITY;
    for step in &span.steps {
        if step.at_h > end_before + 1e-6 {
            points.push((f64::NAN, f64::NAN));
            points.push((time.x(step.at_h), scale.px(step.row.charge_start_share)));
        }
        points.push((time.x(step.end_h()), scale.px(step.row.charge_end_share)));
        end_before = step.end_h();
    }
    points
}

fn title_of(summary: &Summary) -> String {
    let low = percent(summary.lowest_charge_share);
    if summary.off_air_h > 0.0 {
        led_by_off_air(summary, &format!("charge down to {low}"))
    } else {
        format!("Battery never below {low} in {}", length(summary.hours))
    }
}

/// Percent and ampere-hours at the left edge.
fn rulers(canvas: &mut Canvas, plot: Rect, scale: &Scale, capacity_ah: f64) {
    let mut head = |x: f64, words: &str| {
        canvas.text(x, plot.y0 - 9.0, words, SMALL.at(Anchor::End));
    };
    head(plot.x0 - 7.0, "%");
    if capacity_ah > 0.0 {
        head(plot.x0 - AH_PX, "Ah");
    }
    for fifth in 0..=5_u8 {
        let share = f64::from(fifth) / 5.0;
        let y = scale.px(share);
        canvas.line(&[(plot.x0, y), (plot.x1, y)], HAIR_PEN);
        canvas.text(plot.x0 - 7.0, y + 4.0, &number(share * 100.0, 0), SMALL.at(Anchor::End));
        if capacity_ah > 0.0 {
            let places = usize::from(capacity_ah < 40.0);
            let words = number(share * capacity_ah, places);
            canvas.text(plot.x0 - AH_PX, y + 4.0, &words, SMALL.at(Anchor::End));
        }
    }
    canvas.line(&[(plot.x0, plot.y0), (plot.x0, plot.y1)], AXIS_PEN);
}
