//! The worksheet of the trade: battery by days of autonomy, panels by array to load.
//!
//! Lives here: every step of it ([`mod@steps`]), and what a scenario puts into it ([`inputs`]). Does not
//! live here: anything that simulates. The worksheet knows no storms, no tiers, no charger and no odds;
//! it is next to the simulation so that people who trust it see where the two part.

pub mod inputs;
pub mod steps;

pub use inputs::worksheet_of;
pub use steps::{Steps, Worksheet, steps};
