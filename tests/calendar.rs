//! The calendar: branches against plain trials, exact chances, relations, and the program.
//!
//! Checks by sampling have their seed fixed beforehand and allow 4.5 standard errors.

use crate::support;

mod branches;
mod common;
mod exact;
#[cfg(feature = "png")]
use crate::support::measure;
mod programs;
#[cfg(feature = "png")]
mod sheets;
