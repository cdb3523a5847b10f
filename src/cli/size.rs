//! The arguments of `size`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::ResultArgs;
use super::in_force::InForceArgs;
use crate::decide::size::{Minimize, USUAL_TRIALS};

/// What stands below the help.
pub const EXAMPLES: &str = "\
Examples:
  longwatch size hall.json --hours 72 --target 0.95
  longwatch size hall.json --lowest-tier \"nets only\" --minimize mass
  longwatch size hall.json --minimize frontier --json";

/// Find the panels and the battery that a station needs.
#[derive(Debug, Clone, Args)]
pub struct SizeArgs {
    /// Scenario file; `-` reads standard input. Its key `sizing` says what there is to choose from
    pub scenario: PathBuf,
    /// Hours to stay on the air; those of the scenario if left out
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=87_840))]
    pub hours: Option<u32>,
    /// Target: the share of trials in which it must; that of the scenario, or 0.95, if left out
    #[arg(long, value_name = "SHARE", value_parser = readiness)]
    pub target: Option<f64>,
    /// The lowest tier that still counts; that of the scenario, or any on the air, if left out
    #[arg(long, value_name = "TIER")]
    pub lowest_tier: Option<String>,
    /// What to minimize: cost, mass, or `frontier` for every smallest station
    #[arg(long, value_name = "WHAT", value_enum, hide_possible_values = true)]
    pub minimize: Option<MinimizeArg>,
    /// Trials of a station at most
    #[arg(long, value_name = "N", default_value_t = USUAL_TRIALS, value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
    pub trials: u64,
    /// Random seed; the same seed gives the same trials
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Number of threads; all cores if left out. Results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    /// Where the results go
    #[command(flatten)]
    pub results: ResultArgs,
    /// Which strategy and variant
    #[command(flatten)]
    pub in_force: InForceArgs,
}

/// Of what there should be least.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum MinimizeArg {
    /// The sum of the prices.
    Cost,
    /// The sum of the masses.
    Mass,
    /// Every smallest station.
    All,
}

impl From<MinimizeArg> for Minimize {
    fn from(least: MinimizeArg) -> Self {
        match least {
            MinimizeArg::Cost => Self::Cost,
            MinimizeArg::Mass => Self::Mass,
            MinimizeArg::All => Self::All,
        }
    }
}

fn readiness(text: &str) -> Result<f64, String> {
    let share = Some(super::amount::share(text)?);
    share.filter(|it| *it > 0.0 && *it < 1.0).ok_or_else(|| {
        "a share above 0 and below 1 is allowed, such as 95% or 0.95; no number of trials can prove 100 %"
            .into()
    })
}
