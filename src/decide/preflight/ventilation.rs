//! Fresh air for lead-acid cells.

use super::finding::{About, Finding, Severity, Subject, num};
use super::ground::Ground;
use super::missing::Missing;
use crate::scenario::battery::{AcidKind, Battery};
use crate::station::ventilation::{Charging, air_m3_h, gassing_ma_per_ah, opening_cm2};

const STANDARD: &str =
    "IEC 62485-2: Q = 0.05 n I C, opening 28 Q, while charged at absorption volts";

pub(super) fn ventilation(ground: &Ground<'_>, missing: &mut Missing, found: &mut Vec<Finding>) {
    let Battery::LeadAcid(acid) = &ground.scenario.battery else { return };
    let vented = acid.kind == AcidKind::Flooded;
    let gas_ma = gassing_ma_per_ah(acid.kind, Charging::Boost);
    let air = air_m3_h(acid.cells_in_series, gas_ma, ground.rated_ah());
    let needs_cm2 = opening_cm2(air);
    let about = About::new("battery", "battery.lead_acid.vent_opening_cm2");
    let cells = if vented { "These vented cells" } else { "Even sealed cells" };
    let wants = format!(
        "{cells} need {} m3/h of fresh air while charged: {} cm2 free at the bottom and as much at the \
         top.",
        num(air, 2),
        num(needs_cm2, 0)
    );
    match acid.vent_opening_cm2 {
        Some(open_cm2) => {
            let sentence = format!("{wants} There are {} cm2.", num(open_cm2, 0));
            let finding =
                Finding::new(Subject::Ventilation, &about, "vent opening", sentence, STANDARD)
                    .value(open_cm2, "cm2")
                    .at_least(needs_cm2);
            let over = finding.misses();
            let mend = "Larger openings to the open air, low and high; no sparks near them.";
            let worst = if vented { Severity::Serious } else { Severity::Caution };
            found.push(finding.when(over, worst, mend));
        }
        None => {
            missing.note(
                Subject::Ventilation,
                "openings of its box (`vent_opening_cm2`)",
                "battery",
            );
            found.push(
                Finding::new(Subject::Ventilation, &about, "vent needed", wants, STANDARD)
                    .value(needs_cm2, "cm2")
                    .severity(Severity::Note),
            );
        }
    }
}
