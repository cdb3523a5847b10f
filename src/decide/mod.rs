//! What many trials say to those who decide.
//!
//! Lives here: how likely a station stays on the air and how bad the bad cases are ([`odds`]), and
//! in which month and at which hour an outage is worst ([`calendar`]). Does not live here:
//! the trials themselves, which belong to simulate, and the words and pictures.

pub mod calendar;
pub mod odds;
