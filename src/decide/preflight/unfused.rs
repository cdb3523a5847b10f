//! Leads without a fuse: somebody has said that there is none, or nobody has said anything.
//!
//! A lead that begins at the battery is fed by all that the battery gives: none there, or nobody knows, is
//! serious. Any other lead is protected by the fuse before it where it bears that one; else it is a caution.
//! Packs side by side feed each other: each wants a fuse. Panels: see `array_lead`.

use super::finding::{About, Finding, Severity, Subject, num};
use super::fuses::INTERRUPT;
use super::ground::Ground;
use super::leads::{LeadFacts, Role};
use super::missing::Missing;
use crate::scenario::battery::Battery;
use crate::scenario::loads::{Fuse, Fused};
use crate::station::ampacity::allowable_a;
use crate::station::battery::register;

const AT_BATTERY: &str =
    "33 CFR 183.455: a fuse within 7 inches of the battery, 40 inches in a sheath or box";
const BEFORE: &str = "33 CFR 183.455, NEC 240.4 and 240.21, from memory: a fuse protects what lies behind it \
                      as far as that bears its rating";
const PACKS: &str = "common practice, no source: a fuse in each of several packs side by side";
const VOLTS: &str =
    "33 CFR 183.455, NEC 110.3: direct volts at or above the highest of the circuit";

const PUT_ONE: &str = "A fuse within 7 inches (17 cm) of the battery, 40 inches (1 m) where the lead before it \
                       lies in a sheath or box. It breaks what the battery gives into a short circuit and \
                       protects the thinnest wire behind it. Work for a competent person.";

/// A lead of which no fuse is stated.
pub(super) fn unfused(
    ground: &Ground<'_>,
    lead: &LeadFacts<'_>,
    leads: &[LeadFacts<'_>],
    found: &mut Vec<Finding>,
) {
    if lead.fuse.is_some() || lead.role == Role::Panels {
        return;
    }
    let none = lead.said.is_some();
    let what = if none { "no fuse" } else { "fuse not stated" };
    if lead.from_battery {
        let (sentence, mend) = if none {
            let sentence = "There is no fuse at the battery: a short circuit in this lead is fed by all that \
                            the battery gives, until something burns.";
            (sentence, PUT_ONE)
        } else {
            let sentence = "Nobody has said whether there is a fuse within 7 inches (17 cm) of the battery: \
                            look, then write it down.";
            (sentence, "State the `fuse` of this lead, or `\"none\"`.")
        };
        let finding = Finding::new(Subject::Fused, &lead.about, what, sentence, AT_BATTERY);
        found.push(finding.when(true, Severity::Serious, mend));
        return;
    }
    if let Some(finding) = protected(ground, lead, leads) {
        found.push(finding);
        return;
    }
    let sentence = if none {
        "There is no fuse at the beginning of this lead, and nothing stated shows that the fuse before it \
         protects it."
    } else {
        "Nobody has said whether there is a fuse at the beginning of this lead, and nothing stated shows that \
         the fuse before it protects it: look, then write it down."
    };
    let mend = "State the `fuse` of this lead, or `\"none\"`; or the wire with its `insulation_c`, where it \
                bears the fuse before it.";
    let finding = Finding::new(Subject::Fused, &lead.about, what, sentence, BEFORE);
    found.push(finding.when(true, Severity::Caution, mend));
}

/// A group's lead that bears the fuse of the main feed.
fn protected(
    ground: &Ground<'_>,
    lead: &LeadFacts<'_>,
    leads: &[LeadFacts<'_>],
) -> Option<Finding> {
    lead.group?;
    let before = leads.iter().find(|it| it.role == Role::Main)?.fuse?;
    // A supply that takes the group over pushes into it past the fuse of the feed.
    let supply = ground.scenario.supply.as_ref();
    let group = ground.scenario.outlet_groups.get_index(lead.group?)?.1;
    let pushed_a = supply.filter(|_| group.on_supply).map_or(0.0, |it| it.limit_a);
    let most_a = before.rated_a.max(pushed_a);
    let wire = lead.wire?;
    let allowed_a = allowable_a(wire, wire.insulation_c?)?;
    if most_a > allowed_a {
        return None;
    }
    let sentence = format!(
        "The fuse of the main feed protects this lead too: {} A are the most that flow for long, and its \
         wire carries {} A.",
        num(most_a, 1),
        num(allowed_a, 1)
    );
    let finding = Finding::new(Subject::Fused, &lead.about, "fuse before it", sentence, BEFORE);
    Some(finding.value(most_a, "A").at_most(allowed_a))
}

/// Packs side by side and the fuse of each.
pub(super) fn packs(ground: &Ground<'_>, missing: &mut Missing, found: &mut Vec<Finding>) {
    let plain = register::as_strings(&ground.scenario.battery);
    let (typed, strings) = match (&ground.scenario.battery, &plain) {
        (Battery::LithiumIronPhosphate(typed), Battery::LithiumIronPhosphate(it)) => {
            (typed.pack_fuse.as_ref(), it.strings.max(count(typed.packs.len())))
        }
        (Battery::LeadAcid(typed), Battery::LeadAcid(it)) => {
            (typed.pack_fuse.as_ref(), it.strings.max(count(typed.packs.len())))
        }
        _ => return,
    };
    if strings < 2 {
        return;
    }
    let about = About::new("packs", "battery");
    let Some(fuse) = typed.and_then(Fused::fuse) else {
        let (what, sentence, mend) = if typed.is_some() {
            let sentence = format!(
                "{strings} packs stand side by side without a fuse of their own: into one that fails the \
                 others push all that they have."
            );
            ("no fuse", sentence, "A fuse at every pack. Work for a competent person.")
        } else {
            let sentence = format!(
                "{strings} packs stand side by side, and nobody has said whether there is a fuse at each: \
                 look, then write it down."
            );
            ("fuse not stated", sentence, "State `pack_fuse` of the battery, or `\"none\"`.")
        };
        let finding = Finding::new(Subject::Fused, &about, what, sentence, PACKS);
        found.push(finding.when(true, Severity::Serious, mend));
        return;
    };
    stated(ground, &about, fuse, strings, missing, found);
}

fn count(packs: usize) -> u32 {
    u32::try_from(packs).unwrap_or(u32::MAX)
}

/// The fuse of each pack against what the others push through it, its volts and its share of the load.
fn stated(
    ground: &Ground<'_>,
    about: &About,
    fuse: &Fuse,
    strings: u32,
    missing: &mut Missing,
    found: &mut Vec<Finding>,
) {
    let side_by_side = f64::from(strings);
    let Some(short) = ground.short_circuit() else { return };
    let all_a = ground.fault_a(short.ohm, 0.0);
    // Into a fault outside a pack pushes itself; into a pack that fails, all the others.
    let through_a = all_a * (side_by_side - 1.0).max(1.0) / side_by_side;
    match fuse.interrupt_a {
        Some(interrupt_a) => {
            let sentence = format!(
                "Into a pack that fails the others push about {} A through its fuse, which breaks {} A.",
                num(through_a, 0),
                num(interrupt_a, 0)
            );
            let basis = if short.stated { INTERRUPT } else { short.basis };
            let finding =
                Finding::new(Subject::FuseInterrupt, about, "fuse breaks", sentence, basis)
                    .value(interrupt_a, "A")
                    .at_least(through_a);
            let over = finding.misses();
            let weak_a = through_a * short.ohm / short.weak_ohm;
            let mend = "At every pack a fuse that breaks more, such as class T.";
            found.push(finding.when(over && interrupt_a < weak_a, Severity::Serious, mend).when(
                over,
                Severity::Caution,
                mend,
            ));
        }
        None => {
            let lacks = "what the fuse breaks (`interrupt_a`)";
            missing.note(Subject::FuseInterrupt, lacks, &about.item);
        }
    }
    match fuse.rated_v {
        Some(rated_v) => {
            let sentence = format!(
                "The fuse of a pack is made for {} V of direct current; up to {} V stand here.",
                num(rated_v, 0),
                num(ground.highest_v, 1)
            );
            let finding = Finding::new(Subject::FuseVolts, about, "fuse volts", sentence, VOLTS)
                .value(rated_v, "V")
                .at_least(ground.highest_v);
            let over = finding.misses();
            let mend = "A fuse marked for direct current at the highest volts of the circuit.";
            found.push(finding.when(over, Severity::Serious, mend));
        }
        None => missing.note(Subject::FuseVolts, "volts of the fuse (`rated_v`)", &about.item),
    }
}
