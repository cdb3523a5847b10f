//! longwatch

pub mod cli;
pub mod clock;
pub mod commands;
pub mod error;
pub mod scenario;
pub mod simulate;
pub mod warning;
