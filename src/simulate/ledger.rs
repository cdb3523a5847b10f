//! The book of one run: every watt-hour that moved, step by step.
//!
//! Signs: nothing here is negative but temperatures and `residual_wh`; a flow that can go both
//! ways has two names. Energies are watt-hours within the step.

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

pub use super::causes::OffAir;
pub use crate::station::heads::{Heads, NarrowestWindow, Origin, Source, WeatherOf};

/// The whole run with the names that its indices stand for.
#[derive(Debug, Clone, PartialEq)]
pub struct Ledger {
    /// Names and facts that hold for every row.
    pub heads: Heads,
    /// One row a step, in time.
    pub rows: Vec<Row>,
}

impl Ledger {
    /// When within a step the station was off the air: how long after its start and how long, h.
    /// `None` when it was on the air throughout. In a tier that does not count as on the air that is
    /// the whole step, else the time with an essential load unserved.
    #[must_use]
    pub fn off_air(&self, row: &Row) -> Option<(f64, f64)> {
        if !self.heads.counts_as_on_air(row.tier) {
            return Some((0.0, row.hours));
        }
        (row.no_power_h > 0.0).then(|| (row.first_dark_h.unwrap_or(0.0), row.no_power_h))
    }
}

/// One step.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Beginning of the step on the local clock; its UTC instant is the same.
    pub start: DateTime<FixedOffset>,
    /// Length, h.
    pub hours: f64,
    /// Sun up: share of the step between sunrise and sunset.
    pub daylight_share: f64,
    /// Global irradiance on the level, mean, W/m2 (absent with a plane-of-panel profile).
    pub ghi_w_m2: Option<f64>,
    /// Air temperature, deg C.
    pub air_c: f64,
    /// Battery temperature, deg C.
    pub battery_c: f64,
    /// Whether cold forbids charging.
    pub too_cold_to_charge: bool,
    /// Charge that the cold locks when the step begins, share of rated, aged capacity.
    pub locked_share: f64,
    /// Share of the step with mains.
    pub grid_share: f64,
    /// Share of the step with the supply switched on and fed.
    pub supply_share: f64,
    /// Tier in force, by index.
    pub tier: usize,
    /// Flows of each source.
    pub sources: Vec<SourceFlows>,
    /// Flows of each outlet group.
    pub groups: Vec<GroupFlows>,
    /// What the top tier would have drawn beyond the demand of the tier in force, Wh.
    pub shed_wh: f64,
    /// What controllers drew themselves, Wh.
    pub standby_wh: f64,
    /// What the heater of the battery drew, Wh.
    pub heater_wh: f64,
    /// Losses.
    pub losses: Losses,
    /// Energy in the battery when the step began, Wh.
    pub stored_start_wh: f64,
    /// Energy in the battery when it ended, Wh.
    pub stored_end_wh: f64,
    /// Charge when the step began, share of rated, aged capacity.
    pub charge_start_share: f64,
    /// Charge when it ended.
    pub charge_end_share: f64,
    /// Lowest charge within the step.
    pub charge_lowest_share: f64,
    /// Mean volts at the battery terminals, V.
    pub mean_v: f64,
    /// Lowest volts at the battery terminals in any load state that lasts, V.
    pub lowest_v: f64,
    /// Highest volts, V.
    pub highest_v: f64,
    /// Charge put into the battery, Ah.
    pub charged_ah: f64,
    /// Charge taken out of it, Ah.
    pub discharged_ah: f64,
    /// Time with the loads disconnected, h.
    pub open_h: f64,
    /// Time with an essential load unserved, h.
    pub no_power_h: f64,
    /// Hours without power by cause, in the order in which the causes came.
    pub off_air: Vec<OffAir>,
    /// When within the step the dark began, h after its start.
    pub first_dark_h: Option<f64>,
    /// Served energy by origin, Wh.
    pub served_origin: OriginWh,
    /// Energy taken from the mains, Wh.
    pub mains_plug_wh: f64,
    /// Fuel burnt by engine and vehicle, litres.
    pub fuel_l: f64,
    /// Time with the generator running, h.
    pub generator_h: f64,
    /// What does not add up, Wh: rounding, or a fault.
    pub residual_wh: f64,
}

/// Flows of one source.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct SourceFlows {
    /// What it could have given before its own conversion, Wh: maximum-power output of deployed
    /// arrays after named losses; for the mains 0 (it has no weather).
    pub available_wh: f64,
    /// Put on the bus, or given to loads that it supplies, Wh.
    pub used_wh: f64,
    /// Of that, to loads.
    pub to_load_wh: f64,
    /// Of that, to the battery terminals.
    pub to_battery_wh: f64,
    /// Lost in its conversion, Wh.
    pub conversion_loss_wh: f64,
    /// Lost because the panel did not sit at its maximum-power point, Wh.
    pub operating_point_loss_wh: f64,
    /// Refused by its output limit, Wh.
    pub clipped_wh: f64,
    /// Refused by the bus: a set point held, the battery full or too cold, or the source switched off, Wh.
    pub curtailed_wh: f64,
}

/// Flows of one outlet group. `load_wh = served_wh + unserved_wh`.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct GroupFlows {
    /// Demand of the tier in force, Wh.
    pub load_wh: f64,
    /// Delivered at the devices, Wh.
    pub served_wh: f64,
    /// Not delivered, Wh.
    pub unserved_wh: f64,
}

/// Losses of a step, each from its own formula, Wh.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Losses {
    /// Resistance of main feed and group wires: R mean(I^2).
    pub wiring_wh: f64,
    /// Resistance of battery and pack: R mean(I^2).
    pub battery_resistance_wh: f64,
    /// Half the gap between charging and discharging curve: |I| h/2.
    pub battery_hysteresis_wh: f64,
    /// Surface ahead of the bulk: I (V0(surface) - V0(s)).
    pub battery_lag_wh: f64,
    /// Charge that does not enter: gassing of lead-acid cells, stated efficiencies of an ideal
    /// battery.
    pub battery_conversion_wh: f64,
    /// Levelling between the wells of lead-acid cells.
    pub battery_flow_wh: f64,
    /// Self-discharge.
    pub self_discharge_wh: f64,
}

impl Losses {
    /// Adds another stretch of time.
    pub fn add(&mut self, more: &Self) {
        self.wiring_wh += more.wiring_wh;
        self.battery_resistance_wh += more.battery_resistance_wh;
        self.battery_hysteresis_wh += more.battery_hysteresis_wh;
        self.battery_lag_wh += more.battery_lag_wh;
        self.battery_conversion_wh += more.battery_conversion_wh;
        self.battery_flow_wh += more.battery_flow_wh;
        self.self_discharge_wh += more.self_discharge_wh;
    }

    /// All of them, Wh.
    #[must_use]
    pub fn total_wh(&self) -> f64 {
        self.wiring_wh
            + self.battery_resistance_wh
            + self.battery_hysteresis_wh
            + self.battery_lag_wh
            + self.battery_conversion_wh
            + self.battery_flow_wh
            + self.self_discharge_wh
    }
}

/// Energy by origin, Wh.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct OriginWh {
    /// Panels.
    pub sun: f64,
    /// The mains through the supply.
    pub mains: f64,
    /// An engine through the supply.
    pub generator: f64,
    /// A vehicle.
    pub vehicle: f64,
    /// In the battery before the span began.
    pub stored_before: f64,
}
