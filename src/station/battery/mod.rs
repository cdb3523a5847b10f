//! Battery curves.
//!
//! Lives here: what a battery's volts are at a charge and a current, and what it loses. Does not
//! live here: moving the charge through time (simulate).

pub mod acid;
pub mod curve;
pub mod ideal;
pub mod lithium;
pub mod one_well;
pub mod register;

use crate::numbers::elementary::exp_of_minus;
use crate::numbers::lane::Lane;

pub use one_well::OneWell;

/// A battery at rest with this charge is full for all that reads its volts, share: what cells show above
/// it is gone within minutes off the charger. Common practice, no source.
pub const FULL_AT_REST_SHARE: f64 = 0.95;

/// Share of its distance to the temperature around it that a battery keeps over some hours, 0 to 1:
/// `exp(-t / lag)`, Newton's law of cooling (from memory). Without a lag it keeps nothing.
#[must_use]
#[inline(always)]
pub fn kept_share<F: Lane>(lag_h: f64, hours: F) -> F {
    if lag_h <= 0.0 { hours.like(0.0) } else { exp_of_minus(hours / hours.like(lag_h)) }
}
