//! longwatch

pub mod chance;
pub mod clock;
pub mod numbers;
pub mod plan;
pub mod scenario;
pub mod simulate;
pub mod station;
pub mod warning;
