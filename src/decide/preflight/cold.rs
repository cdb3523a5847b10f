//! Charging in the cold: lithium below freezing, and how fast just above it.

use super::finding::{About, Finding, Severity, Subject, num};
use super::ground::Ground;
use crate::scenario::battery::Battery;

const FREEZING: &str = "charging tables of lithium iron phosphate datasheets: none below 0 deg C";
const SLOWLY: &str = "a cell datasheet: 0.2 of the capacity an hour from 0 to 15 deg C";
/// Charging current allowed in the cold, share of capacity an hour.
const COLD_PER_H: f64 = 0.2;
/// Up to here that holds, deg C.
const COLD_UP_TO_C: f64 = 15.0;

pub(super) fn cold_charging(ground: &Ground<'_>, found: &mut Vec<Finding>) {
    let Battery::LithiumIronPhosphate(cells) = &ground.scenario.battery else { return };
    let about = About::new("battery", "battery.lithium_iron_phosphate.charge_inhibit");
    let below_c = cells.charge_inhibit.below_c;
    let rows = &ground.ledger.rows;
    let coldest_c = rows.iter().map(|row| row.battery_c).fold(f64::INFINITY, f64::min);
    let sentence = format!(
        "Charging stops below {} deg C cell temperature; in this run the cells get down \
         to {} deg C.",
        num(below_c, 1),
        num(coldest_c, 1)
    );
    let finding =
        Finding::new(Subject::ColdCharging, &about, "charging stops at", sentence, FREEZING)
            .value(below_c, "deg C")
            .at_least(0.0);
    let over = below_c < 0.0;
    let mend = "Stop charging at 0 deg C: below it lithium plates the cells, with lasting loss and a \
                danger of short circuits inside.";
    found.push(finding.when(over, Severity::Serious, mend));

    let locked_h: f64 = rows.iter().filter(|row| row.too_cold_to_charge).map(|row| row.hours).sum();
    let refused_wh: f64 = rows
        .iter()
        .filter(|row| row.too_cold_to_charge)
        .flat_map(|row| row.sources.iter())
        .map(|source| source.curtailed_wh)
        .sum();
    let all_h: f64 = rows.iter().map(|row| row.hours).sum();
    let sentence = format!(
        "For {} of {} hours the cells are too cold to charge, and {} Wh are refused meanwhile.",
        num(locked_h, 0),
        num(all_h, 0),
        num(refused_wh, 0)
    );
    let finding =
        Finding::new(Subject::ColdCharging, &about, "too cold to charge", sentence, FREEZING)
            .value(locked_h, "h")
            .at_most(0.0);
    let mend = "A warmer place or a heater for the cells, or more stored for the cold weeks.";
    found.push(finding.when(locked_h > 0.0, Severity::Caution, mend));

    let highest = rows
        .iter()
        .filter(|row| row.battery_c < COLD_UP_TO_C && !row.too_cold_to_charge && row.hours > 0.0)
        .map(|row| row.charged_ah / row.hours)
        .fold(0.0, f64::max);
    if highest > 0.0 {
        let limit_a = COLD_PER_H * ground.rated_ah();
        let sentence = format!(
            "With cells below {} deg C they are charged with up to {} A, the mean of an hour; {} A are \
             allowed.",
            num(COLD_UP_TO_C, 0),
            num(highest, 1),
            num(limit_a, 1)
        );
        let finding =
            Finding::new(Subject::ColdCharging, &about, "charging when cold", sentence, SLOWLY)
                .value(highest, "A")
                .at_most(limit_a);
        let over = finding.misses();
        let mend = "Charge more slowly in the cold, or keep the cells warmer.";
        found.push(finding.when(over, Severity::Caution, mend));
    }
}
