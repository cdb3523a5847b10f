//! longwatch

pub mod scenario;
pub mod simulate;
pub mod sky;
pub mod station;
pub mod warning;
