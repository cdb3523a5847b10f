//! longwatch

pub mod scenario;
pub mod simulate;
pub mod warning;
