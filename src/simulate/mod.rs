//! Walking a plan through time.
//!
//! Lives here: the one step, the book it fills, the single run. Does not live here: how a
//! scenario becomes a plan, and what people see of the result.

pub mod ledger;
pub mod summary;
