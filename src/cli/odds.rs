//! `odds` and `merge` as typed.

use std::path::PathBuf;

use clap::Args;

use super::ResultArgs;
use super::amount::share_within;
use super::from_now::FromNowArgs;
use super::in_force::InForceArgs;
use crate::decide::odds::Part;
use crate::decide::odds::shard::MOST_PARTS;

/// Examples under the help of `odds`.
pub const EXAMPLES: &str = "\
Examples:
  longwatch odds hall.json
  longwatch odds hall.json --until-half-width 0.002
  longwatch odds hall.json --trials 1000000 --shard 1/2 --out parts
  longwatch merge parts/odds-part-*.json --out output/hall";

/// Run many trials of a scenario and count how many stay on the air.
#[derive(Debug, Clone, Args)]
pub struct OddsArgs {
    /// Scenario file; `-` reads standard input
    pub scenario: PathBuf,
    /// How many trials; 10000 if left out, with --until-half-width the most that may be run
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=1_000_000_000))]
    pub trials: Option<u64>,
    /// Run rounds of 1000 until half the 95 % range of the chance is at most this share
    #[arg(long, value_name = "SHARE", value_parser = half_width, conflicts_with = "shard")]
    pub until_half_width: Option<f64>,
    /// Random seed; the same seed gives the same trials
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Number of threads; all cores if left out. Results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    /// Run part I of N only and write a file for `merge`
    #[arg(long, value_name = "I/N", value_parser = part)]
    pub shard: Option<Part>,
    /// Where the results go
    #[command(flatten)]
    pub results: ResultArgs,
    /// Which strategy and variant
    #[command(flatten)]
    pub in_force: InForceArgs,
    /// What is known now
    #[command(flatten)]
    pub from_now: FromNowArgs,
}

/// Put the parts of `odds --shard` together.
#[derive(Debug, Clone, Args)]
pub struct MergeArgs {
    /// Files that `odds --shard` wrote, in any order
    #[arg(required = true)]
    pub shards: Vec<PathBuf>,
    /// Where the results go
    #[command(flatten)]
    pub results: ResultArgs,
}

fn half_width(text: &str) -> Result<f64, String> {
    share_within(text, 0.000_01, 0.5)
}

fn part(text: &str) -> Result<Part, String> {
    let parts = text.split_once('/');
    let numbers = parts.and_then(|(number, of)| {
        Some(Part { number: number.trim().parse().ok()?, of: of.trim().parse().ok()? })
    });
    numbers
        .filter(|it| (1..=MOST_PARTS).contains(&it.of) && (1..=it.of).contains(&it.number))
        .ok_or_else(|| format!("a part such as 2/5 is allowed, of at most {MOST_PARTS} parts"))
}
