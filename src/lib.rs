//! longwatch

pub mod clock;
pub mod scenario;
pub mod simulate;
pub mod warning;
