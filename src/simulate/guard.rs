//! The last guard: whether a result is one that a station can come to.
//!
//! Every command asks it before it tells anything: single runs of their ledger ([`ledger`]) and of
//! what is told beside it ([`answer`]), trials of each outcome ([`outcome`]), of the charge with which
//! a stretch of time ends ([`charge`]) and of hours ([`hours`]). What fails is a fault of the program,
//! never of the scenario: no answer is given (exit code 5). Bounds: charges and shares from 0 to 1,
//! hours within the time that was played, all numbers finite, and in each step a residual of the energy
//! balance of at most a millionth of the throughput and one watt-hour. Tests hold a thousandth of
//! that.

use super::beside::Answer;
use super::ledger::{Ledger, Row};
use super::trials::Outcome;
use crate::error::Error;

/// What does not add up in a step may be so much of what went through it, and of 1 Wh.
pub const MOST_RESIDUAL_SHARE: f64 = 1e-6;
/// Rounding of a share.
const NEAR_SHARE: f64 = 1e-6;
/// Rounding of so many hours, share of them.
const NEAR_HOURS_SHARE: f64 = 1e-9;
/// The same of few, h.
const NEAR_H: f64 = 1e-6;

/// What no station can come to, in words.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct Impossible(String);

impl Impossible {
    /// As what ends a command.
    #[must_use]
    pub fn fault(self) -> Error {
        Error::fault(self.0)
    }

    /// The same, said of something: `trial 17`.
    #[must_use]
    pub fn of(self, what: &str) -> Self {
        Self(format!("{what}: {}", self.0))
    }
}

fn unless(holds: bool, what: &str, value: f64, bounds: &str) -> Result<(), Impossible> {
    if holds { Ok(()) } else { Err(Impossible(format!("{what} is {value}, {bounds}"))) }
}

fn share(what: &str, value: f64) -> Result<(), Impossible> {
    let holds = (-NEAR_SHARE..=1.0 + NEAR_SHARE).contains(&value);
    unless(holds, what, value, "a share outside 0 to 1")
}

fn finite(what: &str, value: f64) -> Result<(), Impossible> {
    unless(value.is_finite(), what, value, "which is no number")
}

/// Checks hours of some kind against the time that was played.
///
/// # Errors
/// When they are negative, more than that, or no number.
pub fn hours(what: &str, value: f64, of_h: f64) -> Result<(), Impossible> {
    let near_h = NEAR_H + NEAR_HOURS_SHARE * of_h;
    let holds = (-near_h..=of_h + near_h).contains(&value);
    unless(holds, what, value, &format!("and {of_h} h were played"))
}

/// Checks a charge.
///
/// # Errors
/// When it is not between empty and full.
pub fn charge(value: f64) -> Result<(), Impossible> {
    share("the charge", value)
}

/// Checks a single run, step by step.
///
/// # Errors
/// The first step that no station can have, and what of it.
pub fn ledger(ledger: &Ledger) -> Result<(), Impossible> {
    let told = |row: &Row| format!("the step at {}", row.start.format("%Y-%m-%d %H:%M"));
    ledger.rows.iter().try_for_each(|row| self::row(row).map_err(|it| it.of(&told(row))))
}

fn row(row: &Row) -> Result<(), Impossible> {
    for (what, value) in [
        ("the charge at its start", row.charge_start_share),
        ("the charge at its end", row.charge_end_share),
        ("the lowest charge", row.charge_lowest_share),
        ("the charge that the cold locks", row.locked_share),
        ("the time with mains", row.grid_share),
        ("the time with the supply on", row.supply_share),
        ("the time with the sun up", row.daylight_share),
    ] {
        share(what, value)?;
    }
    for (what, value) in [
        ("the time off the air", row.no_power_h),
        ("the time with the loads off", row.open_h),
        ("the time of the generator", row.generator_h),
        ("the beginning of the time off the air", row.first_dark_h.unwrap_or(0.0)),
    ] {
        hours(what, value, row.hours)?;
    }
    let mut used_wh = 0.0;
    for flows in &row.sources {
        used_wh += flows.used_wh;
        for (what, value) in [
            ("what a source could give, Wh", flows.available_wh),
            ("what a source gave, Wh", flows.used_wh),
            ("what a source gave to loads, Wh", flows.to_load_wh),
            ("what a source gave to the battery, Wh", flows.to_battery_wh),
            ("the conversion loss of a source, Wh", flows.conversion_loss_wh),
            ("the operating-point loss of a source, Wh", flows.operating_point_loss_wh),
            ("what an output limit refused, Wh", flows.clipped_wh),
            ("what the bus refused, Wh", flows.curtailed_wh),
        ] {
            finite(what, value)?;
        }
    }
    let mut served_wh = 0.0;
    for flows in &row.groups {
        served_wh += flows.served_wh;
        for (what, value) in [
            ("the demand of a group, Wh", flows.load_wh),
            ("what a group was served, Wh", flows.served_wh),
            ("what a group was not served, Wh", flows.unserved_wh),
        ] {
            finite(what, value)?;
        }
    }
    let origin = &row.served_origin;
    for (what, value) in [
        ("the energy shed, Wh", row.shed_wh),
        ("the standby draw of controllers, Wh", row.standby_wh),
        ("the draw of the heater, Wh", row.heater_wh),
        ("the losses, Wh", row.losses.total_wh()),
        ("the energy stored at its start, Wh", row.stored_start_wh),
        ("the energy stored at its end, Wh", row.stored_end_wh),
        ("the mean volts", row.mean_v),
        ("the lowest volts", row.lowest_v),
        ("the highest volts", row.highest_v),
        ("the charge taken in, Ah", row.charged_ah),
        ("the charge given, Ah", row.discharged_ah),
        ("the energy from the sun, Wh", origin.sun),
        ("the energy from the mains, Wh", origin.mains),
        ("the energy from the generator, Wh", origin.generator),
        ("the energy from the vehicle, Wh", origin.vehicle),
        ("the energy stored before, Wh", origin.stored_before),
        ("the energy from the mains, Wh", row.mains_plug_wh),
        ("the fuel, litres", row.fuel_l),
        ("the temperature of the battery", row.battery_c),
        ("the temperature of the air", row.air_c),
        ("the irradiance", row.ghi_w_m2.unwrap_or(0.0)),
    ] {
        finite(what, value)?;
    }
    let through_wh = used_wh + served_wh + (row.charged_ah + row.discharged_ah) * row.mean_v;
    let allowed_wh = MOST_RESIDUAL_SHARE * (through_wh + 1.0);
    unless(
        row.residual_wh.abs() <= allowed_wh,
        "what does not add up, Wh,",
        row.residual_wh,
        &format!("and {through_wh} Wh went through"),
    )
}

/// Checks what a run beside the run comes to, over so many hours.
///
/// # Errors
/// What of it no station can have.
pub fn answer(answer: &Answer, of_h: f64) -> Result<(), Impossible> {
    share("the lowest charge", answer.lowest_charge_share)?;
    hours("the time off the air", answer.no_power_h, of_h)?;
    finite("the energy not served, Wh", answer.unserved_wh)
}

/// Checks one trial of so many hours.
///
/// # Errors
/// What of it no station can have.
pub fn outcome(outcome: &Outcome, of_h: f64) -> Result<(), Impossible> {
    let told = |it: Impossible| it.of(&format!("trial {}", outcome.trial));
    of_outcome(outcome, of_h).map_err(told)
}

fn of_outcome(outcome: &Outcome, of_h: f64) -> Result<(), Impossible> {
    share("the charge at its start", outcome.start_charge_share)?;
    share("the charge at its end", outcome.end_charge_share)?;
    share("the lowest charge", outcome.lowest_charge_share)?;
    outcome.charge_share.iter().try_for_each(|value| charge(*value))?;
    for (what, value) in [
        ("the time off the air", outcome.no_power_h),
        ("the first moment off the air", outcome.first_off_air_h.unwrap_or(0.0)),
        ("the moment of the lowest charge", outcome.lowest_at_h),
        ("the time with a source that makes noise", outcome.noise_h),
        ("the time switched on during a storm", outcome.plugged_in_storm_h),
        ("the time in all tiers", outcome.tier_h.iter().sum()),
    ] {
        hours(what, value, of_h)?;
    }
    outcome.tier_h.iter().try_for_each(|value| hours("the time in a tier", *value, of_h))?;
    for (of_tier_h, value) in outcome.tier_h.iter().zip(&outcome.no_power_tier_h) {
        hours("the time without power in a tier", *value, *of_tier_h)?;
    }
    for (what, value) in [
        ("the demand, Wh", outcome.load_wh),
        ("what was served, Wh", outcome.served_wh),
        ("what was not served, Wh", outcome.unserved_wh),
        ("what was shed, Wh", outcome.shed_wh),
        ("the fuel, litres", outcome.fuel_l),
        ("the energy from the mains, Wh", outcome.mains_plug_wh),
        ("the time until it was charged again, h", outcome.recharge_h.unwrap_or(0.0)),
    ] {
        finite(what, value)?;
    }
    outcome.origin_wh.iter().try_for_each(|value| finite("energy of one origin, Wh", *value))
}
