//! The words of `check`.

use std::path::PathBuf;

use clap::Args;

/// Examine a scenario, and every wire, fuse and part of its station.
#[derive(Debug, Clone, Args)]
pub struct CheckArgs {
    /// Scenario file; `-` reads standard input
    pub scenario: PathBuf,
    /// Examine the station of this variant of the scenario
    #[arg(long, value_name = "NAME")]
    pub variant: Option<String>,
    /// Show all: what is in order, what the limits rest on, every warning
    #[arg(long)]
    pub full: bool,
    /// List the numbers that are guesses or rated values, with their lines
    #[arg(long, conflicts_with_all = ["full", "json", "out"])]
    pub guesses: bool,
    /// A caution gives exit code 3 too, as a serious finding does
    #[arg(long)]
    pub strict: bool,
    /// Write a file of format 1 anew with the names of format 2, beside it; order, notes and numbers stay
    #[arg(long, conflicts_with_all = ["variant", "json", "out", "guesses"])]
    pub rewrite: bool,
    /// Print problems, warnings and findings as JSON
    #[arg(long)]
    pub json: bool,
    /// Write the one-line diagram and the findings into this folder; nothing is written if left out
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}
