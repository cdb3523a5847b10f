//! What many trials say to those who decide.
//!
//! Lives here: how likely a station stays on the air and how bad the bad cases are ([`odds`]), and
//! what speaks for its doing without the mains ([`independence`]). Does not live here: the trials
//! themselves, which belong to simulate, and the words and pictures.

pub mod independence;
pub mod odds;
