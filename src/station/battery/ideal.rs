//! Watt-hours with stated efficiencies and volts on a straight line.
//!
//! No resistance, no lag, no gap. While it is empty, loads take what the sources give. For hand
//! checks and cases with exact answers. Trust: exact.

use super::curve::Curve;
use super::one_well::{Constants, OneWell};
use crate::scenario::battery::Ideal;

/// The bank of the scenario.
#[must_use]
pub fn bank(battery: &Ideal) -> OneWell {
    let mean_v = (battery.empty_v + battery.full_v) / 2.0;
    OneWell {
        charge_efficiency_share: battery.charge_efficiency_share,
        discharge_efficiency_share: battery.discharge_efficiency_share,
        charge_limit_a: battery.charge_limit_a.unwrap_or(f64::INFINITY),
        serves_when_empty: true,
        ..OneWell::new(
            Curve::through(&[(0.0, battery.empty_v), (1.0, battery.full_v)]),
            &Constants {
                capacity_ah: battery.capacity_wh / mean_v,
                self_discharge_share_month: battery.self_discharge_share_month,
                nominal_v: mean_v,
                ..Constants::default()
            },
        )
    }
}
