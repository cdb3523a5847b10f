//! The verdict: a sentence, how sure it is, and what it depends on.

use super::super::cautions::words as caution_words;
use super::super::odds::first_sentence;
use super::super::odds::sentence::{Words, exact_percent};
use super::super::preflight::first_sentence as preflight_sentence;
use super::super::sentence;
use super::independence::{alone_sentence, first_to_fail};
use super::material::Material;
use super::section::{Block, Point, Section};
use crate::decide::cautions::cautions as chosen;
use crate::scenario::basis::Basis;

/// Tells the section.
#[must_use]
pub fn verdict(it: &Material) -> Section {
    let odds = it.trials.odds;
    let words = Words::of(odds.occasion);
    let mut section = Section::new("verdict", "Verdict");
    section.push(Block::Lead(first_sentence(odds)));
    let mut points = Vec::new();
    if odds.load_wh > 0.0 && odds.trials > 0 {
        let least = exact_percent(odds.on_air_lower_95_one_sided);
        let known = if odds.as_stated.is_some() {
            "The inputs that the scenario calls uncertain are drawn too."
        } else {
            "How well your numbers are known is not in this figure."
        };
        points.push(Point::new(
            "How sure.",
            format!(
                "With 95 % confidence, the station survives at least {least} of all such {}. {known}",
                words.many
            ),
        ));
    }
    let run = sentence::first_sentence(it.ledger, it.summary);
    points.push(Point::new("Hour by hour, without chance.", format!("{run}.")));
    if let Some(first) = first_to_fail(it) {
        points.push(Point::new("What fails first.", first));
    }
    if let Some(alone) = it.alone {
        points.push(Point::new("The battery alone:", alone_sentence(it, alone)));
    }
    if let Ok(found) = it.without {
        points.push(Point::new("What it depends on most.", found.sentence.as_str()));
    }
    if let Ok(found) = it.sizing {
        points.push(Point::new("What it would take, on few trials.", found.sentence.as_str()));
    }
    points.push(Point::new(
        "Wires, fuses and parts.",
        format!("{}.", preflight_sentence(it.findings)),
    ));
    let guesses = it.stated.iter().filter(|stated| stated.basis == Basis::Guess).count();
    let rests = match guesses {
        0 => {
            "No number is marked as a guess; numbers without a stated basis are no better than one."
                .to_owned()
        }
        1 => "One number is a guess; measure it first.".to_owned(),
        n => format!("{n} numbers are guesses; measure them first."),
    };
    points.push(Point::new("What it rests on.", rests));
    let cautions: Vec<&str> =
        chosen(it.scenario).into_iter().map(|it| caution_words(it).line).collect();
    points.push(Point::new("Cautions.", cautions.join(" ")));
    section.points(points);
    section
}
