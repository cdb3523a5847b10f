//! A fuse and a wire that would do, where what is there does not: only when every number that they rest on
//! is stated; else the numbers that are missing are named.
//!
//! The fuse carries 1.25 times what flows for hours and the peak; it is no more than the thinnest wire
//! behind it carries where it lies, nor than the devices' makers allow. It breaks what can flow into a short
//! circuit at its place. The wire is the thinnest that bears that fuse and keeps the drop at the peak within
//! its limit. The 150 % that 33 CFR 183.455 allows below 50 V judges what is there; it proposes nothing.

use super::drop::{drop_of, limit_of};
use super::finding::{
    About, Finding, Proposal, ProposedFuse, Severity, Subject, in_a_row, num, percent,
};
use super::ground::Ground;
use super::leads::{LeadFacts, Role};
use crate::scenario::basis::{Basis, BasisOf};
use crate::scenario::loads::{Load, Wire};
use crate::station::ampacity::allowable_a;
use crate::station::fuse::{BLADE_INTERRUPT_A, Size, choose, least_rating_a};
use crate::station::wire::METRIC_MM2;

/// What stands under every proposal.
pub(super) const TO_CHECK: &str = "For a competent person to check. Not examined: holder, terminals, heat in the box. Local code and licensed \
     practice come first. A larger fuse is no cure for one that blows.";

const BASIS: &str = "NEC 210.20 and 215.3: 125 % of what flows for hours; at most the ampacity, 33 CFR 183.425 \
                     table 5 and IEC 60364-4-43, from memory; sizes of ISO 8820-3, IEC 60269 and NEC \
                     240.6(A), from memory";
/// Seven inches, rounded down so that whoever measures stays within them, m.
pub(super) const WITHIN_M: f64 = 0.17;

/// Whether something about a lead waits for another fuse or wire.
pub(super) fn wanted(about: &About, found: &[Finding]) -> bool {
    let about_it = |it: &&Finding| {
        it.item == about.item
            && it.path == about.path
            && it.severity <= Severity::Caution
            && matches!(
                it.subject,
                Subject::Fused
                    | Subject::FuseWire
                    | Subject::FuseLoad
                    | Subject::FusePlace
                    | Subject::FuseInterrupt
                    | Subject::FuseVolts
                    | Subject::StringFuse
                    | Subject::Ampacity
                    | Subject::VoltageDrop
            )
    };
    found.iter().any(|it| about_it(&it))
}

/// Proposes for a lead whose fuse or wire is not as it should be.
pub(super) fn propose(
    ground: &Ground<'_>,
    lead: &LeadFacts<'_>,
    leads: &[LeadFacts<'_>],
    found: &mut Vec<Finding>,
) {
    if lead.role == Role::Panels || !wanted(&lead.about, found) {
        return;
    }
    let about = &lead.about;
    let missing = missing_numbers(ground, lead, leads);
    let (Some(wire), true) = (lead.wire, missing.is_empty()) else {
        found.push(unstated(about, &missing));
        return;
    };
    let least_a = least_rating_a(lead.rms_a).max(lead.peak_a);
    found.push(proposes(about, chosen(ground, lead, leads, wire, least_a), least_a, BASIS));
}

/// The numbers that are missing in place of a proposal.
pub(super) fn unstated(about: &About, missing: &[String]) -> Finding {
    let sentence = format!(
        "Not stated, so no fuse and no wire is proposed for {}: {}.",
        about.item,
        in_a_row(missing)
    );
    let finding = Finding::new(Subject::FuseProposal, about, "not stated", sentence, "");
    finding.severity(Severity::Note)
}

/// What is proposed and its sentence, or the sentence on why nothing fits.
pub(super) fn proposes(
    about: &About,
    chosen: Result<(Proposal, String), String>,
    least_a: f64,
    basis: &'static str,
) -> Finding {
    let finding = match chosen {
        Ok((proposal, sentence)) => {
            let what = if proposal.fuse.is_some() { "proposed fuse" } else { "proposed wire" };
            let finding = Finding::new(Subject::FuseProposal, about, what, sentence, basis);
            let rated_a = proposal.fuse.as_ref().map_or(least_a, |it| it.rated_a);
            let mut finding = finding.value(rated_a, "A");
            finding.proposal = Some(proposal);
            finding
        }
        Err(sentence) => {
            let sentence = format!("{sentence} {TO_CHECK}");
            Finding::new(Subject::FuseProposal, about, "no fuse fits", sentence, basis)
                .value(least_a, "A")
        }
    };
    finding.severity(Severity::Note)
}

/// The fuse and wire, or why none will do.
fn chosen(
    ground: &Ground<'_>,
    lead: &LeadFacts<'_>,
    leads: &[LeadFacts<'_>],
    wire: &Wire,
    least_a: f64,
) -> Result<(Proposal, String), String> {
    let carries = num(least_a, 1);
    let device_a = loads_on(ground, lead)
        .filter_map(|(_, load)| load.max_fuse_a)
        .fold(f64::INFINITY, f64::min);
    let thinnest = unfused_behind(lead, leads)
        .map(|it| (it.wire.map_or(0.0, bears_a), it.about.item.as_str()))
        .min_by(|one, other| one.0.total_cmp(&other.0));
    let behind_a = thinnest.map_or(f64::INFINITY, |it| it.0);
    let Some(size) = choose(least_a, device_a.min(behind_a)) else {
        return Err(match thinnest {
            _ if choose(least_a, device_a).is_none() && device_a.is_finite() => format!(
                "No fuse both carries {carries} A and is as small as the devices' makers ask for, {} A: \
                 fewer devices on this lead first.",
                num(device_a, 1)
            ),
            Some((bears_a, item)) => format!(
                "No fuse both carries {carries} A and protects the lead of {item} behind it, which bears {} \
                 A: a fuse at the beginning of that lead first.",
                num(bears_a, 1)
            ),
            None => format!("No fuse of the tables carries {carries} A: share the load first."),
        });
    };
    let limit = limit_of(ground, lead.role).0;
    let drops = |wire: &Wire| {
        let (drop_v, against_v) = drop_of(ground, &LeadFacts { wire: Some(wire), ..lead.copied() });
        drop_v / against_v
    };
    let within = |wire: &Wire| drops(wire) <= limit * (1.0 + 1e-9);
    let bears = |wire: &Wire| bears_a(wire) >= size.rated_a * (1.0 - 1e-9);
    if bears(wire) && within(wire) {
        let fuse = fuse_of(ground, lead, size);
        let sentence = told(ground, lead, &fuse, "");
        return Ok((Proposal { fuse: Some(fuse), mm2: None }, sentence));
    }
    let why = if bears(wire) {
        format!(
            "The wire loses {} at the peak, of which {} are allowed",
            percent(drops(wire)),
            percent(limit)
        )
    } else {
        format!(
            "No fuse both carries {carries} A and protects this wire, which bears {} A",
            num(bears_a(wire), 1)
        )
    };
    match thinnest_mm2(wire, |it| bears(it) && within(it)) {
        Some(area_mm2) => {
            let fuse = fuse_of(ground, lead, size);
            let first = format!("{why}: {} mm2 first. ", num(area_mm2, 2));
            let sentence = told(ground, lead, &fuse, &first);
            Ok((Proposal { fuse: Some(fuse), mm2: Some(area_mm2) }, sentence))
        }
        None => Err(format!(
            "{why}; no wire up to {} mm2 mends it alone: a shorter way, fewer connectors, a thicker feed \
             before it, or less load at a time first.",
            num(METRIC_MM2[METRIC_MM2.len() - 1], 0)
        )),
    }
}

/// The thinnest copper of the table, laid like a wire, that will do, mm2.
pub(super) fn thinnest_mm2(wire: &Wire, will_do: impl Fn(&Wire) -> bool) -> Option<f64> {
    let of = |area_mm2: f64| Wire { awg: None, mm2: Some(area_mm2), ..wire.clone() };
    METRIC_MM2.into_iter().find(|area_mm2| will_do(&of(*area_mm2)))
}

fn fuse_of(ground: &Ground<'_>, lead: &LeadFacts<'_>, size: Size) -> ProposedFuse {
    let short_a =
        ground.short_circuit().map_or(f64::INFINITY, |it| ground.fault_a(it.ohm, lead.before_ohm));
    ProposedFuse {
        rated_a: size.rated_a,
        series: size.series,
        interrupt_a: short_a.ceil(),
        rated_v: lead.highest_v.ceil(),
        within_m: WITHIN_M,
    }
}

/// A proposal in words, with what has to stand under it.
fn told(ground: &Ground<'_>, lead: &LeadFacts<'_>, it: &ProposedFuse, first: &str) -> String {
    let from = if lead.group.is_some() { "the end of the main feed" } else { "the battery" };
    let silent = loads_on(ground, lead)
        .filter(|(place, load)| load.max_fuse_a.is_none() && ground.is_radio(*place))
        .count();
    let manual = match silent {
        0 => "",
        1 => " The radio's manual decides what fuse may stand before it (`max_fuse_a`).",
        _ => " The radios' manuals decide what fuse may stand before them (`max_fuse_a`).",
    };
    format!(
        "{first}{}, within 7 inches (17 cm) of {from}, 40 inches (1 m) in a sheath or box.{manual} {TO_CHECK}",
        described(it)
    )
}

/// A fuse in words, without its place.
pub(super) fn described(it: &ProposedFuse) -> String {
    let blade =
        if it.interrupt_a > BLADE_INTERRUPT_A { "; ordinary blade fuses break less" } else { "" };
    format!(
        "A fuse of {} A ({}) for direct current of at least {} V that breaks at least {} A{blade}",
        num(it.rated_a, 1),
        it.series,
        num(it.rated_v, 0),
        num(it.interrupt_a, 0),
    )
}

/// What a wire carries where it lies, A; nothing where the table does not have it.
pub(super) fn bears_a(wire: &Wire) -> f64 {
    wire.insulation_c.and_then(|it| allowable_a(wire, it)).unwrap_or(0.0)
}

/// Leads of groups behind the main feed that no fuse of their own protects.
fn unfused_behind<'l, 'a>(
    lead: &LeadFacts<'_>,
    leads: &'l [LeadFacts<'a>],
) -> impl Iterator<Item = &'l LeadFacts<'a>> {
    let main = lead.role == Role::Main;
    leads.iter().filter(move |it| main && it.group.is_some() && it.fuse.is_none())
}

/// The loads whose current flows in a lead, with their places.
fn loads_on<'g>(
    ground: &'g Ground<'_>,
    lead: &'g LeadFacts<'_>,
) -> impl Iterator<Item = (usize, &'g Load)> {
    let scenario = ground.scenario;
    let group = lead.group.and_then(|at| scenario.outlet_groups.get_index(at)).map(|it| it.0);
    let on = move |load: &Load| match lead.role {
        Role::Main => true,
        _ => group == Some(&load.group),
    };
    scenario.loads.values().enumerate().filter(move |(_, load)| on(load))
}

/// The numbers that a proposal rests on and that nobody has stated.
fn missing_numbers(
    ground: &Ground<'_>,
    lead: &LeadFacts<'_>,
    leads: &[LeadFacts<'_>],
) -> Vec<String> {
    let mut lacks = of_wire(lead.wire, "");
    for behind in unfused_behind(lead, leads) {
        lacks.extend(of_wire(behind.wire, &format!(" of {}", behind.about.item)));
    }
    if ground.short_circuit().is_none_or(|it| !it.stated) {
        lacks.push("what the battery gives into a short circuit (`short_circuit_a`)".to_owned());
    }
    if lead.role == Role::Charger {
        let own = guessed_chargers(ground).into_iter().filter(|it| it.0 == lead.about.item);
        lacks.extend(own.map(|(_, key)| format!("its current (`{key}` is a guess)")));
        return lacks;
    }
    lacks.extend(guessed_loads(ground, loads_on(ground, lead)));
    lacks
}

fn guessed(basis: &BasisOf, key: &str) -> bool {
    basis.get(key) == Some(&Basis::Guess)
}

/// What charges with a current that is a guess: the item and the key.
pub(super) fn guessed_chargers(ground: &Ground<'_>) -> Vec<(String, &'static str)> {
    let scenario = ground.scenario;
    let controllers = scenario
        .controllers
        .iter()
        .map(|(name, it)| (format!("controller “{name}”"), it.basis(), "output_limit_a"));
    let supply = scenario.supply.iter().map(|it| ("supply".to_owned(), &it.basis, "limit_a"));
    let vehicle = scenario.vehicle.iter().map(|it| ("vehicle".to_owned(), &it.basis, "limit_a"));
    let all = controllers.chain(supply).chain(vehicle);
    all.filter(|(_, basis, key)| guessed(basis, key)).map(|(item, _, key)| (item, key)).collect()
}

/// What of the loads is a guess.
pub(super) fn guessed_loads<'g>(
    ground: &Ground<'_>,
    loads: impl Iterator<Item = (usize, &'g Load)>,
) -> Vec<String> {
    let mut lacks = Vec::new();
    for (place, load) in loads {
        let name = ground.scenario.loads.get_index(place).map_or("", |it| it.0.as_str());
        for key in ["draw", "transmit_share"] {
            if guessed(&load.basis, key) {
                lacks.push(format!("`{key}` of load “{name}” (a guess)"));
            }
        }
    }
    lacks
}

/// What is not stated of a wire.
pub(super) fn of_wire(wire: Option<&Wire>, whose: &str) -> Vec<String> {
    let Some(wire) = wire else {
        return vec![format!("size, length and insulation of the wire{whose} (`wire`)")];
    };
    let parts = [
        (wire.insulation_c.is_none(), "the temperature of its insulation", "insulation_c"),
        (wire.bundled.is_none(), "how many conductors lie side by side", "bundled"),
        (wire.surroundings_c.is_none(), "the warmest air around it", "surroundings_c"),
    ];
    let absent = parts.into_iter().filter(|it| it.0);
    absent.map(|(_, words, key)| format!("{words}{whose} (`{key}`)")).collect()
}
