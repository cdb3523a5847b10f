//! Still on the air at hour h: the share of trials not off the air until then, with its interval.

use super::super::axes::{Scale, round_step};
use super::super::canvas::{Canvas, Picture, Point, Rect};
use super::super::labels::{Busy, EndLabel, beside, end_labels};
use super::super::page::{gutter, head};
use super::super::theme::{
    AXIS_PEN, Anchor, HAIR_PEN, LABEL, MAIN_PEN, PETROL, RANGE_FILL, RIM_PX, SMALL, WIDTH_PX,
};
use super::super::words::{number, trimmed};
use super::axis::Hours;
use super::sentence::{Words, exact_percent, failing, title, whole};
use super::{Trials, blank, trials_line};

const NAME: &str = "odds-on-air";
/// Height of the plot, px.
const PLOT_PX: f64 = 260.0;
const LEFT_PX: f64 = 64.0;
/// Least distance of marked hours, px.
const MARK_PX: f64 = 66.0;

/// Draws the curve.
#[must_use]
pub fn on_air(trials: Trials) -> Picture {
    let bands = &trials.odds.bands;
    let (Some(last), true) = (bands.last(), trials.odds.trials > 0) else {
        return blank(NAME, trials);
    };
    let mut canvas = Canvas::new();
    let words = Words::of(trials.odds.occasion);
    let end_words = format!("{} of {}", whole(last.on_air), whole(trials.odds.trials));
    let right = WIDTH_PX - gutter([end_words.clone()].into_iter(), SMALL.strong(), 100.0, 210.0);
    let title = failing(trials).unwrap_or_else(|| title(trials.odds));
    let run = trials_line(trials);
    let lowest = bands.iter().map(|band| band.on_air_low_share).fold(1.0, f64::min);
    let from = foot(lowest);
    let cut = if from > 0.0 {
        format!(" The axis begins at {}.", exact_percent(from))
    } else {
        String::new()
    };
    let drawn = format!(
        "Share of the {} still on the air, hour by hour (line), and its 95 % range from {} (pale).{cut}",
        words.many,
        words.counted(trials.odds.trials)
    );
    let top = head(&mut canvas, &title, &run, &drawn) + 20.0;
    let plot = Rect::new(LEFT_PX, top, right, top + PLOT_PX);
    let time = Hours::new(trials.subject, plot.x0, plot.x1);
    let scale = Scale::new(from * 100.0, 100.0, plot.y1, plot.y0);
    let y = |share: f64| scale.px(share * 100.0);
    time.nights(&mut canvas, plot);

    // What holds at an hour holds until the next: the loss within an hour is drawn at its end.
    let mut line: Vec<Point> = Vec::new();
    let mut ranges: Vec<Rect> = Vec::new();
    for pair in bands.windows(2) {
        let [now, next] = pair else { continue };
        let (x0, x1) = (time.x(now.hour), time.x(next.hour));
        ranges.push(Rect::new(x0, y(now.on_air_high_share), x1, y(now.on_air_low_share)));
        line.extend([(x0, y(now.on_air_share)), (x1, y(now.on_air_share))]);
    }
    line.push((time.x(last.hour), y(last.on_air_share)));
    canvas.fill(&ranges, RANGE_FILL);
    time.upright_lines(&mut canvas, plot);
    canvas.text(plot.x0 - 7.0, plot.y0 - 9.0, "%", SMALL.at(Anchor::End));
    let (ticks, places) = scale.ticks(34.0);
    for value in ticks {
        let y = scale.px(value);
        canvas.line(&[(plot.x0, y), (plot.x1, y)], HAIR_PEN);
        canvas.text(plot.x0 - 7.0, y + 4.0, &number(value, places), SMALL.at(Anchor::End));
    }
    canvas.line(&[(plot.x0, plot.y0), (plot.x0, plot.y1)], AXIS_PEN);
    canvas.line(&line, MAIN_PEN);

    let below_line = Rect::new(plot.x0 + 4.0, plot.y0, plot.x1 - 4.0, plot.y1);
    // From the last on, those with room for their words.
    let mut free_to = f64::INFINITY;
    for within in trials.odds.on_air_within.iter().rev() {
        let at = (time.x(within.hours), y(within.on_air_share));
        if free_to - at.0 < MARK_PX || at.0 - plot.x0 < 8.0 {
            continue;
        }
        free_to = at.0;
        canvas.dot(at, 4.0, PETROL, false);
        let words =
            format!("{} h: {}", trimmed(within.hours, 1), exact_percent(within.on_air_share));
        let busy = Busy { lines: vec![&line], areas: &ranges };
        beside(&mut canvas, at, &words, LABEL.strong(), &busy, below_line);
    }
    let end = EndLabel { y: y(last.on_air_share), words: end_words, ink: PETROL, key: None };
    let room = WIDTH_PX - plot.x1 - RIM_PX;
    let ends = (plot.y0, plot.y1);
    end_labels(&mut canvas, &[end], plot.x1, room, ends, SMALL.strong());
    let below = time.axis(&mut canvas, plot.y1 + 4.0);
    let told: Vec<String> = trials
        .odds
        .on_air_within
        .iter()
        .map(|it| {
            let [low, high] = it.on_air_wilson_95.map(exact_percent);
            let share = exact_percent(it.on_air_share);
            format!("after {} h {share} ({low} to {high})", trimmed(it.hours, 1))
        })
        .collect();
    let about = format!("{title}. {run}. {drawn} {}.", told.join(", "));
    canvas.finish(NAME, &title, &about, (WIDTH_PX, below + 8.0))
}

/// Where an axis of shares begins: a round share below the lowest, 0 where half of it would be shown
/// anyway.
#[must_use]
pub fn foot(lowest: f64) -> f64 {
    let missing = ((1.0 - lowest) * 1.15).max(1e-6);
    if missing > 0.5 {
        return 0.0;
    }
    let (step, _) = round_step(missing / 6.0);
    (1.0 - (missing / step).ceil() * step).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_axis_begins_at_a_round_share_below_the_lowest() {
        for lowest in [0.999_99, 0.9995, 0.987, 0.93, 0.6, 0.3, 0.0, 1.0] {
            let from = foot(lowest);
            assert!(from < lowest || lowest == 0.0, "{lowest}: {from}");
            assert!((1.0 - from) < 1.8 * (1.0 - lowest) + 5e-6 || from == 0.0, "{lowest}: {from}");
        }
        assert!((foot(0.987) - 0.985).abs() < 1e-12, "{}", foot(0.987));
        assert_eq!(foot(0.5), 0.0);
    }
}
