//! A club exercise: its trials, what it comes to, and the program as its user runs it.

mod clubs;
mod faults;
mod invariants;
mod programs;
mod rules;
