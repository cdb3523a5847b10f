//! Odds: trials counted, joined, told and drawn. The trials are invented here; what a trial is worth
//! is checked elsewhere. Pictures are left in `target/pictures` for eyes.

mod counts;
mod exact;
use crate::support::figures;
mod intervals;
mod invented;
mod joins;
#[cfg(feature = "png")]
use crate::support::measure;
mod programs;
#[cfg(feature = "png")]
mod sheets;
mod stopping;
mod words;
