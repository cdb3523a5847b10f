//! A club exercise: its trials, what it comes to, and the program as its user runs it.

#[path = "support/mod.rs"]
mod support;

#[path = "exercise/clubs.rs"]
mod clubs;
#[path = "exercise/faults.rs"]
mod faults;
#[path = "exercise/invariants.rs"]
mod invariants;
#[path = "exercise/programs.rs"]
mod programs;
#[path = "exercise/rules.rs"]
mod rules;
