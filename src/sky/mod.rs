//! The sky over the station: sun, irradiance in the plane of each array, air temperature.
//!
//! Lives here: where the sun is, splitting and tilting of irradiance, the skyline, the three
//! sources of sunlight (profile, climate, measured series), the distribution of daily
//! clearness, the drawing of random days, and [`Sky`], the hours of one run. Does not live here:
//! what a panel makes of the light (`station::panel`).

pub mod clearness;
pub mod climate;
pub mod daily;
pub mod day_types;
pub mod events;
pub mod hour;
pub mod measured;
pub mod outlook;
pub mod position;
pub mod problem;
pub mod profile;
pub mod random_days;
pub mod series;
pub mod skyline;
pub mod split;
#[cfg(test)]
mod tests;
pub mod tilt;
pub mod track;
pub mod view;

pub use problem::{SkyProblem, SkyProblemKind};
pub use series::{Sky, SkyHour};
