//! The pre-flight of `check`: published values of what it measures by, every fault of a bad station,
//! no fault of good ones, what its user sees, and the one-line diagram.

mod bad;
mod charge_left;
mod common;
#[cfg(feature = "png")]
mod diagrams;
mod fused;
mod good;
mod mended;
mod programs;
mod proposals;
mod published;
mod random_leads;
mod screens;
mod shedding;
use crate::support;
use crate::support::shipped;

#[cfg(feature = "png")]
use crate::support::measure;
