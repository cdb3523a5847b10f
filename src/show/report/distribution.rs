//! Distribution findings: wires, fuses, outlet groups, supply and windows, item by item.

use super::super::preflight::{finding_table, first_sentence};
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
    let unstated =
        it.findings.iter().filter(|it| it.severity == Severity::Note && it.value.is_none());
    let unstated: Vec<Point> = unstated.map(|it| Point::plain(clean(&it.sentence))).collect();
    if !unstated.is_empty() {
        section.heading("Not examined");
        section.points(unstated);
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
