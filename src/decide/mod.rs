//! What many trials say to those who decide.
//!
//! Lives here: how likely a station stays on the air and how bad the bad cases are ([`odds`]), and
//! whether its wires, fuses and parts bear what is asked of them ([`preflight`]). Does not live here: the trials themselves, which belong to simulate, and the words and pictures.

pub mod odds;
pub mod preflight;
