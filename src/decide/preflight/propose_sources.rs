//! Fuses and wires that would do on the panels' side and at packs side by side: only when every number
//! that they rest on is stated; else the numbers that are missing are named.
//!
//! Panels push no more than their short-circuit current. A fuse on their side is rated at 1.56 times that, and
//! is no more than the panels' label allows in series with one, unless each string has its own (NEC 690.8
//! and 690.9). It is made for the volts of the open string in the coldest air. Up to two strings need none
//! where their wire bears that current. A pack carries its share, and breaks what the others push into it.

use super::drop::{drop_of, limit_of};
use super::finding::{About, Finding, Proposal, ProposedFuse, num, percent};
use super::ground::Ground;
use super::leads::{LeadFacts, Role, parallel};
use super::panels::disconnect_v;
use super::propose::{
    TO_CHECK, WITHIN_M, bears_a, described, guessed_chargers, guessed_loads, of_wire, proposes,
    thinnest_mm2, unstated, wanted,
};
use super::unfused::side_by_side;
use crate::scenario::basis::Basis;
use crate::scenario::loads::{Fused, Wire};
use crate::scenario::sources::{Array, PanelSheet};
use crate::station::fuse::{PANEL_SIDE, STRINGS_WITHOUT_FUSE, choose};

const PANELS: &str = "NEC 690.8 and 690.9: 1.56 times the short-circuit current, at most the label's series fuse; \
                      NEC 690.7: volts in the cold; at most the ampacity, 33 CFR 183.425 table 5; sizes of ISO \
                      8820-3, IEC 60269 and NEC 240.6(A), from memory";
const PACKS: &str = "NEC 210.20 and 215.3: 125 % of what flows for hours; at most the ampacity, 33 CFR 183.425 table 5; \
                     a fuse at each pack: common practice, no source; sizes of ISO 8820-3, IEC 60269 and NEC \
                     240.6(A), from memory";

/// Proposes for the strings and the leads of arrays.
pub(super) fn panels(ground: &Ground<'_>, leads: &[LeadFacts<'_>], found: &mut Vec<Finding>) {
    let on_roof = leads.iter().filter(|it| it.role == Role::Panels);
    for ((name, array), lead) in ground.scenario.arrays.iter().zip(on_roof) {
        if array.count == 0 {
            continue;
        }
        let about = About::new(lead.about.item.clone(), format!("arrays.{name}"));
        if wanted(&about, found) {
            found.push(string(ground, name, array));
        }
        if wanted(&lead.about, found) {
            found.push(array_lead(ground, lead, array));
        }
    }
}

/// What a fuse on the panels' side rests on beside its wire: the datasheet, or what is not stated of it.
fn sheet_of(
    ground: &Ground<'_>,
    array: &Array,
    labelled: bool,
    volts: bool,
) -> Result<PanelSheet, Vec<String>> {
    let mut lacks = Vec::new();
    let Some(sheet) = array.datasheet else {
        let words = "short-circuit current and open-circuit volts of the panels (`datasheet`)";
        return Err(vec![words.to_owned()]);
    };
    let rests_on = |key: &str| {
        key == "datasheet"
            || key == "datasheet.isc_a"
            || key == "datasheet.in_series"
            || (volts && matches!(key, "datasheet.voc_v" | "datasheet.voc_per_c"))
            || (labelled && key == "datasheet.series_fuse_a")
    };
    for (key, _) in array.basis.iter().filter(|it| rests_on(it.0) && *it.1 == Basis::Guess) {
        lacks.push(format!("what the panels push (`{key}` is a guess)"));
    }
    if labelled && sheet.series_fuse_a.is_none() {
        lacks.push("the largest fuse that the panels' label allows (`series_fuse_a`)".to_owned());
    }
    if volts && ground.scenario.check_limits.coldest_air_c.is_none() {
        lacks.push("the coldest air of many years (`coldest_air_c`)".to_owned());
    }
    if lacks.is_empty() { Ok(sheet) } else { Err(lacks) }
}

/// A fuse for each string of several.
fn string(ground: &Ground<'_>, name: &str, array: &Array) -> Finding {
    let about =
        About::new(format!("strings of array “{name}”"), format!("arrays.{name}.string_fuse"));
    let sheet = match sheet_of(ground, array, true, true) {
        Ok(sheet) => sheet,
        Err(lacks) => return unstated(&about, &lacks),
    };
    let least_a = PANEL_SIDE * sheet.isc_a;
    let label_a = sheet.series_fuse_a.unwrap_or(0.0);
    let others_a = least_a * (parallel(array) - 1.0).max(1.0);
    let chosen = match panel_fuse(ground, array, least_a, label_a, others_a) {
        Some(fuse) => {
            let sentence = format!("In each string: {}. {TO_CHECK}", described(&fuse));
            Ok((Proposal { fuse: Some(fuse), mm2: None }, sentence))
        }
        None => Err(format!(
            "No fuse both carries {} A and is as small as the panels' label allows, {} A: at most two \
             strings side by side first, which need none.",
            num(least_a, 1),
            num(label_a, 1)
        )),
    };
    proposes(&about, chosen, least_a, PANELS)
}

/// A fuse on the panels' side; `None` when no size both carries what they push and is small enough.
fn panel_fuse(
    ground: &Ground<'_>,
    array: &Array,
    least_a: f64,
    most_a: f64,
    fault_a: f64,
) -> Option<ProposedFuse> {
    let size = choose(least_a, most_a)?;
    Some(ProposedFuse {
        rated_a: size.rated_a,
        series: size.series,
        interrupt_a: fault_a.max(size.rated_a).ceil(),
        rated_v: disconnect_v(ground, array)?.ceil(),
        within_m: WITHIN_M,
    })
}

/// The wire of an array's lead, and its fuse where it has one or wants one.
fn array_lead(ground: &Ground<'_>, lead: &LeadFacts<'_>, array: &Array) -> Finding {
    let about = &lead.about;
    let strings = parallel(array);
    let own = array.string_fuse.as_ref().and_then(Fused::fuse).is_some();
    let fuseless = lead.fuse.is_none() && (own || strings <= STRINGS_WITHOUT_FUSE);
    let mut missing = of_wire(lead.wire, "");
    let sheet = sheet_of(ground, array, !own && !fuseless, !fuseless);
    if let Err(lacks) = &sheet {
        missing.extend(lacks.iter().cloned());
    }
    let (Some(wire), Ok(sheet), true) = (lead.wire, sheet, missing.is_empty()) else {
        return unstated(about, &missing);
    };
    let least_a = PANEL_SIDE * sheet.isc_a * strings;
    let chosen = if fuseless {
        wire_first(ground, lead, wire, least_a).map(|(mm2, first)| {
            let sentence = format!(
                "{first}These panels need no fuse in their lead where its wire carries {} A, 1.56 times \
                 their short-circuit current. {TO_CHECK}",
                num(least_a, 1)
            );
            (Proposal { fuse: None, mm2 }, sentence)
        })
    } else {
        fused(ground, lead, (array, wire), least_a, sheet.series_fuse_a.filter(|_| !own))
    };
    proposes(about, chosen, least_a, PANELS)
}

/// A fuse in the lead of panels, and its wire.
fn fused(
    ground: &Ground<'_>,
    lead: &LeadFacts<'_>,
    (array, wire): (&Array, &Wire),
    least_a: f64,
    label_a: Option<f64>,
) -> Result<(Proposal, String), String> {
    let most_a = label_a.unwrap_or(f64::INFINITY);
    let Some(fuse) = panel_fuse(ground, array, least_a, most_a, least_a) else {
        let carries = num(least_a, 1);
        let Some(label_a) = label_a else {
            return Err(format!("No fuse of the tables carries {carries} A: fewer strings first."));
        };
        let instead = if parallel(array) <= STRINGS_WITHOUT_FUSE {
            "these panels need none where their wire carries that".to_owned()
        } else {
            "a fuse in each string first".to_owned()
        };
        return Err(format!(
            "No fuse both carries {carries} A and is as small as the panels' label allows, {} A: {instead}.",
            num(label_a, 1)
        ));
    };
    let (mm2, first) = wire_first(ground, lead, wire, fuse.rated_a)?;
    let sentence = format!(
        "{first}{}, within 7 inches (17 cm) of the panels, or anywhere on a lead that carries {} A. \
         {TO_CHECK}",
        described(&fuse),
        num(least_a, 1)
    );
    Ok((Proposal { fuse: Some(fuse), mm2 }, sentence))
}

/// The wire to be laid before a fuse of a size stands in a lead, and why; nothing where it will do.
fn wire_first(
    ground: &Ground<'_>,
    lead: &LeadFacts<'_>,
    wire: &Wire,
    rated_a: f64,
) -> Result<(Option<f64>, String), String> {
    let limit = limit_of(ground, lead.role).0;
    let drops = |wire: &Wire| {
        let (drop_v, against_v) = drop_of(ground, &LeadFacts { wire: Some(wire), ..lead.copied() });
        drop_v / against_v
    };
    let bears = |wire: &Wire| bears_a(wire) >= rated_a * (1.0 - 1e-9);
    let will_do = |wire: &Wire| bears(wire) && drops(wire) <= limit * (1.0 + 1e-9);
    if will_do(wire) {
        return Ok((None, String::new()));
    }
    let why = if bears(wire) {
        format!(
            "The wire loses {} at full output, of which {} are allowed",
            percent(drops(wire)),
            percent(limit)
        )
    } else {
        format!("This wire bears {} A, and {} A are wanted", num(bears_a(wire), 1), num(rated_a, 1))
    };
    match thinnest_mm2(wire, will_do) {
        Some(mm2) => Ok((Some(mm2), format!("{why}: {} mm2 first. ", num(mm2, 2)))),
        None => Err(format!(
            "{why}; no wire of the tables mends it alone: a shorter way, fewer connectors or several leads first."
        )),
    }
}

/// Proposes a fuse for each pack of several.
pub(super) fn packs(ground: &Ground<'_>, found: &mut Vec<Finding>) {
    let about = About::new("packs", "battery");
    let Some(packs) = side_by_side(ground).filter(|_| wanted(&about, found)) else { return };
    let mut missing = of_wire(packs.wire, " of each pack");
    if packs.wire.is_none() {
        missing =
            vec!["size, length and insulation of the lead of each pack (`pack_lead`)".to_owned()];
    }
    let short = ground.short_circuit();
    if short.is_none_or(|it| !it.stated) {
        missing.push("what the battery gives into a short circuit (`short_circuit_a`)".to_owned());
    }
    for (item, key) in guessed_chargers(ground) {
        missing.push(format!("the current of {item} (`{key}` is a guess)"));
    }
    missing.extend(guessed_loads(ground, ground.scenario.loads.values().enumerate()));
    let (Some(wire), Some(through_a), true) =
        (packs.wire, packs.through_a(ground), missing.is_empty())
    else {
        found.push(unstated(&about, &missing));
        return;
    };
    let least_a = packs.least_a;
    found.push(proposes(&about, pack(ground, wire, least_a, through_a), least_a, PACKS));
}

fn pack(
    ground: &Ground<'_>,
    wire: &Wire,
    least_a: f64,
    through_a: f64,
) -> Result<(Proposal, String), String> {
    let carries = num(least_a, 1);
    let Some(size) = choose(least_a, f64::INFINITY) else {
        return Err(format!(
            "No fuse of the tables carries {carries} A: more packs side by side first."
        ));
    };
    let will_do = |wire: &Wire| bears_a(wire) >= size.rated_a * (1.0 - 1e-9);
    let mut first = String::new();
    let mut mm2 = None;
    if !will_do(wire) {
        mm2 = thinnest_mm2(wire, will_do);
        let why = format!(
            "No fuse both carries {carries} A and protects this wire, which bears {} A",
            num(bears_a(wire), 1)
        );
        let Some(mm2) = mm2 else {
            return Err(format!("{why}; no wire of the tables bears more: several leads first."));
        };
        first = format!("{why}: {} mm2 first. ", num(mm2, 2));
    }
    let fuse = ProposedFuse {
        rated_a: size.rated_a,
        series: size.series,
        interrupt_a: through_a.ceil(),
        rated_v: ground.highest_v.ceil(),
        within_m: WITHIN_M,
    };
    let sentence = format!(
        "{first}At each pack: {}, within 7 inches (17 cm) of its pole. It carries the pack's share while all \
         of them work. {TO_CHECK}",
        described(&fuse)
    );
    Ok((Proposal { fuse: Some(fuse), mm2 }, sentence))
}
