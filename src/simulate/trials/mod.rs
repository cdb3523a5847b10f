//! Many trials of one station.
//!
//! Lives here: what one trial came to ([`outcome`]). Does not live here: what people make of all of
//! them, which belongs to decide.

pub mod outcome;

pub use outcome::{Cause, Gather, Outcome};
