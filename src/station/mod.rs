//! Physics of the parts, one at a time.
//!
//! Lives here: wire and what it carries, fuses, draw of a load, sets of loads transmitting by operators,
//! panels, battery curves, the air that gassing cells need. Does not live here: when anything is on (plan) and how parts act on
//! each other through time (simulate).

pub mod ampacity;
pub mod battery;
pub mod converter;
pub mod draw;
pub mod fuse;
pub mod heads;
pub mod load_set;
pub mod load_states;
pub mod panel;
pub mod receive;
pub mod snow;
pub mod switching;
pub mod ventilation;
pub mod wire;
