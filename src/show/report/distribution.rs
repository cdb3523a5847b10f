//! Distribution findings: wires, fuses, outlet groups, supply and windows, item by item.

use super::super::preflight::{
    always_on_table, bases, finding_table, first_sentence, notes, unstated,
};
use super::super::text::clean;
use super::material::Material;
use super::section::{Point, Section};
use crate::decide::preflight::{Finding, Severity};

/// Tells the section.
#[must_use]
pub fn distribution(it: &Material) -> Section {
    let mut section = Section::new("distribution", "Distribution findings");
    section.prose(format!("{}.", first_sentence(it.findings)));
    let mending = [(Severity::Serious, "Serious"), (Severity::Caution, "Caution")];
    let points = mending.into_iter().flat_map(|(severity, word)| {
        let of = it.findings.iter().filter(move |finding| finding.severity == severity);
        of.map(move |finding| to_mend(word, finding))
    });
    section.points(points.collect());
    section.table(
        "What was found, with its limit and the room that is left",
        finding_table(it.findings),
    );
    section.points(notes(it.findings).map(|finding| to_mend("Note", finding)).collect());
    if let Some(ranked) = always_on_table(it.findings) {
        section.table("What is always on, the most energy a day first", ranked);
    }
    let unstated: Vec<Point> =
        unstated(it.findings).map(|it| Point::plain(clean(&it.sentence))).collect();
    if !unstated.is_empty() {
        section.heading("Not examined");
        section.points(unstated);
    }
    let bases: Vec<Point> = bases(it.findings)
        .into_iter()
        .map(|(basis, measured)| Point::new(format!("{}:", clean(&measured)), format!("{basis}.")))
        .collect();
    if !bases.is_empty() {
        section.heading("What the limits rest on");
        section.points(bases);
    }
    section
}

/// One finding that needs mending, in sentences.
fn to_mend(word: &str, finding: &Finding) -> Point {
    let mut text = clean(&finding.sentence);
    if let Some(mend) = &finding.mend {
        text += &format!(" To mend it: {}", clean(mend));
    }
    if !finding.basis.is_empty() {
        text += &format!(" Basis: {}.", finding.basis);
    }
    Point::new(format!("{word}: {}, {}.", clean(&finding.item), finding.what), text)
}
