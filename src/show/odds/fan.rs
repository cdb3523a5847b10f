//! The fan of the charge: how the charge of all trials spreads over the span.

use super::super::axes::Scale;
use super::super::canvas::{Canvas, Picture, Point, Rect};
use super::super::labels::{EndLabel, end_labels};
use super::super::page::{gutter, head};
use super::super::theme::{
    AXIS_PEN, Anchor, EDGE_PEN, HAIR_PEN, MAIN_PEN, PETROL, PETROL_MID, PETROL_PALE, QUIET, RIM_PX,
    SMALL, WIDTH_PX,
};
use super::super::words::{charge as amount, hours, number, percent};
use super::axis::Hours;
use super::sentence::{Words, failing};
use super::{Trials, blank, trials_line};
use crate::decide::odds::result::Band;

const NAME: &str = "odds-charge";
/// Height of the plot, px.
const PLOT_PX: f64 = 260.0;
const LEFT_PX: f64 = 64.0;

/// Draws the fan.
#[must_use]
pub fn fan(trials: Trials) -> Picture {
    let bands = &trials.odds.bands;
    let (Some(last), true) = (bands.last(), trials.odds.trials > 0) else {
        return blank(NAME, trials);
    };
    let mut canvas = Canvas::new();
    let labels = end_words(last);
    let words = labels.iter().map(|(_, words, ..)| words.clone());
    let right = WIDTH_PX - gutter(words, SMALL.strong(), 100.0, 210.0);
    let title = title_of(trials);
    let run = trials_line(trials);
    let many = Words::of(trials.odds.occasion).many;
    let of = if trials.subject.capacity_ah > 0.0 {
        format!(", share of {} (rated, aged)", amount(trials.subject.capacity_ah))
    } else {
        String::new()
    };
    let drawn = format!(
        "Charge of the battery{of}, hour by hour: the middle of all {many} (line), half of them (deep) and nine in ten (pale). No single one follows an edge."
    );
    let top = head(&mut canvas, &title, &run, &drawn) + 20.0;
    let plot = Rect::new(LEFT_PX, top, right, top + PLOT_PX);
    let time = Hours::new(trials.subject, plot.x0, plot.x1);
    let highest = bands.iter().map(|band| band.charge_p95_share).fold(1.0, f64::max);
    let scale = Scale::new(0.0, highest, plot.y1, plot.y0);
    time.nights(&mut canvas, plot);

    let edge = |of: fn(&Band) -> f64| -> Vec<Point> {
        bands.iter().map(|band| (time.x(band.hour), scale.px(of(band)))).collect()
    };
    let between = |canvas: &mut Canvas, upper: Vec<Point>, lower: Vec<Point>, ink| {
        let outline: Vec<Point> = upper.into_iter().chain(lower.into_iter().rev()).collect();
        canvas.area(&outline, ink);
    };
    let (p05, p95) = (edge(|band| band.charge_p05_share), edge(|band| band.charge_p95_share));
    between(&mut canvas, p95.clone(), p05.clone(), PETROL_PALE);
    let (p25, p75) = (edge(|band| band.charge_p25_share), edge(|band| band.charge_p75_share));
    between(&mut canvas, p75, p25, PETROL_MID);
    time.upright_lines(&mut canvas, plot);
    canvas.line(&p95, EDGE_PEN);
    canvas.line(&p05, EDGE_PEN);
    canvas.text(plot.x0 - 7.0, plot.y0 - 9.0, "%", SMALL.at(Anchor::End));
    for fifth in 0..=5_u8 {
        let share = f64::from(fifth) / 5.0;
        let y = scale.px(share);
        canvas.line(&[(plot.x0, y), (plot.x1, y)], HAIR_PEN);
        canvas.text(plot.x0 - 7.0, y + 4.0, &number(share * 100.0, 0), SMALL.at(Anchor::End));
    }
    canvas.line(&[(plot.x0, plot.y0), (plot.x0, plot.y1)], AXIS_PEN);
    canvas.line(&edge(|band| band.charge_p50_share), MAIN_PEN);

    let ends: Vec<EndLabel> = labels
        .into_iter()
        .map(|(share, words, strong)| EndLabel {
            y: scale.px(share),
            words,
            ink: if strong { PETROL } else { QUIET },
            key: None,
        })
        .collect();
    let room = WIDTH_PX - plot.x1 - RIM_PX;
    end_labels(&mut canvas, &ends, plot.x1, room, (plot.y0, plot.y1), SMALL);
    let below = time.axis(&mut canvas, plot.y1 + 4.0);
    let about = format!(
        "{title}. {run}. {drawn} At the end: {}.",
        ends.iter().map(|label| label.words.as_str()).collect::<Vec<_>>().join(", ")
    );
    canvas.finish(NAME, &title, &about, (WIDTH_PX, below + 8.0))
}

/// What stands at the end of each edge: charge, words, whether it is the middle.
fn end_words(last: &Band) -> [(f64, String, bool); 5] {
    let of = |share: f64, words: &str| (share, format!("{words} {}", percent(share)), false);
    [
        of(last.charge_p95_share, "1 in 20 above"),
        of(last.charge_p75_share, "1 in 4 above"),
        (last.charge_p50_share, format!("middle {}", percent(last.charge_p50_share)), true),
        of(last.charge_p25_share, "1 in 4 below"),
        of(last.charge_p05_share, "1 in 20 below"),
    ]
}

fn title_of(trials: Trials) -> String {
    let many = Words::of(trials.odds.occasion).many;
    let lowest = &trials.odds.lowest_charge_share;
    let span = hours(trials.odds.hours);
    if let (Some(failing), Some(p05)) = (failing(trials), lowest.p05) {
        return format!("{failing}; charge down to {} in 1 of 20", percent(p05));
    }
    match (lowest.least, lowest.p05, lowest.p50) {
        (Some(least), ..) if least >= 0.995 => format!("Battery stays full for {span}"),
        (_, Some(p05), _) if p05 >= 0.005 => {
            format!("Battery stays above {} for {span} in 19 of 20 {many}", percent(p05))
        }
        (_, _, Some(p50)) if p50 < 0.005 => {
            format!("Battery empty within {span} in more than half of all {many}")
        }
        _ => format!("Battery empty within {span} in more than 1 of 20 {many}"),
    }
}
