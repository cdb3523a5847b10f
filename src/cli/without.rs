//! `without` as typed.

use std::path::PathBuf;

use clap::Args;

use super::in_force::InForceArgs;
use super::{ResultArgs, Trials};

/// Examples under the help of `without`.
pub const EXAMPLES: &str = "\
Examples:
  longwatch without hall.json
  longwatch without hall.json --strategy \"solar only\"";

/// Remove each part and vary each guess in turn.
#[derive(Debug, Clone, Args)]
pub struct WithoutArgs {
    /// Scenario file; `-` reads standard input
    pub scenario: PathBuf,
    /// How many trials, and how
    #[command(flatten)]
    pub trials: Trials,
    /// Which strategy and variant
    #[command(flatten)]
    pub in_force: InForceArgs,
    /// Where the results go
    #[command(flatten)]
    pub results: ResultArgs,
}
