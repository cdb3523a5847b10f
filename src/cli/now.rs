//! The arguments of `now`.

use std::path::PathBuf;

use clap::Args;

use super::from_now::FromNowArgs;
use super::in_force::InForceArgs;

/// Shown below the help.
pub const EXAMPLES: &str = "\
Examples:
  longwatch now hall.json --charge 55% --at 2027-01-19T14:00 --until 2027-01-21T20:00
  longwatch now hall.json --charge 50..60% --at 2027-01-19T14:00 --outlook \"overcast, partly, clear\"
  longwatch now van.json --charge 12.1V --at 2027-06-19T21:30 --target 0.9";

/// Say how long the station stays on the air from now on, tier by tier.
#[derive(Debug, Clone, Args)]
pub struct NowArgs {
    /// Scenario file; `-` reads standard input
    pub scenario: PathBuf,
    /// What is known now
    #[command(flatten)]
    pub from_now: FromNowArgs,
    /// Target: the share of trials in which the answers must hold
    #[arg(long, value_name = "SHARE", default_value_t = 0.95, value_parser = odds)]
    pub target: f64,
    /// Random seed; the same seed gives the same trials
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Number of threads; all cores if left out. Results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    /// Print the results as JSON
    #[arg(long)]
    pub json: bool,
    /// Print all tables and warnings, not only the first screen
    #[arg(long)]
    pub full: bool,
    /// Which strategy and variant
    #[command(flatten)]
    pub in_force: InForceArgs,
}

/// A share of trials that can be shown with a few thousand of them.
pub(super) fn odds(text: &str) -> Result<f64, String> {
    super::amount::share_within(text, 0.5, 0.999)
}
