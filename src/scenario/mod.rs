//! The scenario file as its author typed it.
//!
//! Lives here: one struct an object of the file (names of parts are map keys), reading
//! (text to [`Scenario`]), the index from JSON path to place in the text, the range and unit of
//! every number, and the problems with which reading and checking answer. Does not live here:
//! whether the parts make sense together (`plan::check`) and anything that computes.

pub mod basis;
pub mod battery;
pub mod choices;
pub mod club;
pub mod document;
pub mod json_path;
pub mod limits;
pub mod loads;
pub mod outlook;
pub mod past_tests;
pub mod patch;
pub mod preflight;
pub mod prices;
pub mod problem;
pub mod read;
pub mod renamed;
mod scan;
pub mod schedule;
pub mod schema;
pub mod site;
pub mod sources;
pub mod spans;
mod structure;
pub mod sun;
pub mod watch;

pub use document::Scenario;

/// Parts by name, in the order of the file.
pub type Named<T> = indexmap::IndexMap<String, T>;
