//! Walking a plan through time.
//!
//! Lives here: the one step, the book it fills, the single run, the last guard of all results. Does not live here: how a
//! scenario becomes a plan, and what people see of the result.

pub mod beside;
pub mod causes;
pub mod full_book;
pub mod guard;
pub mod ledger;
pub mod origin;
pub mod phase;
pub mod single;
pub mod state;
mod states;
pub mod step;
pub mod summary;
pub mod trials;
