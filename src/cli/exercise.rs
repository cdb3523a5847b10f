//! Arguments of `exercise`.

use std::path::PathBuf;

use clap::Args;

use super::{ResultArgs, share};

/// Examples under the help of the command.
pub const EXAMPLES: &str = "\
Examples:
  longwatch exercise club.json
  longwatch exercise club.json --trials 10000 --target 0.95
  longwatch exercise club.json --out output/june && ls output/june/sheets";

/// Several stations of a club in the same weather, with packs carried between them.
#[derive(Debug, Clone, Args)]
pub struct ExerciseArgs {
    /// File of the club; `-` reads standard input
    pub club: PathBuf,
    /// How many trials
    #[arg(long, value_name = "N", default_value_t = 2000, value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
    pub trials: u64,
    /// Random seed; the same seed gives the same trials
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Number of threads; all cores if left out. Results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    /// Target chance of the club: exit code 3 if its lower bound is below. Spare packs are counted for
    /// it too, instead of the target in the file
    #[arg(long, value_name = "SHARE", value_parser = share)]
    pub target: Option<f64>,
    /// Where the results go
    #[command(flatten)]
    pub results: ResultArgs,
}

/// Print the JSON Schema of a scenario.
#[derive(Debug, Clone, Args)]
pub struct SchemaArgs {
    /// That of a club's file instead
    #[arg(long)]
    pub club: bool,
}
