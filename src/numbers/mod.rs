//! Arithmetic that gives the same bits everywhere.
//!
//! Lives here: one trial or many side by side ([`lane`]), exponential and logarithm written out
//! ([`elementary`]), numbers in digits ([`digits`]). Does not live here: anything that knows what a
//! battery is.

pub mod digits;
pub mod elementary;
pub mod lane;
pub mod packed;
