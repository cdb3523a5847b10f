//! What a run comes to: the keys of `summary.json`.

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use super::beside::{Answer, SilenceCost};
use super::causes::{OffAirHours, by_cause};
use super::ledger::{Ledger, Losses, Origin, OriginWh, Row};
use crate::plan::Plan;
use crate::scenario::Named;
use crate::station::battery::register::Registered;

/// What a run comes to. Energies are watt-hours over the span.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Summary {
    /// Title of the scenario.
    pub title: String,
    /// Version of the program.
    pub version: String,
    /// The finding in one sentence.
    pub sentence: String,
    /// Local time at which the span starts.
    pub start: DateTime<FixedOffset>,
    /// Elapsed hours.
    pub hours: f64,
    /// Strategy in force.
    pub strategy: String,
    /// Demand of the tiers in force; `served_wh + unserved_wh`.
    pub load_wh: f64,
    /// Delivered at the devices.
    pub served_wh: f64,
    /// What the top tier would have drawn besides; never a failure.
    pub shed_wh: f64,
    /// Demand not delivered.
    pub unserved_wh: f64,
    /// Hours with an essential load unserved.
    pub no_power_h: f64,
    /// When the first of them began.
    pub first_no_power: Option<DateTime<FixedOffset>>,
    /// Hours in tiers in which the station does not count as on the air.
    pub off_air_tier_h: f64,
    /// When the first of them began.
    pub first_off_air_tier: Option<DateTime<FixedOffset>>,
    /// Hours off the air: with an essential load unserved, or in a tier in which the station does not
    /// count as on the air. No hour counts twice.
    pub off_air_h: f64,
    /// When the first of them began.
    pub first_off_air: Option<DateTime<FixedOffset>>,
    /// Hours off the air by cause, in the order in which the causes came; `no_power_h` and those of
    /// `off_air_tier_h` that are not dark besides.
    pub off_air: Vec<OffAirHours>,
    /// Hours with the loads disconnected.
    pub disconnected_h: f64,
    /// Hours in each tier.
    pub tier_h: Named<f64>,
    /// Charge when the span begins.
    pub start_charge_share: f64,
    /// Lowest charge, share of rated, aged capacity.
    pub lowest_charge_share: f64,
    /// The same in Ah.
    pub lowest_charge_ah: f64,
    /// When it was reached.
    pub lowest_charge_at: DateTime<FixedOffset>,
    /// Charge when the span ends.
    pub end_charge_share: f64,
    /// Hours from the lowest charge to the next full one; null when it is not full again within the
    /// span. Full is within 1 % of the highest charge that the set points reach; a lead-acid battery
    /// counts as full when at its absorption volts it accepts no more than 2 A per 100 Ah.
    pub hours_to_full_after: Option<f64>,
    /// Lowest volts at the battery terminals in any load state that lasts.
    pub lowest_v: f64,
    /// Maximum-power output of deployed arrays after named losses.
    pub solar_available_wh: f64,
    /// Put on the bus by the controllers.
    pub solar_used_wh: f64,
    /// Lost in the controllers' conversion.
    pub solar_conversion_loss_wh: f64,
    /// Lost away from the maximum-power point.
    pub operating_point_loss_wh: f64,
    /// Refused by output limits.
    pub clipped_wh: f64,
    /// Refused by the bus.
    pub curtailed_wh: f64,
    /// Mains energy, after the supply, that went to loads.
    pub mains_to_load_wh: f64,
    /// Mains energy, after the supply, that went into the battery.
    pub mains_to_battery_wh: f64,
    /// Energy taken from the mains.
    pub mains_plug_wh: f64,
    /// Engine energy, after the supply, that went to loads.
    pub generator_to_load_wh: f64,
    /// Engine energy, after the supply, that went into the battery.
    pub generator_to_battery_wh: f64,
    /// Energy that the vehicle gave.
    pub vehicle_wh: f64,
    /// Engine energy taken by the supply, at the generator's outlets.
    pub generator_plug_wh: f64,
    /// Hours with the generator running.
    pub generator_h: f64,
    /// Fuel burnt by engine and vehicle, litres.
    pub fuel_l: f64,
    /// What controllers drew themselves.
    pub standby_wh: f64,
    /// What the heater of the battery drew.
    pub heater_wh: f64,
    /// Charge put into the battery, Ah.
    pub charged_ah: f64,
    /// Charge taken out of it, Ah.
    pub discharged_ah: f64,
    /// Losses by kind.
    pub losses_wh: Losses,
    /// Served energy by origin.
    pub origin_wh: OriginWh,
    /// Change of the energy in the battery.
    pub stored_change_wh: f64,
    /// Sum of what does not add up.
    pub balance_residual_wh: f64,
    /// Largest |residual| of a step.
    pub largest_step_residual_wh: f64,
    /// What windows in which it is switched off cost; absent when nothing is switched off.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub silence: Option<SilenceCost>,
    /// The answer with 65 % of the rated capacity; absent when the capacity is measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_65_percent: Option<Answer>,
    /// The register of packs by name, as typed, with `counts_ah`, what each counts as; absent when
    /// there are none.
    #[serde(skip_serializing_if = "Named::is_empty")]
    pub packs: Named<Registered>,
    /// Numbers of the scenario by basis: path to basis, in file order.
    pub basis: Named<crate::scenario::basis::Basis>,
    /// What the reader should know.
    pub warnings: Vec<crate::warning::Warning>,
}

/// Below the highest charge that set points reach by this share the battery still counts as full.
const FULL_WITHIN_SHARE: f64 = 0.01;
/// A lead-acid battery counts as full when the current that it accepts at its absorption volts has
/// fallen to this share of its capacity an hour: tail currents of 1 to 3 A per 100 Ah are common
/// practice, no source. The last hundredths take many hours more, which nobody waits for.
const TAIL_PER_H: f64 = 0.02;
/// A battery that accepts little has a small current long before it is full: below this charge it
/// is not called full (judgement).
const LEAST_FULL_SHARE: f64 = 0.9;

/// Sums a run up. The sentence is left empty: wording belongs to `show`.
#[must_use]
pub fn summarise(plan: &Plan, ledger: &Ledger) -> Summary {
    let rows = &ledger.rows;
    let total = |of: &dyn Fn(&Row) -> f64| rows.iter().map(of).sum::<f64>();
    let of_groups = |of: &dyn Fn(&super::ledger::GroupFlows) -> f64| {
        rows.iter().flat_map(|row| &row.groups).map(of).sum::<f64>()
    };
    let of_sources = |origin: Origin, of: &dyn Fn(&super::ledger::SourceFlows) -> f64| {
        rows.iter()
            .flat_map(|row| row.sources.iter().zip(&plan.heads.sources))
            .filter(|(_, source)| source.origin == origin)
            .map(|(flows, _)| of(flows))
            .sum::<f64>()
            + 0.0 // the sum of nothing is -0
    };
    let is_silent = |row: &Row| !plan.heads.counts_as_on_air(row.tier);
    let mut losses_wh = Losses::default();
    let mut origin_wh = OriginWh::default();
    let mut tier_h: Named<f64> = plan.heads.tiers.iter().map(|name| (name.clone(), 0.0)).collect();
    for row in rows {
        losses_wh.add(&row.losses);
        origin_wh.sun += row.served_origin.sun;
        origin_wh.mains += row.served_origin.mains;
        origin_wh.generator += row.served_origin.generator;
        origin_wh.vehicle += row.served_origin.vehicle;
        origin_wh.stored_before += row.served_origin.stored_before;
        if let Some((_, hours)) = tier_h.get_index_mut(row.tier) {
            *hours += row.hours;
        }
    }
    let start = rows.first().map_or_else(DateTime::default, |row| row.start);
    let lowest = lowest_charge(rows);
    Summary {
        title: plan.heads.title.clone(),
        version: env!("CARGO_PKG_VERSION").into(),
        sentence: String::new(),
        start,
        hours: total(&|row| row.hours),
        strategy: plan.strategy.clone(),
        load_wh: of_groups(&|group| group.load_wh),
        served_wh: of_groups(&|group| group.served_wh),
        shed_wh: total(&|row| row.shed_wh),
        unserved_wh: of_groups(&|group| group.unserved_wh),
        no_power_h: total(&|row| row.no_power_h),
        first_no_power: rows
            .iter()
            .find_map(|row| row.first_dark_h.map(|after_h| after(row.start, after_h))),
        off_air_tier_h: total(&|row| if is_silent(row) { row.hours } else { 0.0 }),
        first_off_air_tier: rows.iter().find(|row| is_silent(row)).map(|row| row.start),
        off_air_h: total(&|row| ledger.off_air(row).map_or(0.0, |(_, hours)| hours)),
        first_off_air: rows
            .iter()
            .find_map(|row| ledger.off_air(row).map(|(after_h, _)| after(row.start, after_h))),
        off_air: by_cause(&plan.heads, rows),
        disconnected_h: total(&|row| row.open_h),
        tier_h,
        start_charge_share: rows.first().map_or(0.0, |row| row.charge_start_share),
        lowest_charge_share: lowest.map_or(0.0, |(_, share)| share),
        lowest_charge_ah: lowest.map_or(0.0, |(_, share)| share) * plan.heads.capacity_ah,
        lowest_charge_at: lowest.map_or(start, |(at, _)| end_of(&rows[at])),
        end_charge_share: rows.last().map_or(0.0, |row| row.charge_end_share),
        hours_to_full_after: lowest.and_then(|(at, _)| hours_to_full(plan, &rows[at..])),
        lowest_v: rows.iter().map(|row| row.lowest_v).fold(f64::INFINITY, f64::min),
        solar_available_wh: of_sources(Origin::Sun, &|flows| flows.available_wh),
        solar_used_wh: of_sources(Origin::Sun, &|flows| flows.used_wh),
        solar_conversion_loss_wh: of_sources(Origin::Sun, &|flows| flows.conversion_loss_wh),
        operating_point_loss_wh: of_sources(Origin::Sun, &|flows| flows.operating_point_loss_wh),
        clipped_wh: of_sources(Origin::Sun, &|flows| flows.clipped_wh),
        curtailed_wh: of_sources(Origin::Sun, &|flows| flows.curtailed_wh),
        mains_to_load_wh: of_sources(Origin::Mains, &|flows| flows.to_load_wh),
        mains_to_battery_wh: of_sources(Origin::Mains, &|flows| flows.to_battery_wh),
        mains_plug_wh: total(&|row| row.mains_plug_wh),
        generator_to_load_wh: of_sources(Origin::Generator, &|flows| flows.to_load_wh),
        generator_to_battery_wh: of_sources(Origin::Generator, &|flows| flows.to_battery_wh),
        vehicle_wh: of_sources(Origin::Vehicle, &|flows| flows.used_wh),
        generator_plug_wh: of_sources(Origin::Generator, &|flows| {
            flows.used_wh + flows.conversion_loss_wh
        }),
        generator_h: total(&|row| row.generator_h),
        fuel_l: total(&|row| row.fuel_l),
        standby_wh: total(&|row| row.standby_wh),
        heater_wh: total(&|row| row.heater_wh),
        charged_ah: total(&|row| row.charged_ah),
        discharged_ah: total(&|row| row.discharged_ah),
        losses_wh,
        origin_wh,
        stored_change_wh: rows.last().map_or(0.0, |row| row.stored_end_wh)
            - rows.first().map_or(0.0, |row| row.stored_start_wh),
        balance_residual_wh: total(&|row| row.residual_wh),
        largest_step_residual_wh: rows.iter().map(|row| row.residual_wh.abs()).fold(0.0, f64::max),
        silence: None,
        at_65_percent: None,
        packs: plan.packs.clone(),
        basis: plan.basis.clone(),
        warnings: plan.warnings.clone(),
    }
}

/// Step and value of the lowest charge; the first of equals.
fn lowest_charge(rows: &[Row]) -> Option<(usize, f64)> {
    let mut lowest: Option<(usize, f64)> = None;
    for (at, row) in rows.iter().enumerate() {
        if lowest.is_none_or(|(_, share)| row.charge_lowest_share < share) {
            lowest = Some((at, row.charge_lowest_share));
        }
    }
    lowest
}

/// Charge from which the battery counts as full; `None` when nothing charges it.
#[must_use]
pub fn full_share(plan: &Plan) -> Option<f64> {
    let highest_v = plan.heads.highest_set_point_v?;
    let battery = &plan.battery;
    Some(match &battery.second {
        // Accepted at the absorption volts: what is missing times the acceptance.
        Some(second) => (1.0 - TAIL_PER_H / second.acceptance_per_h).max(LEAST_FULL_SHARE),
        None => battery.curve.share(highest_v - battery.half_gap_v).min(1.0) - FULL_WITHIN_SHARE,
    })
}

fn hours_to_full(plan: &Plan, rows: &[Row]) -> Option<f64> {
    let full = full_share(plan)?;
    let mut passed_h = 0.0;
    for row in rows.iter().skip(1) {
        passed_h += row.hours;
        if row.charge_end_share >= full {
            return Some(passed_h);
        }
    }
    None
}

/// Local time at which a step ends.
#[must_use]
pub fn end_of(row: &Row) -> DateTime<FixedOffset> {
    after(row.start, row.hours)
}

#[allow(clippy::cast_possible_truncation)]
pub(super) fn after(start: DateTime<FixedOffset>, hours: f64) -> DateTime<FixedOffset> {
    start + chrono::Duration::seconds((hours * 3600.0).round() as i64)
}
