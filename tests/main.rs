//! All tests but those in a browser, as one program: the library is linked once.
//!
//! `cargo test odds::` runs one part. `support` holds what several parts need.

mod calendar;
mod cautions;
mod compare;
mod convergence;
mod convergence_acid;
mod diagnostics;
mod docs;
mod empty;
mod exercise;
mod first_screens;
mod from_now;
mod guard;
mod guide;
mod hard_weather;
mod invariants;
mod odds;
mod pictures;
mod preflight;
mod programs;
mod published;
mod report;
mod rooms;
mod size;
mod support;
mod trials;
mod words;
mod worked;
