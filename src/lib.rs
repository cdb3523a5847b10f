//! longwatch

pub mod chance;
pub mod cli;
pub mod clock;
pub mod commands;
pub mod error;
pub mod numbers;
pub mod plan;
pub mod scenario;
pub mod show;
pub mod simulate;
pub mod sky;
pub mod station;
pub mod warning;
