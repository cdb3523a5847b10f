//! Arguments of `report`.

use std::path::PathBuf;

use clap::Args;

use super::in_force::InForceArgs;

/// Write everything that is found of a station on one page.
#[derive(Debug, Clone, Args)]
pub struct ReportArgs {
    /// Scenario file; `-` reads standard input
    pub scenario: PathBuf,
    /// Write `report.html` into this folder; one under `output/` of its own if left out
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How many trials
    #[arg(long, value_name = "N", default_value_t = 10_000)]
    #[arg(value_parser = clap::value_parser!(u64).range(1..=1_000_000_000))]
    pub trials: u64,
    /// Random seed; the same seed gives the same trials
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Number of threads; all cores if left out. The page does not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    /// Print every warning, not only how many there are
    #[arg(long)]
    pub full: bool,
    /// Which strategy and variant
    #[command(flatten)]
    pub in_force: InForceArgs,
}
