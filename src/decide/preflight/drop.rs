//! Volts dropped in leads at the peak, over both conductors, and energy lost by the root mean square
//! of the current: `dV = I R` and `I_rms^2 R / V I_mean` with R of the whole loop.

use super::finding::{Finding, Severity, Subject, num, percent};
use super::ground::{Case, Ground};
use super::leads::{LeadFacts, Role};
use super::missing::Missing;
use crate::scenario::loads::Wire;
use crate::station::load_states::{moments, peak_a};
use crate::station::wire::loop_ohm;

const PRACTICE: &str = "common practice, no source; settable under `check_limits`";
/// A drop of more than this times its limit is serious.
const FAR_OVER: f64 = 2.0;

pub(super) fn drop(
    ground: &Ground<'_>,
    lead: &LeadFacts<'_>,
    missing: &mut Missing,
    found: &mut Vec<Finding>,
) {
    if lead.wire.is_none() {
        missing.note(
            Subject::VoltageDrop,
            "size and length of the lead (`wire`)",
            &lead.about.item,
        );
        return;
    }
    if lead.role == Role::Panels && lead.peak_a <= 0.0 {
        missing.note(Subject::VoltageDrop, "its current (`datasheet`)", &lead.about.item);
        return;
    }
    let (limit, whose) = limit_of(ground, lead.role);
    let group = lead.group;
    let (drop_v, against_v) = drop_of(ground, lead);
    let loss_share = match lead.role {
        Role::Panels | Role::Charger => None,
        Role::Main | Role::Radio | Role::Other => Some(loss_share(ground, group, lead)),
    };
    let share = drop_v / against_v;
    let through = if group.is_some() && ground.around.main_ohm > 0.0 {
        " over main feed and group lead"
    } else {
        ""
    };
    let keyed = match lead.role {
        Role::Main | Role::Radio | Role::Other => ", every operator transmitting",
        Role::Charger | Role::Panels => ", at full output",
    };
    let sentence = format!(
        "At {} A the leads drop {} V{through}: {} of {} V{keyed}; {} for {whose}.",
        num(lead.peak_a, 1),
        num(drop_v, 2),
        percent(share),
        num(against_v, 1),
        percent(limit),
    );
    let finding =
        Finding::new(Subject::VoltageDrop, &lead.about, "drop at peak", sentence, PRACTICE)
            .value(share, "share")
            .at_most(limit);
    let mend = thicker(ground, lead, drop_v, limit * against_v);
    let over = finding.misses();
    found.push(finding.when(over && share > FAR_OVER * limit, Severity::Serious, &mend).when(
        over,
        Severity::Caution,
        &mend,
    ));
    if let Some(loss_share) = loss_share {
        let sentence = format!(
            "On average {} of the energy is lost{through}, by the root mean square of the current, \
             {} A.",
            percent(loss_share),
            num(lead.rms_a, 1)
        );
        let finding =
            Finding::new(Subject::WireLoss, &lead.about, "loss in leads", sentence, PRACTICE)
                .value(loss_share, "share")
                .at_most(limit);
        let over = finding.misses();
        found.push(finding.when(over, Severity::Caution, &mend));
    }
}

/// Share of the volts that a lead may drop, and whose lead that is.
pub(super) fn limit_of(ground: &Ground<'_>, role: Role) -> (f64, &'static str) {
    let limits = &ground.scenario.check_limits;
    match role {
        Role::Radio => (limits.radio_drop_share, "a radio"),
        Role::Main => (limits.main_drop_share, "a main feed"),
        Role::Charger => (limits.main_drop_share, "the lead of a charger"),
        Role::Panels => (limits.main_drop_share, "the lead of panels"),
        Role::Other => (limits.other_drop_share, "other loads"),
    }
}

/// Volts that a lead drops at the peak, with those of the feed before it, and the volts that they are a
/// share of, V.
pub(super) fn drop_of(ground: &Ground<'_>, lead: &LeadFacts<'_>) -> (f64, f64) {
    match lead.role {
        Role::Panels => {
            (lead.peak_a * lead.ohm(), panel_v(ground, lead).unwrap_or(ground.nominal_v))
        }
        Role::Charger => (lead.peak_a * lead.ohm(), ground.nominal_v),
        Role::Main | Role::Radio | Role::Other => {
            (group_drop_v(ground, lead.group, lead), ground.nominal_v)
        }
    }
}

/// Highest drop of the leads to a group, or of the main feed, V.
fn group_drop_v(ground: &Ground<'_>, group: Option<usize>, lead: &LeadFacts<'_>) -> f64 {
    let drop_v = |it: &Case, state: &_| {
        let total_a = peak_a(&it.loads, state, None, ground.low_v);
        let group_a = group.map_or(0.0, |at| peak_a(&it.loads, state, Some(at), ground.low_v));
        // A group that draws nothing in a state has nothing that suffers from the others.
        if group.is_some() && group_a <= 0.0 {
            return 0.0;
        }
        match group {
            Some(_) => ground.around.main_ohm * total_a + lead.ohm() * group_a,
            None => lead.ohm() * total_a,
        }
    };
    let cases = ground.cases.iter();
    cases
        .flat_map(|case| case.states.iter().map(move |state| drop_v(case, state)))
        .fold(0.0, f64::max)
}

/// Share of the energy of a group, or of all loads, that the leads lose, of the worst tier.
fn loss_share(ground: &Ground<'_>, group: Option<usize>, lead: &LeadFacts<'_>) -> f64 {
    let of = |case: &Case| {
        let volts = ground.nominal_v;
        let share = |group: Option<usize>, ohm: f64| {
            let (mean_a, square_a2) = moments(&case.loads, &case.states, group, volts);
            if mean_a > 0.0 { ohm * square_a2 / (volts * mean_a) } else { 0.0 }
        };
        let main = share(None, ground.around.main_ohm);
        let (own_a, _) = moments(&case.loads, &case.states, group, volts);
        match group {
            Some(_) if own_a <= 0.0 => 0.0,
            Some(_) => main + share(group, lead.ohm()),
            None => main,
        }
    };
    ground.cases.iter().map(of).fold(0.0, f64::max)
}

/// Volts of the panels of a lead at their best point, V.
fn panel_v(ground: &Ground<'_>, lead: &LeadFacts<'_>) -> Option<f64> {
    let mut arrays = ground.scenario.arrays.iter();
    let (_, array) = arrays.find(|(name, _)| lead.about.path == format!("arrays.{name}.lead"))?;
    array.datasheet.map(|it| it.vmp_v * f64::from(it.in_series.max(1)))
}

/// What would bring a drop down to its limit: the largest part of it first.
fn thicker(ground: &Ground<'_>, lead: &LeadFacts<'_>, drop_v: f64, allowed_v: f64) -> String {
    let feed = ground.scenario.main_feed.as_ref().and_then(|it| it.wire.as_ref());
    let own = match lead.role {
        Role::Main => None,
        _ => lead.wire,
    };
    // What is not lost in the lead itself is lost before it, in the feed.
    let own_v = if own.is_some() { (lead.peak_a * lead.ohm()).min(drop_v) } else { 0.0 };
    let mut parts = Vec::new();
    for (wire, of, volts) in [(feed, "main feed", drop_v - own_v), (own, "lead", own_v)] {
        let Some(wire) = wire.filter(|_| volts > 0.0) else { continue };
        let contacts_v = volts * contacts_share(wire);
        parts.push(Part { wire, of, contacts: false, volts: volts - contacts_v });
        parts.push(Part { wire, of, contacts: true, volts: contacts_v });
    }
    parts.sort_by(|one, other| other.volts.total_cmp(&one.volts));
    let Some(first) = parts.first() else {
        return "A thicker or shorter lead and fewer or better connectors.".to_owned();
    };
    let Part { wire, of, contacts, volts } = *first;
    let over_v = drop_v - allowed_v;
    // How much the largest part may still lose when the others stay.
    let left_v = volts - over_v;
    let most = if parts.iter().filter(|it| it.volts > 0.0).count() > 1 {
        format!(" Most of it, {} of {} V, is lost there.", num(volts, 2), num(drop_v, 2))
    } else {
        String::new()
    };
    if contacts {
        return format!("Fewer or better connectors in the {of}, or a shorter way.{most}");
    }
    match crate::station::wire::area_mm2(wire) {
        Some(area_mm2) if left_v > 0.0 => format!(
            "Copper of {} mm2 or more in the {of} in place of {} mm2, or a shorter one.{most}",
            num((area_mm2 * volts / left_v).ceil(), 0),
            num(area_mm2, 1)
        ),
        _ => {
            let then = parts.get(1).filter(|it| it.volts > 0.0).map_or(String::new(), |it| {
                let what = if it.contacts { "the connectors of the" } else { "the" };
                format!(" Then {what} {}, {} V.", it.of, num(it.volts, 2))
            });
            format!("A thicker or shorter {of} first: it alone is not enough.{most}{then}")
        }
    }
}

/// A part of a drop.
struct Part<'a> {
    wire: &'a Wire,
    /// `main feed` or `lead`.
    of: &'static str,
    /// Whether it is the connectors of that, and not its copper.
    contacts: bool,
    volts: f64,
}

/// Share of the resistance of a wire that its connectors have.
fn contacts_share(wire: &Wire) -> f64 {
    let all_ohm = loop_ohm(wire);
    if all_ohm > 0.0 { f64::from(wire.connectors) * wire.connector_ohm / all_ohm } else { 0.0 }
}
