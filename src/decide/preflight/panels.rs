//! Panels: open-circuit volts in the cold against the controller, volts to touch. The wire and fuse on
//! their side: see `array_lead`.

use super::array_lead::array_lead;
use super::finding::{About, Finding, Severity, Subject, num};
use super::ground::{Ground, met_c};
use super::missing::Missing;
use crate::plan::coldest;
use crate::scenario::sources::Array;

pub(super) const COLD: &str = "NEC 690.7: open-circuit volts at the lowest expected temperature";
const TOUCH: &str = "IEC 61140 and IEC 62368-1, from memory: 60 V of direct current";

pub(super) fn panels(ground: &Ground<'_>, missing: &mut Missing, found: &mut Vec<Finding>) {
    let touch_v = ground.scenario.check_limits.touch_v;
    for (name, array) in &ground.scenario.arrays {
        let about = About::new(format!("array “{name}”"), format!("arrays.{name}"));
        if array.count == 0 {
            continue;
        }
        array_lead(ground, name, array, missing, found);
        let Some(disconnect_v) = disconnect_v(ground, array) else {
            let lacks = "open-circuit volts of the panels (`datasheet`)";
            missing.note(Subject::ColdOpenCircuit, lacks, &about.item);
            continue;
        };
        let controller = ground.scenario.controllers.get(&array.controller);
        match controller.and_then(|it| it.input_limit_v()) {
            Some(limit_v) => against_controller(ground, &about, disconnect_v, limit_v, found),
            None => missing.note(
                Subject::ColdOpenCircuit,
                "highest volts of its controller (`input_limit_v`)",
                &about.item,
            ),
        }
        touch(&about, disconnect_v, touch_v, found);
    }
    touch(&About::new("battery", "battery"), ground.highest_v, touch_v, found);
}

/// Coldest air for the panels, deg C: stated, or the coldest hour that the sky knows.
fn coldest_air_c(ground: &Ground<'_>) -> f64 {
    let met_c = met_c(ground.plan);
    let known_c = coldest::air_c(&ground.scenario.sun, met_c, |_| true);
    let coldest_c = known_c.into_iter().chain(met_c).fold(f64::INFINITY, f64::min);
    ground.scenario.check_limits.coldest_air_c.unwrap_or(coldest_c)
}

/// Open-circuit volts of a string at the coldest hour, V: cells as cold as the air at first light.
pub(super) fn disconnect_v(ground: &Ground<'_>, array: &Array) -> Option<f64> {
    let sheet = array.datasheet?;
    let colder_k = coldest_air_c(ground) - 25.0;
    let one_v = sheet.voc_v * (1.0 + sheet.voc_per_c * colder_k);
    Some(one_v * f64::from(sheet.in_series.max(1)))
}

fn against_controller(
    ground: &Ground<'_>,
    about: &About,
    disconnect_v: f64,
    limit_v: f64,
    found: &mut Vec<Finding>,
) {
    let whose = if ground.scenario.check_limits.coldest_air_c.is_some() {
        "the coldest that is stated"
    } else {
        "the coldest hour that this sky knows; a night in many years is colder (`coldest_air_c`)"
    };
    let sentence = format!(
        "At {} deg C, {whose}, the open string has {} V; its controller takes {} V.",
        num(coldest_air_c(ground), 1),
        num(disconnect_v, 1),
        num(limit_v, 0)
    );
    let finding = Finding::new(Subject::ColdOpenCircuit, about, "open volts, cold", sentence, COLD)
        .value(disconnect_v, "V")
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
