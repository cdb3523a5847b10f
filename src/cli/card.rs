//! The arguments of `card`.

use std::path::PathBuf;

use clap::Args;

use super::ResultArgs;
use super::from_now::FromNowArgs;
use super::in_force::InForceArgs;
use super::now::odds;

/// Shown below the help.
pub const EXAMPLES: &str = "\
Examples:
  longwatch card hall.json
  longwatch card hall.json --charge 55% --at 2027-01-19T14:00 --until 2027-01-21T20:00
  longwatch card hall.json --target 0.99 --out cards";

/// Make a card that says at which charge to be in which tier.
#[derive(Debug, Clone, Args)]
pub struct CardArgs {
    /// Scenario file; `-` reads standard input
    pub scenario: PathBuf,
    /// Where the results go
    #[command(flatten)]
    pub results: ResultArgs,
    /// What is known now
    #[command(flatten)]
    pub from_now: FromNowArgs,
    /// Target: the share of trials in which the station must stay on the air, before anything else
    #[arg(long, value_name = "SHARE", default_value_t = 0.95, value_parser = odds)]
    pub target: f64,
    /// How many fresh trials the card is tried on
    #[arg(long, value_name = "N", default_value_t = 10_000, value_parser = clap::value_parser!(u64).range(100..=10_000_000))]
    pub trials: u64,
    /// Random seed; the same seed gives the same trials
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Number of threads; all cores if left out. Results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    /// Which strategy and variant
    #[command(flatten)]
    pub in_force: InForceArgs,
}
