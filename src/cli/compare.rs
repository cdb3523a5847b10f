//! `compare` as typed.

use std::path::PathBuf;

use clap::Args;

use super::{ResultArgs, Trials};

/// Examples under the help of `compare`.
pub const EXAMPLES: &str = "\
Examples:
  longwatch compare hall.json
  longwatch compare hall.json --strategy \"charger on\" --strategy \"solar only\"
  longwatch compare hall.json --variant \"one more panel\" --trials 100000";

/// Compare strategies and variants in the same trials.
#[derive(Debug, Clone, Args)]
pub struct CompareArgs {
    /// Scenario file; `-` reads standard input
    pub scenario: PathBuf,
    /// How many trials, and how
    #[command(flatten)]
    pub trials: Trials,
    /// Compare this strategy; may be given several times. All of them if left out
    #[arg(long, value_name = "NAME")]
    pub strategy: Vec<String>,
    /// Compare this variant; may be given several times. All of them if neither is given
    #[arg(long, value_name = "NAME")]
    pub variant: Vec<String>,
    /// Where the results go
    #[command(flatten)]
    pub results: ResultArgs,
}
