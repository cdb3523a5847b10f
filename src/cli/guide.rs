//! `guide` as typed.

use clap::Args;

/// Examples under the help of `guide`.
pub const EXAMPLES: &str = "\
Examples:
  longwatch guide                       the list of topics
  longwatch guide odds                  a page
  longwatch guide battery.lead_acid     a key: meaning, unit, range, default
  longwatch guide --find disconnect     every place of a word";

/// Read the manual.
#[derive(Debug, Clone, Args)]
pub struct GuideArgs {
    /// A topic, or a key of a scenario; the list of topics if left out
    pub topic: Option<String>,
    /// Search the pages and the keys for this word
    #[arg(long, value_name = "WORD", conflicts_with = "topic")]
    pub find: Option<String>,
}
