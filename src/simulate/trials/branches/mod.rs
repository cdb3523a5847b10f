//! Branches: the mains fails at every hour of a day of each month, from what normal operation left.
//!
//! Lives here: the year of normal operation and where branches leave it ([`year`]), and the runner
//! that runs years side by side and lets every branch off (`course`). Does not live here: the
//! steps, which are those of all trials, and what many branches say together (`decide`).

mod course;
mod sample;
pub mod year;

pub use course::{Branches, DayOfBranches, run_branches};
pub use year::{Year, YearOptions, normal_year};
