//! The columns of `ledger.csv`: one list of name, unit, meaning and value.
//!
//! Energies of a step are written as mean power over the step, so that steps of any length compare.

use std::collections::HashSet;

use chrono::SecondsFormat;

use super::places::write_places;
use crate::simulate::causes::main_cause;
use crate::simulate::ledger::{GroupFlows, Ledger, Row, SourceFlows};

/// Where a value comes from.
#[derive(Clone, Copy)]
enum Value {
    /// A text of the row.
    Text(fn(&Row, &Ledger) -> String),
    /// A number of the row and its decimal places.
    Number(fn(&Row, &Ledger) -> Option<f64>, usize),
    /// Energy of the row, Wh; written as W.
    Energy(fn(&Row) -> f64),
    /// Energy of each source, Wh; written as W.
    Source(fn(&SourceFlows) -> f64),
    /// Energy of each outlet group, Wh; written as W.
    Group(fn(&GroupFlows) -> f64),
    /// A number written with all its digits.
    Exact(fn(&Row) -> f64),
}

struct Spec {
    name: &'static str,
    unit: &'static str,
    meaning: &'static str,
    value: Value,
}

const fn spec(name: &'static str, unit: &'static str, meaning: &'static str, value: Value) -> Spec {
    Spec { name, unit, meaning, value }
}

use Value::{Energy, Exact, Group, Number, Source, Text};

/// Places of powers, W: a microwatt.
const POWER_PLACES: usize = 6;

// A table reads best as a table.
#[rustfmt::skip]
const SPECS: [Spec; 57] = [
    spec("start_utc", "", "beginning of the step, UTC", Text(|r, _| {
        r.start.to_utc().to_rfc3339_opts(SecondsFormat::Secs, true)
    })),
    spec("start_local", "", "the same on the local clock, with its offset", Text(|r, _| {
        r.start.to_rfc3339_opts(SecondsFormat::Secs, false)
    })),
    spec("length_h", "h", "length of the step", Number(|r, _| Some(r.hours), 9)),
    spec("ghi_w_m2", "W/m2", "global irradiance on the level, mean; empty with a plane-of-panel profile",
        Number(|r, _| r.ghi_w_m2, 3)),
    spec("daylight_share", "0..1", "share of the step between sunrise and sunset",
        Number(|r, _| Some(r.daylight_share), 6)),
    spec("air_c", "deg C", "air temperature", Number(|r, _| Some(r.air_c), 3)),
    spec("battery_c", "deg C", "battery temperature", Number(|r, _| Some(r.battery_c), 3)),
    spec("too_cold_to_charge", "0 or 1", "1 when cold forbids charging",
        Number(|r, _| Some(f64::from(u8::from(r.too_cold_to_charge))), 0)),
    spec("locked_share", "0..1", "charge that the cold locks, share of rated, aged capacity",
        Number(|r, _| Some(r.locked_share), 6)),
    spec("grid_share", "0..1", "share of the step with mains", Number(|r, _| Some(r.grid_share), 6)),
    spec("supply_share", "0..1", "share of the step with the supply switched on and fed",
        Number(|r, _| Some(r.supply_share), 6)),
    spec("tier", "", "tier in force",
        Text(|r, book| book.heads.tiers.get(r.tier).cloned().unwrap_or_default())),
    spec("<source>_available_w", "W", "maximum-power output of the deployed arrays after named losses; 0 for the mains",
        Source(|s| s.available_wh)),
    spec("<source>_used_w", "W", "put on the bus, or given to loads that the source carries", Source(|s| s.used_wh)),
    spec("<source>_to_load_w", "W", "of that, to loads", Source(|s| s.to_load_wh)),
    spec("<source>_to_battery_w", "W", "of that, to the battery terminals", Source(|s| s.to_battery_wh)),
    spec("<source>_conversion_loss_w", "W", "lost in its conversion", Source(|s| s.conversion_loss_wh)),
    spec("<source>_operating_point_loss_w", "W", "lost because the panel was not at its maximum-power point",
        Source(|s| s.operating_point_loss_wh)),
    spec("<source>_clipped_w", "W", "refused by its output limit", Source(|s| s.clipped_wh)),
    spec("<source>_curtailed_w", "W", "refused by the bus: set point held, battery full or too cold, source switched off",
        Source(|s| s.curtailed_wh)),
    spec("<group>_load_w", "W", "demand of the tier in force in this outlet group", Group(|g| g.load_wh)),
    spec("<group>_served_w", "W", "delivered at the devices", Group(|g| g.served_wh)),
    spec("<group>_unserved_w", "W", "not delivered", Group(|g| g.unserved_wh)),
    spec("shed_w", "W", "what the top tier would have drawn besides; never a failure", Energy(|r| r.shed_wh)),
    spec("charge_share", "0..1", "charge when the step ended, share of rated, aged capacity",
        Number(|r, _| Some(r.charge_end_share), 9)),
    spec("charge_lowest_share", "0..1", "lowest charge within the step", Number(|r, _| Some(r.charge_lowest_share), 9)),
    spec("charge_ah", "Ah", "charge when the step ended",
        Number(|r, book| Some(r.charge_end_share * book.heads.capacity_ah), 6)),
    spec("stored_wh", "Wh", "energy in the battery when the step ended", Number(|r, _| Some(r.stored_end_wh), 6)),
    spec("mean_v", "V", "mean volts at the battery terminals", Number(|r, _| Some(r.mean_v), 4)),
    spec("lowest_v", "V", "lowest volts there in any load state that lasts", Number(|r, _| Some(r.lowest_v), 4)),
    spec("highest_v", "V", "highest volts there", Number(|r, _| Some(r.highest_v), 4)),
    spec("battery_charge_a", "A", "mean current into the battery", Number(|r, _| Some(r.charged_ah / r.hours), 6)),
    spec("battery_discharge_a", "A", "mean current out of it", Number(|r, _| Some(r.discharged_ah / r.hours), 6)),
    spec("disconnected_h", "h", "time with the loads disconnected", Number(|r, _| Some(r.open_h), 6)),
    spec("no_power_h", "h", "time with an essential load unserved", Number(|r, _| Some(r.no_power_h), 6)),
    spec("off_air_cause", "", "why the station is off the air for most of the time that it is: disconnect, bms_volts, bms_current, bms_waits, empty, cold, device_window or tier",
        Text(|r, book| main_cause(&book.heads, r))),
    spec("unserved_w", "W", "demand not delivered, all groups",
        Energy(|r| r.groups.iter().map(|g| g.unserved_wh).sum())),
    spec("standby_w", "W", "what controllers drew themselves", Energy(|r| r.standby_wh)),
    spec("heater_w", "W", "what the heater of the battery drew", Energy(|r| r.heater_wh)),
    spec("wiring_loss_w", "W", "resistance of main feed and group wires", Energy(|r| r.losses.wiring_wh)),
    spec("battery_resistance_loss_w", "W", "resistance of battery and pack",
        Energy(|r| r.losses.battery_resistance_wh)),
    spec("battery_hysteresis_loss_w", "W", "half the gap between charging and discharging curve",
        Energy(|r| r.losses.battery_hysteresis_wh)),
    spec("battery_lag_loss_w", "W", "surface of the electrodes ahead of their bulk", Energy(|r| r.losses.battery_lag_wh)),
    spec("battery_conversion_loss_w", "W", "charge that does not enter: gassing of lead-acid cells, efficiencies of an ideal battery",
        Energy(|r| r.losses.battery_conversion_wh)),
    spec("battery_flow_loss_w", "W", "levelling between the wells of lead-acid cells",
        Energy(|r| r.losses.battery_flow_wh)),
    spec("self_discharge_w", "W", "self-discharge of the battery", Energy(|r| r.losses.self_discharge_wh)),
    spec("stored_change_w", "W", "energy in the battery, end less start; below zero when it falls",
        Energy(|r| r.stored_end_wh - r.stored_start_wh)),
    spec("mains_plug_w", "W", "taken at the mains plug", Energy(|r| r.mains_plug_wh)),
    spec("generator_h", "h", "time with the generator running", Number(|r, _| Some(r.generator_h), 6)),
    spec("fuel_l", "l", "fuel burnt by generator and vehicle", Number(|r, _| Some(r.fuel_l), 6)),
    spec("served_from_sun_w", "W", "served, by origin: panels", Energy(|r| r.served_origin.sun)),
    spec("served_from_mains_w", "W", "served, by origin: the mains", Energy(|r| r.served_origin.mains)),
    spec("served_from_generator_w", "W", "served, by origin: the generator", Energy(|r| r.served_origin.generator)),
    spec("served_from_vehicle_w", "W", "served, by origin: a vehicle", Energy(|r| r.served_origin.vehicle)),
    spec("served_from_before_w", "W", "served, by origin: in the battery before the span",
        Energy(|r| r.served_origin.stored_before)),
    spec("served_w", "W", "delivered at the devices, all groups", Energy(|r| r.groups.iter().map(|g| g.served_wh).sum())),
    spec("residual_wh", "Wh", "what does not add up in the step: rounding, or a fault", Exact(|r| r.residual_wh)),
];

/// Name, unit and meaning of every column, `<source>` and `<group>` standing for each in turn: what
/// the documentation prints.
#[must_use]
pub fn columns() -> Vec<(&'static str, &'static str, &'static str)> {
    SPECS.iter().map(|s| (s.name, s.unit, s.meaning)).collect()
}

/// One column of a given ledger.
#[derive(Clone)]
pub struct Column {
    /// Its head.
    pub name: String,
    value: Value,
    index: usize,
}

impl Column {
    /// Writes what it holds in a row: nothing if absent or not a number.
    pub fn write(&self, row: &Row, ledger: &Ledger, to: &mut Vec<u8>) {
        let mut number = |value: f64, decimals| write_places(value, decimals, to);
        match self.value {
            Text(value) => to.extend_from_slice(value(row, ledger).as_bytes()),
            Number(value, decimals) => {
                if let Some(value) = value(row, ledger) {
                    number(value, decimals);
                }
            }
            Energy(value) => number(value(row) / row.hours, POWER_PLACES),
            Source(value) => {
                if let Some(flows) = row.sources.get(self.index) {
                    number(value(flows) / row.hours, POWER_PLACES);
                }
            }
            Group(value) => {
                if let Some(flows) = row.groups.get(self.index) {
                    number(value(flows) / row.hours, POWER_PLACES);
                }
            }
            Exact(value) => {
                let value = value(row);
                if value.is_finite() {
                    to.extend_from_slice(format!("{value:e}").as_bytes());
                }
            }
        }
    }
}

/// The columns of a ledger: one for each source and group where the list says so. Heads are unique.
#[must_use]
pub fn columns_of(ledger: &Ledger) -> Vec<Column> {
    let sources: Vec<&str> = ledger.heads.sources.iter().map(|s| s.name.as_str()).collect();
    let groups: Vec<&str> = ledger.heads.groups.iter().map(String::as_str).collect();
    let (sources, groups) = (header_words(&sources, "source"), header_words(&groups, "group"));
    let mut taken: HashSet<String> =
        SPECS.iter().filter(|s| !s.name.starts_with('<')).map(|s| s.name.to_owned()).collect();
    let mut columns = Vec::new();
    for spec in &SPECS {
        let (mark, words) = match spec.value {
            Source(_) => ("<source>", &sources),
            Group(_) => ("<group>", &groups),
            _ => {
                columns.push(Column { name: spec.name.to_owned(), value: spec.value, index: 0 });
                continue;
            }
        };
        for (index, word) in words.iter().enumerate() {
            let mut name = spec.name.replace(mark, word);
            while !taken.insert(name.clone()) {
                name.insert(0, '_');
            }
            columns.push(Column { name, value: spec.value, index });
        }
    }
    columns
}

/// Names as words of a header: lower-case ASCII letters, digits and `_`, no two the same.
#[must_use]
pub fn header_words(names: &[&str], stand_in: &str) -> Vec<String> {
    let mut taken = HashSet::new();
    let mut words = Vec::new();
    for name in names {
        let spaced: String = name
            .chars()
            .map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { ' ' })
            .collect();
        let joined = spaced.split_whitespace().collect::<Vec<_>>().join("_");
        let base = if joined.is_empty() { stand_in.to_owned() } else { joined };
        let mut word = base.clone();
        let mut turn = 2;
        while !taken.insert(word.clone()) {
            word = format!("{base}_{turn}");
            turn += 1;
        }
        words.push(word);
    }
    words
}
