//! Leads without a fuse: somebody has said that there is none, or nobody has said anything.
//!
//! A lead that begins at the battery is fed by all that the battery gives: none there, or nobody knows, is
//! serious. Any other lead is protected by the fuse before it where it bears that one; else it is a caution.
//! Packs side by side feed each other: each wants a fuse. Panels: see `array_lead`.

use super::finding::{About, Finding, Severity, Subject, num};
use super::fuses::{INTERRUPT, LOAD};
use super::ground::{Ground, Keyed};
use super::leads::{LeadFacts, Role};
use super::missing::Missing;
use crate::scenario::battery::Battery;
use crate::scenario::loads::{Fuse, Fused, Wire};
use crate::scenario::sources::Joins;
use crate::station::ampacity::allowable_a;
use crate::station::battery::register;
use crate::station::fuse::{MOST_OF_AMPACITY, least_rating_a};

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

/// Packs side by side, what is said of them, and what each carries.
pub(super) struct Packs<'a> {
    fuse: Option<&'a Fused>,
    pub wire: Option<&'a Wire>,
    strings: u32,
    /// The share of the largest of them.
    peak_a: f64,
    /// The least rating of its fuse, by loads and chargers, A.
    pub least_a: f64,
}

impl Packs<'_> {
    /// What flows through the fuse of a pack, A: into a fault outside it pushes itself; into a pack that
    /// fails, all the others.
    pub fn through_a(&self, ground: &Ground<'_>) -> Option<f64> {
        let side_by_side = f64::from(self.strings);
        let all_a = ground.fault_a(ground.short_circuit()?.ohm, 0.0);
        Some(all_a * (side_by_side - 1.0).max(1.0) / side_by_side)
    }
}

/// The packs, where several are in parallel.
pub(super) fn side_by_side<'a>(ground: &Ground<'a>) -> Option<Packs<'a>> {
    let plain = register::as_strings(&ground.scenario.battery);
    let (fuse, lead, packs, strings) = match (&ground.scenario.battery, &plain) {
        (Battery::LithiumIronPhosphate(typed), Battery::LithiumIronPhosphate(it)) => {
            (&typed.pack_fuse, &typed.pack_lead, &typed.packs, it.strings)
        }
        (Battery::LeadAcid(typed), Battery::LeadAcid(it)) => {
            (&typed.pack_fuse, &typed.pack_lead, &typed.packs, it.strings)
        }
        _ => return None,
    };
    let strings = strings.max(count(packs.len()));
    let total_ah: f64 = packs.values().map(|it| it.rated_ah).sum();
    let largest_ah = packs.values().map(|it| it.rated_ah).fold(0.0, f64::max);
    let share =
        if total_ah > 0.0 { largest_ah / total_ah } else { 1.0 / f64::from(strings.max(1)) };
    let peak_a = share * ground.peak_a(None, Keyed::Every).0;
    let steady_a = share * ground.rms_a(None).max(charging_a(ground));
    let least_a = least_rating_a(steady_a).max(peak_a);
    let wire = lead.as_ref().map(|it| &it.wire);
    (strings >= 2).then_some(Packs { fuse: fuse.as_ref(), wire, strings, peak_a, least_a })
}

/// What all chargers together push at full output, A.
fn charging_a(ground: &Ground<'_>) -> f64 {
    let scenario = ground.scenario;
    let supply_a = scenario.supply.as_ref().map_or(0.0, |it| match &it.charger {
        _ if it.joins == Joins::Bus => it.limit_a,
        Some(charger) => charger.limit_a,
        None => 0.0,
    });
    let panels_a: f64 = scenario.controllers.values().map(|it| it.output_limit_a()).sum();
    panels_a + supply_a + scenario.vehicle.as_ref().map_or(0.0, |it| it.limit_a)
}

/// Packs side by side and the fuse of each.
pub(super) fn packs(ground: &Ground<'_>, missing: &mut Missing, found: &mut Vec<Finding>) {
    let Some(packs) = side_by_side(ground) else { return };
    let strings = packs.strings;
    let about = About::new("packs", "battery");
    let Some(fuse) = packs.fuse.and_then(Fused::fuse) else {
        let (what, sentence, mend) = if packs.fuse.is_some() {
            let sentence = format!(
                "{strings} packs are in parallel without a fuse of their own: into one that fails the \
                 others push all that they have."
            );
            ("no fuse", sentence, "A fuse at every pack. Work for a competent person.")
        } else {
            let sentence = format!(
                "{strings} packs are in parallel, and nobody has said whether there is a fuse at each: \
                 look, then write it down."
            );
            ("fuse not stated", sentence, "State `pack_fuse` of the battery, or `\"none\"`.")
        };
        let finding = Finding::new(Subject::Fused, &about, what, sentence, PACKS);
        found.push(finding.when(true, Severity::Serious, mend));
        return;
    };
    against_load(&about, fuse, &packs, found);
    against_wire(&about, fuse, &packs, found);
    stated(ground, &about, fuse, &packs, missing, found);
}

/// The fuse of a pack against its share of what flows.
fn against_load(about: &About, fuse: &Fuse, packs: &Packs<'_>, found: &mut Vec<Finding>) {
    let sentence = format!(
        "The fuse of a pack is of {} A; the pack's share wants {} A while all of them work.",
        num(fuse.rated_a, 1),
        num(packs.least_a, 1)
    );
    let finding = Finding::new(Subject::FuseLoad, about, "fuse against load", sentence, LOAD)
        .value(fuse.rated_a, "A")
        .at_least(packs.least_a);
    let over = finding.misses();
    let opens = fuse.rated_a < packs.peak_a;
    let mend =
        "Less load or charging at a time, or leads that bear a larger fuse and then that fuse.";
    found.push(finding.when(over && opens, Severity::Serious, mend).when(
        over,
        Severity::Caution,
        mend,
    ));
}

/// The fuse of a pack against the pack's own lead, where that is stated.
fn against_wire(about: &About, fuse: &Fuse, packs: &Packs<'_>, found: &mut Vec<Finding>) {
    let stated = packs.wire.and_then(|wire| Some((wire, wire.insulation_c?)));
    let Some(allowed_a) = stated.and_then(|(wire, it)| allowable_a(wire, it)) else { return };
    let sentence = format!(
        "The fuse of a pack, {} A, protects a lead that carries {} A.",
        num(fuse.rated_a, 1),
        num(allowed_a, 1)
    );
    let finding = Finding::new(Subject::FuseWire, about, "fuse against wire", sentence, BEFORE)
        .value(fuse.rated_a, "A")
        .at_most(allowed_a);
    let over = finding.misses();
    let mend = "A thicker lead to each pack, or a smaller fuse where that carries the load.";
    let far = fuse.rated_a > MOST_OF_AMPACITY * allowed_a;
    found.push(finding.when(over && far, Severity::Serious, mend).when(
        over,
        Severity::Caution,
        mend,
    ));
}

fn count(packs: usize) -> u32 {
    u32::try_from(packs).unwrap_or(u32::MAX)
}

/// The fuse of each pack against what the others push through it, its volts and its share of the load.
fn stated(
    ground: &Ground<'_>,
    about: &About,
    fuse: &Fuse,
    packs: &Packs<'_>,
    missing: &mut Missing,
    found: &mut Vec<Finding>,
) {
    let (Some(short), Some(through_a)) = (ground.short_circuit(), packs.through_a(ground)) else {
        return;
    };
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
