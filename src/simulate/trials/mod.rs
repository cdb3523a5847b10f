//! Many trials of one station.
//!
//! Lives here: what one trial came to ([`outcome`]). Does not live here: what people make of all of
//! them, which belongs to decide.

pub mod outcome;

use std::sync::atomic::{AtomicBool, AtomicU64};

pub use outcome::{Cause, Gather, Outcome};

/// How far trials are, and whether they are to stop.
#[derive(Debug, Default)]
pub struct Watch {
    /// Trials done.
    pub done: AtomicU64,
    /// Set to stop after the trials that are under way.
    pub stop: AtomicBool,
}
