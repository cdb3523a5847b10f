//! Many trials of one plan: what each draws, and the lanes that run them.
//!
//! Lives here: the draws of a trial (sky, grid, warnings, uncertain inputs), the runner that runs
//! blocks of trials side by side through the one step, the light book of a trial, branches that
//! leave a year of normal operation, the stations of a club side by side, and the replay of any trial
//! as a single run. Does not live here: what many outcomes say together (`decide`).

mod book;
pub mod branches;
pub mod club;
mod cohort;
mod company;
mod drawn;
mod engine;
pub mod events;
mod held;
pub mod legs;
mod meeting;
pub mod outcome;
pub mod prepare;
mod replay;
mod skies;
mod terms;
pub mod uncertain;
mod walk;
pub mod weather;

pub use engine::{Watch, outcome_of, run_trials};
pub use outcome::{Cause, Gather, Outcome};
pub use prepare::{Options, Prepared, prepare};
pub use replay::replay;
