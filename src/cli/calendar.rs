//! Words of `calendar`.

use std::path::PathBuf;

use clap::Args;

use super::ResultArgs;
use crate::show::calendar::curves::MOST_CURVES;

/// Examples of the command.
pub const EXAMPLES: &str = "\
Examples:
  longwatch calendar hall.json --hours 72
  longwatch calendar hall.json --hours 72 --strategy \"charger on\" --strategy \"solar only\"
  longwatch calendar hall.json --hours 24 --clock-hours 5,11,17,23";

/// The chance of staying on the air, by month and hour of the clock.
#[derive(Debug, Clone, Args)]
pub struct CalendarArgs {
    /// Scenario file; `-` reads standard input
    pub scenario: PathBuf,
    /// How long the mains stays away, h
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub hours: u32,
    /// A strategy of the scenario, as often as wanted; all of them if left out
    #[arg(long, value_name = "NAME")]
    pub strategy: Vec<String>,
    /// Years of normal operation, and so outages a month and hour; 2511 if left out
    #[arg(long, value_name = "N", default_value_t = 2511, hide_default_value = true)]
    #[arg(value_parser = clap::value_parser!(u64).range(1..=1_000_000))]
    pub trials: u64,
    /// Random seed; the same seed gives the same years
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Number of threads; all cores if left out. Results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    /// Hours of the clock that table and chart show, up to four; 0,6,12,18 if left out
    #[arg(long, value_name = "H,H", default_value = "0,6,12,18")]
    #[arg(hide_default_value = true, value_parser = clock_hours)]
    pub clock_hours: ClockHours,
    /// Where the results go
    #[command(flatten)]
    pub results: ResultArgs,
}

/// Hours of the clock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClockHours(pub Vec<u32>);

fn clock_hours(text: &str) -> Result<ClockHours, String> {
    let hours: Option<Vec<u32>> = text
        .split(',')
        .map(|hour| hour.trim().parse().ok().filter(|hour: &u32| *hour < 24))
        .collect();
    let mut hours = hours.unwrap_or_default();
    let count = hours.len();
    hours.sort_unstable();
    hours.dedup();
    if hours.len() == count && (1..=MOST_CURVES).contains(&count) {
        return Ok(ClockHours(hours));
    }
    Err(format!("up to {MOST_CURVES} different hours from 0 to 23 are allowed, such as 0,6,12,18"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_of_the_clock_are_few_and_different() {
        assert_eq!(clock_hours("18, 6"), Ok(ClockHours(vec![6, 18])));
        for wrong in ["", "24", "6,6", "1,2,3,4,5", "noon", "-1", "6;7"] {
            assert!(clock_hours(wrong).is_err(), "{wrong}");
        }
    }
}
