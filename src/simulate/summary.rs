//! What a run comes to: the keys of `summary.json`.

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use super::ledger::{Losses, OriginWh};
use crate::scenario::Named;

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
    pub dark_h: f64,
    /// When the first of them began.
    pub first_dark: Option<DateTime<FixedOffset>>,
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
    /// Hours from the lowest charge to the next full one (within 1 % of the highest charge that the
    /// set points reach); null when it is not full again within the span.
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
    /// Mains energy taken at the plug.
    pub mains_plug_wh: f64,
    /// What controllers drew themselves.
    pub own_draw_wh: f64,
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
    /// Numbers of the scenario by basis: path to basis, in file order.
    pub basis: Named<crate::scenario::basis::Basis>,
    /// What the reader should know.
    pub warnings: Vec<crate::warning::Warning>,
}
