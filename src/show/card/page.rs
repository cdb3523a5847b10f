//! The card as one page of A5: a picture, and the same picture in a page for the printer.
//!
//! All type is 11 points or larger at the size of the paper; lines are dark on white, nothing is told
//! by colour.

use super::{
    below, caution_lines, full_words, how_to_read, looks, meters_of, percent_of, period, when,
};
use crate::decide::card::tried::Tried;
use crate::decide::card::{OperatingCard, Threshold};
use crate::show::canvas::{Canvas, Picture, Rect};
use crate::show::odds::sentence::{exact_percent, whole};
use crate::show::text::{clean, fit, fold, fold_at, width_px};
use crate::show::theme::{Anchor, Dash, HAIR, Ink, Pen, TEXT, Type};
use crate::show::words::{charge, trimmed};

/// A5 at 96 px an inch: 148 mm by 210 mm.
const WIDTH: f64 = 559.0;
const HEIGHT: f64 = 794.0;
/// Free rim, px: 7 mm, which printers leave white.
const RIM: f64 = 27.0;
const ROOM: f64 = WIDTH - 2.0 * RIM;
/// Room of the column that says when.
const WHEN: f64 = 146.0;
/// Points of 11, px.
const SIZE: f64 = 14.7;
/// From one line of type to the next, px.
const LINE: f64 = 18.4;
/// Height of a row to write in, px.
const BLANK: f64 = 25.0;
/// Fewest rows to write in.
const FEWEST_BLANKS: usize = 3;

const BODY: Type = Type { size_px: SIZE, bold: false, ink: TEXT, anchor: Anchor::Start };
const HEAD: Type = Type { size_px: 20.0, bold: true, ink: TEXT, anchor: Anchor::Start };
const STRONG: Pen = Pen { ink: TEXT, width_px: 1.2, dash: Dash::Solid };
const THIN: Pen = Pen { ink: Ink(0x70, 0x78, 0x80), width_px: 0.7, dash: Dash::Solid };

/// What stands in one row of the table: its name, and lines in each cell.
struct RowText {
    name: Vec<String>,
    cells: Vec<Vec<String>>,
}

impl RowText {
    fn lines(&self) -> usize {
        self.cells.iter().map(Vec::len).chain([self.name.len()]).max().unwrap_or(1)
    }
}

/// The page.
#[must_use]
pub fn page(card: &OperatingCard) -> Picture {
    let columns = card.tiers.len().saturating_sub(1).max(1);
    #[allow(clippy::cast_precision_loss)]
    let cell = (ROOM - WHEN) / columns as f64;
    let notes = notes_of(card);
    let title = fold(&clean(&card.title), BODY.strong(), ROOM, 2);
    #[allow(clippy::cast_precision_loss)]
    let fixed = RIM + 24.0 + LINE * (title.len() + 1 + 2 + notes.len()) as f64 + 30.0;
    let height = |rows: &[RowText]| -> f64 {
        #[allow(clippy::cast_precision_loss)]
        let lines = |row: &RowText| row.lines() as f64 * LINE + 4.0;
        rows.iter().map(lines).sum()
    };
    #[allow(clippy::cast_precision_loss)]
    let least = (FEWEST_BLANKS + 1) as f64 * BLANK;
    let mut rows = rows_of(card, cell, true);
    let mut with_ah = true;
    if fixed + height(&rows) + least > HEIGHT - RIM {
        rows = rows_of(card, cell, false);
        with_ah = false;
    }

    let mut canvas = Canvas::new();
    let mut y = RIM + 18.0;
    canvas.text(RIM, y, "Operating card", HEAD);
    let odds = format!("target: on the air in {}", exact_percent(card.target_chance));
    canvas.text(WIDTH - RIM, y, &odds, BODY.at(Anchor::End));
    y += 6.0;
    for line in title {
        y += LINE;
        canvas.text(RIM, y, &line, BODY.strong());
    }
    y += LINE;
    canvas.text(RIM, y, &fit(&period(card), BODY, ROOM), BODY);
    y += 8.0;
    y = table(&mut canvas, card, &rows, (y, cell));
    let unit = format!("1 % is {}.", charge(card.capacity_ah / 100.0));
    let mut notes = notes;
    if !with_ah {
        notes.insert(0, unit);
    }
    y += 2.0;
    for line in &notes {
        y += LINE;
        canvas.text(RIM, y, line, BODY);
    }
    y += 8.0;
    blanks(&mut canvas, y);
    let this = card.tried.first();
    let said = format!("Operating card, {}", clean(&card.title));
    let about = this.map_or(String::new(), |it| {
        format!(
            "{} rows; on the air in {} of {} trials. {}",
            card.rows.len(),
            whole(it.stayed),
            whole(it.trials),
            below(card)
        )
    });
    canvas.finish("card", &said, &about, (WIDTH, HEIGHT))
}

/// Everything below the table, in lines.
fn notes_of(card: &OperatingCard) -> Vec<String> {
    let told = |it: &Tried| {
        let hours = it.tier_h.values().next().map_or(String::new(), |h| trimmed(*h, 1));
        let dark = trimmed(it.no_power_h, 1);
        let dark = if dark == "0" { String::new() } else { format!(", {dark} h without power") };
        format!("{} {}, {hours} h{dark}", it.name, whole(it.stayed))
    };
    let told: Vec<String> = card.tried.iter().map(told).collect();
    let trials = card.tried.first().map_or(0, |it| it.trials);
    let fullest = card.tiers.first().map_or(String::new(), |tier| clean(&tier.name));
    let tried = format!(
        "On the air, of {} trials, and mean hours in {fullest}: {}.",
        whole(trials),
        told.join("; ")
    );
    let read = format!("{} F{}.", how_to_read(card), &full_words(card)[1..]);
    let texts = [format!("{} {}", looks(card), below(card)), read, tried];
    let cautions: Vec<&str> = caution_lines(card).collect();
    texts
        .into_iter()
        .chain([cautions.join(" ")])
        .flat_map(|text| fold_at(&text, BODY, ROOM, usize::MAX))
        .collect()
}

fn rows_of(card: &OperatingCard, cell_px: f64, with_ah: bool) -> Vec<RowText> {
    let cells = |at_least: &[Threshold]| -> Vec<Vec<String>> {
        at_least.iter().map(|it| cell_lines(it, cell_px - 8.0, with_ah)).collect()
    };
    let rows = card.rows.iter().map(|row| (when(row), row.at_least.as_slice()));
    let plain = (!card.plain_rule.is_empty())
        .then(|| (vec!["plain rule".to_owned()], card.plain_rule.as_slice()));
    rows.chain(plain)
        .map(|(name, at_least)| RowText {
            name: name.iter().map(|line| fit(line, BODY, WHEN - 6.0)).collect(),
            cells: cells(at_least),
        })
        .collect()
}

/// A threshold in as few lines as its column has room for.
fn cell_lines(threshold: &Threshold, room_px: f64, with_ah: bool) -> Vec<String> {
    let meters = meters_of(threshold);
    let kept = meters.into_iter().filter(|it| with_ah || !it.ends_with("Ah"));
    let mut lines = vec![percent_of(threshold)];
    for part in kept {
        let Some(last) = lines.last_mut() else { break };
        let tried = format!("{last}, {part}");
        if width_px(&tried, BODY) <= room_px { *last = tried } else { lines.push(part) }
    }
    lines
}

/// Draws the table from `y` on and gives the height below it, px.
#[allow(clippy::cast_precision_loss)]
fn table(
    canvas: &mut Canvas,
    card: &OperatingCard,
    rows: &[RowText],
    (y, cell): (f64, f64),
) -> f64 {
    let (left, right) = (RIM, WIDTH - RIM);
    let level = |canvas: &mut Canvas, y: f64, pen: Pen| canvas.line(&[(left, y), (right, y)], pen);
    let ends = |place: usize| left + WHEN + cell * (place + 1) as f64;
    let mut y = y;
    level(canvas, y, STRONG);
    y += LINE;
    canvas.text(left, y, "Charge at or above", BODY);
    let above = card.tiers.split_last().map_or(&[][..], |(_, above)| above);
    for (place, tier) in above.iter().enumerate() {
        let name = fit(&clean(&tier.name), BODY.strong(), cell - 8.0);
        canvas.text(ends(place), y, &name, BODY.strong().at(Anchor::End));
    }
    y += 6.0;
    level(canvas, y, STRONG);
    for (number, row) in rows.iter().enumerate() {
        let last = number + 1 == rows.len();
        if last && !card.plain_rule.is_empty() {
            level(canvas, y, STRONG);
            let height = row.lines() as f64 * LINE + 4.0;
            canvas.rect(Rect::new(left, y + 0.6, right, y + height), HAIR);
        }
        let top = y;
        for (line, words) in row.name.iter().enumerate() {
            canvas.text(left, top + LINE * (line + 1) as f64 - 2.0, words, BODY);
        }
        for (place, lines) in row.cells.iter().enumerate() {
            for (line, words) in lines.iter().enumerate() {
                let at = (ends(place), top + LINE * (line + 1) as f64 - 2.0);
                canvas.text(at.0, at.1, words, BODY.at(Anchor::End));
            }
        }
        y += row.lines() as f64 * LINE + 4.0;
        level(canvas, y, if last { STRONG } else { THIN });
    }
    y
}

/// Rows to write in, from `y` to the end of the page.
fn blanks(canvas: &mut Canvas, y: f64) {
    let columns =
        [("Date, time", 0.0), ("Charge read", 0.27), ("Tier set", 0.50), ("Initials", 0.84)];
    let end = HEIGHT - RIM;
    let mut bottom = y + BLANK;
    for (name, from) in columns {
        canvas.text(RIM + ROOM * from + 4.0, y + LINE - 2.0, name, BODY);
    }
    let mut levels = vec![y, bottom];
    while bottom + BLANK <= end {
        bottom += BLANK;
        levels.push(bottom);
    }
    for at in levels {
        canvas.line(&[(RIM, at), (WIDTH - RIM, at)], STRONG);
    }
    for from in columns.iter().map(|(_, from)| *from).chain([1.0]) {
        let x = RIM + ROOM * from;
        canvas.line(&[(x, y), (x, bottom)], STRONG);
    }
}

/// The page for the printer: nothing is loaded from anywhere.
#[must_use]
pub fn html(picture: &Picture) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{}</title>\n<style>\n\
         @page {{ size: 148mm 210mm; margin: 0; }}\n\
         html, body {{ margin: 0; padding: 0; background: #fff; }}\n\
         svg {{ display: block; width: 148mm; height: 209.5mm; }}\n\
         @media screen {{ svg {{ margin: 1rem auto; outline: 1px solid #9aa3ac; }} }}\n\
         </style>\n</head>\n<body>\n{}\n</body>\n</html>\n",
        picture.title.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;"),
        picture.svg.trim_end(),
    )
}
