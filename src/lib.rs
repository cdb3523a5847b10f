//! longwatch

pub mod scenario;
pub mod show;
pub mod simulate;
pub mod warning;
