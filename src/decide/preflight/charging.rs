//! Charging current and set points against the battery, and the volts at which its BMS trips.

use super::finding::{About, Finding, Severity, Subject, num};
use super::ground::Ground;
use super::missing::Missing;
use crate::plan::SourceKind;
use crate::scenario::battery::{AcidKind, Battery, LeadAcid, LithiumIronPhosphate};
use crate::station::battery::register;

const BOARD: &str = "the charge limit that the scenario states";
const ACID_RATE: &str = "datasheets of sealed cells: 0.25 to 0.30 of the 20 h capacity";
const ABSORPTION: &str = "absorption volts of the scenario, at 25 deg C";
const FLOAT: &str = "datasheets of lead-acid cells: float 2.25 to 2.30 V a cell at 25 deg C";
const LITHIUM: &str = "datasheets of lithium iron phosphate: 3.55 to 3.65 V a cell";
const TRIPS: &str =
    "common practice, no source: 0.2 V on four cells; settable under `check_limits`";
/// Share of the 20 h capacity that sealed lead-acid cells take in an hour at most.
const SEALED_MOST_PER_H: f64 = 0.30;
/// Volts over the datasheet's absorption that a bank of six cells bears, V a cell.
const OVER_ABSORPTION_CELL_V: f64 = 0.2 / 6.0;
/// Highest float of a lead-acid cell, V.
const FLOAT_CELL_V: f64 = 2.30;
/// Highest set point of a lithium iron phosphate cell, V.
const LITHIUM_CELL_V: f64 = 3.65;
/// The lowest cell volts at which boards trip that are published, V.
const TOUCHIEST_TRIP_CELL_V: f64 = 3.65;

pub(super) fn charging(ground: &Ground<'_>, missing: &mut Missing, found: &mut Vec<Finding>) {
    match &register::as_strings(&ground.scenario.battery) {
        Battery::LithiumIronPhosphate(cells) => lithium(ground, cells, missing, found),
        Battery::LeadAcid(acid) => lead_acid(ground, acid, missing, found),
        Battery::Ideal(_) => {
            let limit_a = ground.plan.battery.charge_limit_a;
            current(ground, limit_a, BOARD, found);
        }
    }
}

/// Names and plans of the sources that can charge; one supply counts once.
fn sources<'g>(
    ground: &'g Ground<'_>,
) -> impl Iterator<Item = (String, String, &'g crate::plan::SourcePlan)> {
    let heads = ground.plan.heads.sources.iter();
    let scenario = ground.scenario;
    heads.zip(&ground.plan.sources).filter_map(move |(head, source)| {
        if source.limit_a <= 0.0 {
            return None;
        }
        Some(match source.kind {
            SourceKind::Engine => return None,
            SourceKind::Mains => {
                match scenario.supply.as_ref().and_then(|it| it.charger.as_ref()) {
                    Some(_) => ("charger".into(), "supply.charger.charge".into(), source),
                    None => ("supply".into(), "supply.rated_v".into(), source),
                }
            }
            SourceKind::Vehicle { .. } => ("vehicle".into(), "vehicle.charge".into(), source),
            SourceKind::Mppt | SourceKind::Pwm { .. } => {
                let word = scenario.controllers.get(&head.name).map_or("mppt", |it| it.word());
                let path = format!("controllers.{}.{word}.charge", head.name);
                (format!("controller “{}”", head.name), path, source)
            }
        })
    })
}

/// All sources together against what the battery takes.
fn current(ground: &Ground<'_>, limit_a: f64, basis: &'static str, found: &mut Vec<Finding>) {
    let list: Vec<(String, f64)> =
        sources(ground).map(|(name, _, source)| (name, source.limit_a)).collect();
    let sum_a: f64 = list.iter().map(|it| it.1).sum();
    if sum_a <= 0.0 {
        return;
    }
    let of: Vec<String> =
        list.iter().map(|(name, amperes)| format!("{name} {} A", num(*amperes, 1))).collect();
    let bounded = if limit_a.is_finite() {
        format!("; the battery takes {} A", num(limit_a, 1))
    } else {
        String::new()
    };
    let sentence = format!(
        "All sources at once can charge with {} A ({}){bounded}.",
        num(sum_a, 1),
        of.join(", ")
    );
    let about = About::new("battery", "battery");
    let finding = Finding::new(Subject::ChargeCurrent, &about, "charging, all", sentence, basis)
        .value(sum_a, "A")
        .at_most(limit_a);
    let over = finding.misses();
    let alone = list.iter().any(|it| it.1 > limit_a * (1.0 + 1e-9));
    let mend = "Lower the limits of the chargers so that all of them together stay below it.";
    let unbounded = finding.limit.is_none();
    let finding =
        finding.when(over && alone, Severity::Serious, mend).when(over, Severity::Caution, mend);
    found.push(if unbounded { finding.severity(Severity::Note) } else { finding });
}

fn set_point(
    about: &About,
    what: &str,
    volts: f64,
    limit_v: f64,
    basis: &'static str,
    severity: Severity,
) -> Finding {
    let sentence = format!(
        "It holds {} V; this battery is made for {} V at most.",
        num(volts, 2),
        num(limit_v, 2)
    );
    let finding = Finding::new(Subject::SetPoints, about, what, sentence, basis)
        .value(volts, "V")
        .at_most(limit_v);
    let over = finding.misses();
    finding.when(over, severity, "Lower the set point to what the battery's datasheet says.")
}

fn lithium(
    ground: &Ground<'_>,
    cells: &LithiumIronPhosphate,
    missing: &mut Missing,
    found: &mut Vec<Finding>,
) {
    let in_series = f64::from(cells.cells_in_series);
    current(ground, ground.plan.battery.charge_limit_a, BOARD, found);
    let margin_v = ground.scenario.check_limits.bms_margin_cell_v * in_series;
    let trip_v = cells.cell_overvoltage_v.map(|cell_v| cell_v * in_series);
    for (name, path, source) in sources(ground) {
        let about = About::new(name, path);
        let held_v = source.absorption_v.max(source.float_v);
        found.push(set_point(
            &about,
            "set point",
            held_v,
            LITHIUM_CELL_V * in_series,
            LITHIUM,
            Severity::Serious,
        ));
        // Below the touchiest board there is no need to know which it is.
        let least_v = trip_v.unwrap_or(TOUCHIEST_TRIP_CELL_V * in_series);
        let near = held_v > least_v - margin_v + 1e-9;
        if trip_v.is_none() && near {
            let lacks = "volts at which the BMS opens (`cell_overvoltage_v`)";
            missing.note(Subject::BoardTrips, lacks, &about.item);
            continue;
        }
        let board = match trip_v {
            Some(trip_v) => format!("the BMS opens at {} V", num(trip_v, 2)),
            None => format!("the most sensitive BMS opens at {} V", num(least_v, 2)),
        };
        let sentence = format!(
            "It holds {} V and {board}; there should be {} V between them.",
            num(held_v, 2),
            num(margin_v, 2)
        );
        let finding = Finding::new(Subject::BoardTrips, &about, "below BMS limit", sentence, TRIPS)
            .value(held_v, "V")
            .at_most(least_v - margin_v);
        let mend = "Lower the set point: a BMS that opens while charging takes the battery off the \
                    bus.";
        let over = finding.misses();
        found.push(finding.when(over && held_v >= least_v, Severity::Serious, mend).when(
            over,
            Severity::Caution,
            mend,
        ));
    }
    if let Some(disconnect) = &ground.scenario.disconnect {
        let about = About::new("disconnect", "disconnect.disconnect_v");
        let board_v = ground.plan.battery.board_open_v;
        let sentence = format!(
            "It opens at {} V and the BMS at {} V; there should be {} V between them. Else the BMS opens \
             first, and may need a charger to reset it.",
            num(disconnect.disconnect_v, 2),
            num(board_v, 2),
            num(margin_v, 2)
        );
        let finding = Finding::new(Subject::BoardTrips, &about, "above BMS limit", sentence, TRIPS)
            .value(disconnect.disconnect_v, "V")
            .at_least(board_v + margin_v);
        let over = finding.misses();
        found.push(finding.when(
            over,
            Severity::Caution,
            "Let the disconnect open at higher volts.",
        ));
    }
}

fn lead_acid(
    ground: &Ground<'_>,
    acid: &LeadAcid,
    missing: &mut Missing,
    found: &mut Vec<Finding>,
) {
    let in_series = f64::from(acid.cells_in_series);
    let stated_a = ground.plan.battery.charge_limit_a;
    if stated_a.is_finite() {
        current(ground, stated_a, BOARD, found);
    } else if acid.kind == AcidKind::Flooded {
        missing.note(Subject::ChargeCurrent, "charge limit (`charge_limit_a`)", "battery");
    } else {
        let most_a = SEALED_MOST_PER_H * ground.rated_ah();
        current(ground, most_a, ACID_RATE, found);
    }
    for (name, path, source) in sources(ground) {
        let about = About::new(name, path);
        let rated_absorption_v = acid.rated_absorption_v + OVER_ABSORPTION_CELL_V * in_series;
        found.push(set_point(
            &about,
            "set point, bulk",
            source.absorption_v,
            rated_absorption_v,
            ABSORPTION,
            Severity::Serious,
        ));
        // A source that never ends bulk holds that for good.
        let (float_v, for_good) = if source.tail_a >= 0.0 {
            (source.float_v, "float")
        } else {
            (source.absorption_v, "bulk for good")
        };
        // An hour in a vehicle is no float.
        if !matches!(source.kind, SourceKind::Vehicle { .. }) {
            let what = format!("set point, {for_good}");
            let limit_v = FLOAT_CELL_V * in_series;
            found.push(set_point(&about, &what, float_v, limit_v, FLOAT, Severity::Caution));
        }
    }
}
