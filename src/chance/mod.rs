//! Chance: the draws of many trials and what their counts are worth.
//!
//! Lives here: random numbers that a trial can look up in any order ([`philox`], [`draw`]), their
//! laws ([`transforms`]), mains that fail and come back ([`outages`]), how sure a count is
//! ([`intervals`]) and sums that join to the same bytes in any order ([`merge`]). Does not live
//! here: what is drawn for which part of a station, weather, and any decision.

pub mod draw;
pub mod intervals;
pub mod merge;
pub mod outages;
pub mod philox;
pub mod problem;
pub mod special;
pub mod transforms;

pub use draw::{Draw, Purpose};
pub use problem::ChanceProblem;
