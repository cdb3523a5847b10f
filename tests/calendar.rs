//! The calendar: branches against plain trials, exact chances, relations, and the program.
//!
//! Checks by sampling have their seed fixed beforehand and allow 4.5 standard errors.

#[path = "support/mod.rs"]
mod support;

#[path = "calendar/branches.rs"]
mod branches;
#[path = "calendar/common.rs"]
mod common;
#[path = "calendar/exact.rs"]
mod exact;
#[cfg(feature = "png")]
#[path = "pictures/measure.rs"]
#[allow(dead_code)]
mod measure;
#[path = "calendar/programs.rs"]
mod programs;
#[cfg(feature = "png")]
#[path = "calendar/sheets.rs"]
mod sheets;
