//! `new` as typed.

use std::path::PathBuf;

use chrono::NaiveDateTime;
use clap::Args;
use clap::builder::PossibleValuesParser;
use clap::builder::TypedValueParser as _;

use super::{local_time, within};

/// Examples under the help of `new`.
pub const EXAMPLES: &str = "\
Examples:
  longwatch new hall.json --latitude 47.5 --longitude 8.5 --zone Europe/Zurich
  longwatch new van.json --panels-w 120 --battery-ah 50 --no-mains
  longwatch new --cells 8 | longwatch run -";

/// Write a small station to start from.
#[derive(Debug, Clone, Args)]
pub struct NewArgs {
    /// File to write; `-` writes to standard output
    #[arg(default_value = "-", hide_default_value = true)]
    pub path: PathBuf,
    /// Replace the file if it exists
    #[arg(long)]
    pub force: bool,
    /// What the results are headed with
    #[arg(long, default_value = "New station")]
    pub title: String,
    /// Degrees north, south negative; 45 on an invented coast if left out
    #[arg(long, value_name = "DEG", allow_hyphen_values = true, value_parser = latitude)]
    pub latitude: Option<f64>,
    /// Degrees east, west negative; -45 if left out
    #[arg(long, value_name = "DEG", allow_hyphen_values = true, value_parser = longitude)]
    pub longitude: Option<f64>,
    /// Time zone such as America/Halifax; a fixed offset by longitude if left out
    #[arg(long, value_name = "NAME")]
    pub zone: Option<String>,
    /// Rated power of all panels together, W; 0 for none, 400 if left out
    #[arg(long, value_name = "W", value_parser = panels_w)]
    pub panels_w: Option<f64>,
    /// Rated capacity of the battery, Ah, a guess until it is measured; what stores 2560 Wh if left out
    #[arg(long, value_name = "AH", value_parser = battery_ah)]
    pub battery_ah: Option<f64>,
    /// Lithium cells in series: 4 (12.8 V), 8, 16, or 1 for a tenth of the station
    #[arg(long, value_name = "N", default_value = "4", hide_possible_values = true)]
    #[arg(value_parser = PossibleValuesParser::new(["1", "4", "8", "16"]).try_map(|text| text.parse::<u32>()))]
    pub cells: u32,
    /// No mains and no mains supply
    #[arg(long)]
    pub no_mains: bool,
    /// Hours to simulate; the mains fails at their start
    #[arg(long, value_name = "N", default_value_t = 72, value_parser = clap::value_parser!(u32).range(1..=8784))]
    pub hours: u32,
    /// Local time at which they start; a midwinter evening if left out
    #[arg(long, value_name = "YYYY-MM-DDTHH:MM", value_parser = local_time)]
    pub start: Option<NaiveDateTime>,
}

fn latitude(text: &str) -> Result<f64, String> {
    // Beyond 80 degrees there is no guess of the climate.
    within(text, -80.0, 80.0)
}

fn longitude(text: &str) -> Result<f64, String> {
    within(text, -180.0, 180.0)
}

fn panels_w(text: &str) -> Result<f64, String> {
    within(text, 0.0, 100_000.0)
}

fn battery_ah(text: &str) -> Result<f64, String> {
    within(text, 1.0, 100_000.0)
}
