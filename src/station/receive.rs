//! Volts while everything only receives, with the sources off for a minute: what a person can read
//! where volts say how full a battery is.
//!
//! The battery gives what the loads of a tier draw while none is transmitting, so its terminals stand at
//! `V0(s) - I R` ([`super::battery::OneWell::terminal_v`]); its wells, where there are two, are taken
//! as level. Lithium iron phosphate is left out on purpose: between a fifth and nine tenths of its
//! charge the volts differ by less than a meter's error. Trust: as the curve of the battery; plausible
//! for lead-acid that has just been charged or drawn hard.

use super::battery::OneWell;
use super::draw::drawn;
use crate::scenario::Scenario;
use crate::scenario::battery::Battery;

/// Whether volts say how full a battery is.
#[must_use]
pub fn volts_tell(battery: &Battery) -> bool {
    !matches!(battery, Battery::LithiumIronPhosphate(_))
}

/// What a tier draws from the battery at its rated volts while none of its loads is transmitting and all
/// are on, A; 0 for a tier that there is not.
#[must_use]
pub fn receive_a(scenario: &Scenario, battery: &OneWell, tier: usize) -> f64 {
    let Some(tier) = scenario.tiers.get(tier) else { return 0.0 };
    let loads = tier.loads.iter().filter_map(|(name, in_tier)| {
        let load = scenario.loads.get(name)?;
        let receive = drawn(&load.draw, load.transmit_share, in_tier).receive;
        Some(receive.current_a + receive.power_w / battery.nominal_v)
    });
    loads.sum()
}

/// Volts at a charge while receiving, V.
#[must_use]
pub fn receive_v(battery: &OneWell, charge_share: f64, receive_a: f64) -> f64 {
    battery.terminal_v(charge_share, -receive_a)
}

/// Charge at which these volts stand while receiving; not held within 0 to 1.
#[must_use]
pub fn charge_at(battery: &OneWell, volts: f64, receive_a: f64) -> f64 {
    battery.charge_where(volts, -receive_a)
}
