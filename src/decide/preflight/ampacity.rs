//! Wires against the current that they carry.

use super::finding::{Finding, Severity, Subject, num};
use super::leads::{LeadFacts, Role};
use super::missing::Missing;
use crate::station::ampacity::{INSULATION_C, air_c, allowable_a};

const TABLE: &str =
    "33 CFR 183.425 table 5; air by NEC 310.15(B) and bundles by 310.15(C)(1), from memory";

pub(super) fn ampacity(lead: &LeadFacts<'_>, missing: &mut Missing, found: &mut Vec<Finding>) {
    let Some(wire) = lead.wire else { return };
    let current_a = match lead.role {
        Role::Panels => return, // By their short-circuit current: see `panels`.
        _ => lead.peak_a,
    };
    let item = &lead.about.item;
    let assumed_c = wire.insulation_c.unwrap_or(INSULATION_C[0]);
    let Some(allowed_a) = allowable_a(wire, assumed_c) else {
        missing.note(Subject::Ampacity, "a gauge of the table, 18 AWG or thicker", item);
        return;
    };
    if wire.insulation_c.is_none() && current_a > allowed_a {
        missing.note(Subject::Ampacity, "temperature of the insulation (`insulation_c`)", item);
        return;
    }
    let bundle = match wire.bundled {
        Some(count) if count > 3 => format!(" with {count} conductors side by side"),
        _ => String::new(),
    };
    let insulation = match wire.insulation_c {
        Some(insulation_c) => format!("insulation for {} deg C", num(insulation_c, 0)),
        None => "any insulation".to_owned(),
    };
    let sentence = format!(
        "The wire carries {} A at the peak, {} A in the root mean square; {} A are allowed with \
         {insulation} in air of {} deg C{bundle}.",
        num(current_a, 1),
        num(lead.rms_a, 1),
        num(allowed_a, 0),
        num(air_c(wire), 0)
    );
    let what = if bundle.is_empty() { "wire carries" } else { "wire carries, bundled" };
    let finding = Finding::new(Subject::Ampacity, &lead.about, what, sentence, TABLE)
        .value(current_a, "A")
        .at_most(allowed_a);
    let mend = "Thicker copper, insulation for more heat, or fewer conductors in the bundle.";
    let over = finding.misses();
    found.push(finding.when(over && lead.rms_a > allowed_a, Severity::Serious, mend).when(
        over,
        Severity::Caution,
        mend,
    ));
}
