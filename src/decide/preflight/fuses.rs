//! Fuses against wire, load, place, short circuit and volts.

use super::finding::{About, Finding, Severity, Subject, num};
use super::ground::Ground;
use super::leads::{LeadFacts, Role};
use super::missing::Missing;
use crate::scenario::loads::Fuse;
use crate::station::ampacity::{INSULATION_C, allowable_a};
use crate::station::fuse::{
    BLADE_INTERRUPT_A, CONTINUOUS, LOW_V, MOST_OF_AMPACITY, NEAR_M, NEAR_SHEATHED_M, least_rating_a,
};

const WIRE: &str = "33 CFR 183.455: at most 150 % of the ampacity below 50 V; NEC 240.4";
pub(super) const LOAD: &str = "NEC 210.20 and 215.3: 125 % of what flows for hours";
const PLACE: &str = "33 CFR 183.455: 7 inches, 40 inches in a sheath or box";
pub(super) const INTERRUPT: &str =
    "33 CFR 183.455, UL 248: a fuse breaks what can flow into a short circuit";
const VOLTS: &str =
    "33 CFR 183.455, NEC 110.3: direct volts at or above the highest of the circuit";

pub(super) fn fuses(
    ground: &Ground<'_>,
    lead: &LeadFacts<'_>,
    missing: &mut Missing,
    found: &mut Vec<Finding>,
) {
    let item = &lead.about.item;
    let Some(fuse) = lead.fuse else { return }; // See `unfused`.
    against_wire(lead, fuse, missing, found);
    if lead.role == Role::Panels {
        return; // The rest by what the panels push: see `array_lead`.
    }
    against_load(lead, fuse, found);
    place(lead, fuse, missing, found);
    interrupt(ground, lead, fuse, missing, found);
    match fuse.rated_v {
        Some(rated_v) => {
            let sentence = format!(
                "The fuse is made for {} V of direct current; up to {} V stand here.",
                num(rated_v, 0),
                num(ground.highest_v, 1)
            );
            let finding =
                Finding::new(Subject::FuseVolts, &lead.about, "fuse volts", sentence, VOLTS)
                    .value(rated_v, "V")
                    .at_least(ground.highest_v);
            let mend = "A fuse marked for direct current at the highest volts of the circuit.";
            let over = finding.misses();
            found.push(finding.when(over, Severity::Serious, mend));
        }
        None => missing.note(Subject::FuseVolts, "volts of the fuse (`rated_v`)", item),
    }
}

fn against_wire(
    lead: &LeadFacts<'_>,
    fuse: &Fuse,
    missing: &mut Missing,
    found: &mut Vec<Finding>,
) {
    let item = &lead.about.item;
    let Some(wire) = lead.wire else {
        missing.note(Subject::FuseWire, "the wire behind the fuse (`wire`)", item);
        return;
    };
    let assumed_c = wire.insulation_c.unwrap_or(INSULATION_C[0]);
    let allowed_a = allowable_a(wire, assumed_c);
    let judged = allowed_a.filter(|it| wire.insulation_c.is_some() || fuse.rated_a <= *it);
    let Some(allowed_a) = judged else {
        missing.note(Subject::FuseWire, "what the wire carries (`insulation_c`)", item);
        return;
    };
    let sentence = format!(
        "The fuse of {} A protects a wire that carries {} A.",
        num(fuse.rated_a, 1),
        num(allowed_a, 1)
    );
    let finding = Finding::new(Subject::FuseWire, &lead.about, "fuse against wire", sentence, WIRE)
        .value(fuse.rated_a, "A")
        .at_most(allowed_a);
    let mend = "A smaller fuse, or a thicker wire; never a larger fuse against blowing.";
    let over = finding.misses();
    let far = lead.highest_v > LOW_V || fuse.rated_a > MOST_OF_AMPACITY * allowed_a;
    found.push(finding.when(over && far, Severity::Serious, mend).when(
        over,
        Severity::Caution,
        mend,
    ));
}

fn against_load(lead: &LeadFacts<'_>, fuse: &Fuse, found: &mut Vec<Finding>) {
    let least_a = least_rating_a(lead.rms_a);
    let wanted_a = least_a.max(lead.peak_a);
    let sentence = format!(
        "The fuse of {} A carries {} A at the peak and {} A in the root mean square, of which it wants \
         {} times.",
        num(fuse.rated_a, 1),
        num(lead.peak_a, 1),
        num(lead.rms_a, 1),
        num(CONTINUOUS, 2)
    );
    let finding = Finding::new(Subject::FuseLoad, &lead.about, "fuse against load", sentence, LOAD)
        .value(fuse.rated_a, "A")
        .at_least(wanted_a);
    let opens = fuse.rated_a < lead.peak_a;
    let mend = "Less load at a time on this lead, or a wire that bears a larger fuse and then that fuse; \
                never a larger fuse alone.";
    let over = finding.misses();
    found.push(finding.when(over && opens, Severity::Serious, mend).when(
        over,
        Severity::Caution,
        mend,
    ));
}

fn place(lead: &LeadFacts<'_>, fuse: &Fuse, missing: &mut Missing, found: &mut Vec<Finding>) {
    let Some(away_m) = fuse.from_source_m else {
        missing.note(Subject::FusePlace, "place of the fuse (`from_source_m`)", &lead.about.item);
        return;
    };
    let (limit_m, how) = if fuse.sheathed {
        (NEAR_SHEATHED_M, "in a sheath or box")
    } else {
        (NEAR_M, "of bare lead")
    };
    let from = match lead.role {
        Role::Radio | Role::Other => "the end of the main feed",
        _ => "the battery",
    };
    let sentence = format!(
        "The fuse is {} m from {from}; {} m {how} are allowed: what lies before it is not protected.",
        num(away_m, 2),
        num(limit_m, 2)
    );
    let finding =
        Finding::new(Subject::FusePlace, &lead.about, "fuse from source", sentence, PLACE)
            .value(away_m, "m")
            .at_most(limit_m);
    let mend = "Move the fuse to the beginning of the lead.";
    let over = finding.misses();
    found.push(finding.when(over && away_m > NEAR_SHEATHED_M, Severity::Serious, mend).when(
        over,
        Severity::Caution,
        mend,
    ));
}

fn interrupt(
    ground: &Ground<'_>,
    lead: &LeadFacts<'_>,
    fuse: &Fuse,
    missing: &mut Missing,
    found: &mut Vec<Finding>,
) {
    let Some(short) = ground.short_circuit() else {
        let lacks = "what an ideal battery gives into a short circuit";
        missing.note(Subject::FuseInterrupt, lacks, &lead.about.item);
        return;
    };
    let into_a = |ohm: f64| ground.fault_a(ohm, lead.before_ohm);
    let short_a = into_a(short.ohm);
    let said = if short.stated { num(short_a, 0) } else { format!("some {}", rough(short_a)) };
    let Some(interrupt_a) = fuse.interrupt_a else {
        missing.note(
            Subject::FuseInterrupt,
            "what the fuse breaks (`interrupt_a`)",
            &format!("{} ({said} A into a short circuit)", lead.about.item),
        );
        return;
    };
    let breaks = num(interrupt_a, 0);
    let sentence = if short.stated {
        format!(
            "{said} A can flow into a short circuit behind the fuse, at the highest charging volts through \
             cold copper; the fuse breaks {breaks} A."
        )
    } else {
        format!(
            "About {} A can flow into a short circuit behind the fuse, perhaps more: an estimate at the \
             highest charging volts through cold copper, for the battery's datasheet value (`short_circuit_a`) is not stated. The fuse breaks {breaks} A.",
            rough(short_a)
        )
    };
    let basis = if short.stated { INTERRUPT } else { short.basis };
    let finding = Finding::new(Subject::FuseInterrupt, &lead.about, "fuse breaks", sentence, basis)
        .value(interrupt_a, "A")
        .at_least(short_a);
    let mend = if interrupt_a <= BLADE_INTERRUPT_A {
        "A fuse that breaks more, such as class T, in place of a blade fuse."
    } else {
        "A fuse that breaks more, or one with a longer lead before it that is protected already."
    };
    let stated = if short.stated { "" } else { " State `short_circuit_a` from the datasheet." };
    let mend = format!("{mend}{stated}");
    let over = finding.misses();
    // What even a weak battery of its kind passes is beyond doubt; the rest depends on the estimate.
    let surely = over && interrupt_a < into_a(short.weak_ohm);
    found.push(finding.when(surely, Severity::Serious, &mend).when(over, Severity::Caution, &mend));
}

/// What flows into a short circuit where the datasheet's value is not stated: told once.
pub(super) fn short_circuit(
    ground: &Ground<'_>,
    leads: &[LeadFacts<'_>],
    found: &mut Vec<Finding>,
) {
    let fused = leads.iter().any(|it| it.role != Role::Panels && it.fuse.is_some());
    let Some(short) = ground.short_circuit().filter(|it| fused && !it.stated) else { return };
    let into_a = |ohm: f64| ground.fault_a(ohm, 0.0);
    let sentence = format!(
        "`short_circuit_a` of the battery is not stated: {} to {} A are usual for its kind and size, and \
         fuses are judged by the higher figure. Yours may give more: its datasheet says.",
        rough(into_a(short.weak_ohm)),
        rough(into_a(short.ohm))
    );
    let about = About::new("battery", "battery");
    found.push(
        Finding::new(Subject::FuseInterrupt, &about, "short circuit, usual", sentence, short.basis)
            .value(into_a(short.ohm), "A")
            .severity(Severity::Note),
    );
}

/// An estimate with two digits that count.
fn rough(value: f64) -> String {
    let step = libm::pow(10.0, libm::floor(libm::log10(value.max(1.0))) - 1.0);
    num((value / step).round() * step, 0)
}
