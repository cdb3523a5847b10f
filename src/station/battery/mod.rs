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
