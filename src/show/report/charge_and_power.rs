//! Charge and power: how the battery fares, hour by hour.

use super::super::balance::balance;
use super::super::charge::charge;
use super::super::run_table::{
    beside_table, charge_table, engine_table, pack_table, silence_line, tier_table,
};
use super::super::sentence::charge_course;
use super::super::volts::volts;
use super::super::words::charge as amount;
use super::material::Material;
use super::section::Section;

/// Tells the section.
#[must_use]
pub fn charge_and_power(it: &Material) -> Section {
    let (ledger, summary) = (it.ledger, it.summary);
    let mut section = Section::new("charge-and-power", "Charge and power");
    if summary.lowest_charge_share.is_finite() {
        section.prose(format!("Charge of the battery: {}.", charge_course(summary)));
    }
    section.picture(charge(ledger, summary));
    section
        .table("Charge at the start, at its lowest and at the end", charge_table(ledger, summary));
    if let Some(table) = tier_table(summary) {
        section.table("Hours in each tier, and without power", table);
    }
    section.picture(balance(ledger, summary));
    section.picture(volts(ledger, summary));
    if ledger.heads.capacity_ah > 0.0 {
        section.prose(format!(
            "Over the span {} went into the battery and {} came out of it.",
            amount(summary.charged_ah),
            amount(summary.discharged_ah)
        ));
    }
    if let Some(line) = silence_line(summary) {
        section.prose(line.trim_end());
    }
    if let Some(table) = engine_table(summary) {
        section.table("Generator and vehicle", table);
    }
    if let Some(table) = pack_table(summary) {
        section.table("Register of packs", table);
    }
    if let Some(table) = beside_table(summary) {
        section.table("The same hours with less capacity than rated", table);
    }
    section
}
