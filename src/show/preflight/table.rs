//! Findings by item, with found, limit and margin; what needs mending first, in sentences; then notes,
//! what is always on by its energy, and what the limits rest on.

use crate::decide::preflight::{Counts, Finding, Severity, Subject};
use crate::show::tables::{Side, Table};
use crate::show::text::{clean, lines};
use crate::show::words::{percent, trimmed};

/// Columns of a line.
const WIDTH: usize = 80;

/// A value with its unit: `2.4 %`, `36 A`, `11.84 V`. What is not nothing is never written as 0.
#[must_use]
pub fn amount(value: f64, unit: &str) -> String {
    let places = match unit {
        "share" if value.abs() < 5e-4 && value.abs() >= LEAST_SHOWN => {
            return format!("{} %", shown(100.0 * value, 2));
        }
        "share" => return percent(value),
        "V" | "m" => 2,
        "A" | "deg C" => usize::from(value.abs() < 99.95),
        "Wh" | "W" => usize::from(value.abs() < 9.95),
        _ => 0,
    };
    format!("{} {unit}", shown(value, places))
}

/// A number with so many places, or with as many more as it takes to show a digit.
fn shown(value: f64, places: usize) -> String {
    let said = |places: usize| trimmed(value, places);
    let tells = |places: &usize| value.abs() < LEAST_SHOWN || said(*places) != "0";
    said((places..=MOST_PLACES).find(tells).unwrap_or(places))
}

/// Places with which anything that counts shows a digit.
const MOST_PLACES: usize = 6;
/// What is smaller is nothing.
const LEAST_SHOWN: f64 = 1e-6;

/// What was examined and what not, and what came of it: four counts, never a judgement of the whole.
#[must_use]
pub fn first_sentence(findings: &[Finding]) -> String {
    let Counts { examined, not_stated, caution, serious, .. } = Counts::of(findings);
    let points = if examined == 1 { "point" } else { "points" };
    let cautions = if caution == 1 { "caution" } else { "cautions" };
    format!(
        "{examined} {points} examined, {not_stated} not stated, {caution} {cautions}, {serious} serious"
    )
}

/// The whole text under the first sentence: what needs mending, the table, notes, what is always on, what was not
/// examined, what the limits rest on.
#[must_use]
pub fn preflight_text(findings: &[Finding]) -> String {
    let mut text = String::new();
    for severity in [Severity::Serious, Severity::Caution] {
        for finding in findings.iter().filter(|it| it.severity == severity) {
            text += &format!("{}\n\n", to_mend(finding));
        }
    }
    text += &finding_table(findings).to_string();
    for finding in notes(findings) {
        text += &format!("\n{}\n", to_mend(finding));
    }
    if let Some(ranked) = always_on_table(findings) {
        text += &format!("\n{ranked}");
    }
    let unstated: Vec<&Finding> = unstated(findings).collect();
    if !unstated.is_empty() {
        text.push('\n');
        for finding in unstated {
            text += &format!("{}\n", folded(&finding.sentence, 0, 2));
        }
    }
    let bases = bases(findings);
    if !bases.is_empty() {
        text += "\nWhat the limits rest on\n";
        for (basis, measured) in bases {
            text += &format!("{}\n", folded(&format!("{measured}: {basis}."), 2, 4));
        }
    }
    text
}

/// Notes about something that was measured, but for what is always on.
pub fn notes(findings: &[Finding]) -> impl Iterator<Item = &Finding> {
    findings.iter().filter(|it| {
        it.severity == Severity::Note && it.value.is_some() && it.subject != Subject::AlwaysOn
    })
}

/// What was not stated and so not examined.
pub fn unstated(findings: &[Finding]) -> impl Iterator<Item = &Finding> {
    findings.iter().filter(|it| it.is_unstated())
}

/// What is always on, the most energy a day first; `None` when nothing is.
#[must_use]
pub fn always_on_table(findings: &[Finding]) -> Option<Table> {
    let mut table =
        Table::new(&[("Always on, by its energy a day", Side::Left), ("", Side::Right)]);
    let ranked = findings.iter().filter(|it| it.subject == Subject::AlwaysOn);
    let mut any = false;
    for (at, finding) in ranked.enumerate() {
        any = true;
        let day = finding.value.map_or(String::new(), |value| amount(value, finding.unit));
        table.row(&[format!("  {}. {}", at + 1, clean(&finding.item)), day]);
    }
    any.then_some(table)
}

/// Each basis once, with what was measured by it, in the order of the findings.
#[must_use]
pub fn bases(findings: &[Finding]) -> Vec<(&'static str, String)> {
    let mut found: Vec<(&'static str, Vec<&str>)> = Vec::new();
    for finding in findings.iter().filter(|it| it.value.is_some() && !it.basis.is_empty()) {
        let what = finding.what.as_str();
        match found.iter_mut().find(|(basis, _)| *basis == finding.basis) {
            Some((_, measured)) if measured.contains(&what) => {}
            Some((_, measured)) => measured.push(what),
            None => found.push((finding.basis, vec![what])),
        }
    }
    found.into_iter().map(|(basis, measured)| (basis, measured.join("; "))).collect()
}

/// One finding that needs mending, in sentences.
pub(super) fn to_mend(finding: &Finding) -> String {
    let mut text = folded(
        &format!("{}: {}, {}", word(finding.severity), clean(&finding.item), finding.what),
        0,
        2,
    );
    text += &format!("\n{}", folded(&finding.sentence, 2, 2));
    if let Some(mend) = &finding.mend {
        text += &format!("\n{}", folded(&format!("To mend it: {mend}"), 2, 2));
    }
    if !finding.basis.is_empty() {
        text += &format!("\n{}", folded(&format!("Basis: {}.", finding.basis), 2, 2));
    }
    text
}

pub(super) fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Serious => "serious",
        Severity::Caution => "caution",
        Severity::Note => "note",
        Severity::Fine => "",
    }
}

/// What was measured, by item, with its limit and the room that is left.
#[must_use]
pub fn finding_table(findings: &[Finding]) -> Table {
    let mut table = Table::new(&[
        ("Item", Side::Left),
        ("found", Side::Right),
        ("limit", Side::Right),
        ("margin", Side::Right),
        ("", Side::Left),
    ]);
    let mut items: Vec<&str> = Vec::new();
    let measured =
        || findings.iter().filter(|it| it.value.is_some() && it.subject != Subject::AlwaysOn);
    for finding in measured() {
        if !items.contains(&finding.item.as_str()) {
            items.push(&finding.item);
        }
    }
    for item in items {
        table.row(&[item]);
        for finding in measured().filter(|it| it.item == item) {
            let with_unit = |value: Option<f64>| {
                value.map_or(String::new(), |value| amount(value, finding.unit))
            };
            table.row(&[
                format!("  {}", finding.what),
                with_unit(finding.value),
                with_unit(finding.limit),
                with_unit(finding.margin),
                word(finding.severity).to_owned(),
            ]);
        }
    }
    table
}

/// A text in lines of at most 80 columns, set in by `first` and then by `rest`.
pub(super) fn folded(text: &str, first: usize, rest: usize) -> String {
    lines(&clean(text), WIDTH, (first, rest)).join("\n")
}
