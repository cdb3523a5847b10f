//! Panels: open-circuit volts in the cold against the controller, volts to touch, and the wire and
//! fuse on their side.

use super::finding::{About, Finding, Severity, Subject, num};
use super::ground::Ground;
use super::leads::parallel;
use super::missing::Missing;
use crate::scenario::sources::Array;
use crate::scenario::sun::Sun;
use crate::station::ampacity::{INSULATION_C, allowable_a};
use crate::station::fuse::PANEL_SIDE;

const COLD: &str = "NEC 690.7: open-circuit volts at the lowest expected temperature";
const TOUCH: &str = "IEC 61140 and IEC 62368-1, from memory: 60 V of direct current";
const CURRENT: &str = "NEC 690.8: 1.56 times the short-circuit current; 33 CFR 183.425 table 5";

pub(super) fn panels(ground: &Ground<'_>, missing: &mut Missing, found: &mut Vec<Finding>) {
    let touch_v = ground.scenario.preflight.touch_v;
    for (name, array) in &ground.scenario.arrays {
        let about = About::new(format!("array “{name}”"), format!("arrays.{name}"));
        if array.count == 0 {
            continue;
        }
        let Some(open_v) = open_v(ground, array) else {
            let lacks = "open-circuit volts of the panels (`datasheet`)";
            missing.note(Subject::ColdOpenCircuit, lacks, &about.item);
            continue;
        };
        let controller = ground.scenario.controllers.get(&array.controller);
        match controller.and_then(|it| it.input_limit_v()) {
            Some(limit_v) => against_controller(ground, &about, open_v, limit_v, found),
            None => missing.note(
                Subject::ColdOpenCircuit,
                "highest volts of its controller (`input_limit_v`)",
                &about.item,
            ),
        }
        touch(&about, open_v, touch_v, found);
        lead(ground, name, array, missing, found);
    }
    touch(&About::new("battery", "battery"), ground.highest_v, touch_v, found);
}

/// Coldest air for the panels, deg C: stated, or the coldest hour that the sky knows.
fn coldest_air_c(ground: &Ground<'_>) -> f64 {
    let stated = ground.scenario.preflight.coldest_air_c;
    let met_c = ground.plan.steps.iter().map(|step| step.air_c);
    let known_c = match &ground.scenario.sun {
        Sun::Climate(climate) => climate
            .air_mean_c
            .iter()
            .zip(&climate.air_swing_c)
            .map(|(mean_c, swing_c)| mean_c - swing_c / 2.0)
            .fold(f64::INFINITY, f64::min),
        Sun::Profile(profile) => profile.air_c,
        Sun::Measured(_) => f64::INFINITY,
    };
    stated.unwrap_or_else(|| met_c.fold(known_c, f64::min))
}

/// Open-circuit volts of a string at the coldest hour, V: cells as cold as the air at first light.
fn open_v(ground: &Ground<'_>, array: &Array) -> Option<f64> {
    let sheet = array.datasheet?;
    let colder_k = coldest_air_c(ground) - 25.0;
    let one_v = sheet.voc_v * (1.0 + sheet.voc_per_c * colder_k);
    Some(one_v * f64::from(sheet.in_series.max(1)))
}

fn against_controller(
    ground: &Ground<'_>,
    about: &About,
    open_v: f64,
    limit_v: f64,
    found: &mut Vec<Finding>,
) {
    let whose = if ground.scenario.preflight.coldest_air_c.is_some() {
        "the coldest that is stated"
    } else {
        "the coldest hour that this sky knows; a night in many years is colder (`coldest_air_c`)"
    };
    let sentence = format!(
        "At {} deg C, {whose}, the open string has {} V; its controller takes {} V.",
        num(coldest_air_c(ground), 0),
        num(open_v, 1),
        num(limit_v, 0)
    );
    let finding = Finding::new(Subject::ColdOpenCircuit, about, "open volts, cold", sentence, COLD)
        .value(open_v, "V")
        .at_most(limit_v);
    let over = finding.misses();
    let mend = "Fewer panels in series, or a controller for higher volts: beyond its limit it dies on \
                the first bright frosty morning.";
    found.push(finding.when(over, Severity::Serious, mend));
}

fn touch(about: &About, volts: f64, limit_v: f64, found: &mut Vec<Finding>) {
    let sentence = format!(
        "Up to {} V of direct current stand on bare parts; above {} V they can hurt.",
        num(volts, 1),
        num(limit_v, 0)
    );
    let finding = Finding::new(Subject::TouchVolts, about, "volts to touch", sentence, TOUCH)
        .value(volts, "V")
        .at_most(limit_v);
    let over = finding.misses();
    let mend = "Cover every live part, fit an isolator marked for direct current, never unplug under \
                load; or panels side by side in place of in series. Ask a licensed person.";
    found.push(finding.when(over, Severity::Caution, mend));
}

/// Wire and fuse on the panels' side.
fn lead(
    ground: &Ground<'_>,
    name: &str,
    array: &Array,
    missing: &mut Missing,
    found: &mut Vec<Finding>,
) {
    let (Some(lead), Some(sheet)) = (&array.lead, array.datasheet) else { return };
    let about = About::new(format!("array “{name}”"), format!("arrays.{name}.lead"));
    let wants_a = PANEL_SIDE * sheet.isc_a * parallel(array);
    let assumed_c = lead.wire.insulation_c.unwrap_or(INSULATION_C[0]);
    let allowed = allowable_a(&lead.wire, assumed_c)
        .filter(|it| lead.wire.insulation_c.is_some() || wants_a <= *it);
    match allowed {
        Some(allowed_a) => {
            let sentence = format!(
                "Wire on the panels' side is sized for {} A, 1.56 times their short-circuit current; this \
                 one carries {} A.",
                num(wants_a, 1),
                num(allowed_a, 0)
            );
            let finding =
                Finding::new(Subject::Ampacity, &about, "wire carries", sentence, CURRENT)
                    .value(wants_a, "A")
                    .at_most(allowed_a);
            let over = finding.misses();
            found.push(finding.when(over, Severity::Serious, "A thicker wire from the panels."));
        }
        None => missing.note(
            Subject::Ampacity,
            "temperature of the insulation (`insulation_c`)",
            &about.item,
        ),
    }
    if let Some(fuse) = &lead.fuse {
        let sentence = format!(
            "A fuse on the panels' side carries 1.56 times their short-circuit current, {} A; this one \
             is of {} A.",
            num(wants_a, 1),
            num(fuse.rated_a, 1)
        );
        let finding =
            Finding::new(Subject::FuseLoad, &about, "fuse against load", sentence, CURRENT)
                .value(fuse.rated_a, "A")
                .at_least(wants_a);
        let over = finding.misses();
        found.push(finding.when(over, Severity::Caution, "A larger fuse, if the wire carries it."));
        if let (Some(rated_v), Some(open_v)) = (fuse.rated_v, open_v(ground, array)) {
            let sentence = format!(
                "The fuse is made for {} V of direct current; the open string has up to {} V.",
                num(rated_v, 0),
                num(open_v, 1)
            );
            let finding = Finding::new(Subject::FuseVolts, &about, "fuse volts", sentence, COLD)
                .value(rated_v, "V")
                .at_least(open_v);
            let over = finding.misses();
            found.push(finding.when(
                over,
                Severity::Serious,
                "A fuse for the volts of the string.",
            ));
        }
    }
}
