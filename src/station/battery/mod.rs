//! Battery curves.
//!
//! Lives here: what a battery's volts are at a charge and a current, and what it loses. Does not
//! live here: moving the charge through time (simulate).

pub mod acid;
pub mod ideal;
pub mod lithium;
pub mod one_well;
pub mod register;

pub use one_well::OneWell;

/// A battery at rest with this charge is full for all that reads its volts, share: what cells show above
/// it is gone within minutes off the charger. Common practice, no source.
pub const FULL_AT_REST_SHARE: f64 = 0.95;
