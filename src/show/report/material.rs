//! What the page tells of.

use super::super::odds::Trials;
use crate::decide::independence::{BatteryAlone, Beside, Reached, Stated};
use crate::scenario::Scenario;
use crate::simulate::ledger::Ledger;
use crate::simulate::summary::Summary;

/// Everything that was computed of a station.
pub struct Material<'a> {
    /// The scenario with the strategy in force.
    pub scenario: &'a Scenario,
    /// Hour by hour.
    pub ledger: &'a Ledger,
    /// What the hours come to.
    pub summary: &'a Summary,
    /// Many trials.
    pub trials: Trials<'a>,
    /// Whether it lasts without mains, or why that could not be asked.
    pub reached: &'a Result<Reached, String>,
    /// How long the battery alone lasts, if that could be asked.
    pub alone: Option<&'a BatteryAlone>,
    /// Past tests beside the forecast.
    pub tests: &'a [Beside],
    /// How well each stated number is known.
    pub stated: &'a [Stated],
    /// The command that makes this page.
    pub command: &'a str,
    /// The command that plays one trial, without its number.
    pub replay: &'a str,
}
