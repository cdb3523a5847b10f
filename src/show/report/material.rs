//! What the page tells of.

use super::super::odds::Trials;
use crate::decide::card::OperatingCard;
use crate::decide::compare::Comparison;
use crate::decide::independence::{BatteryAlone, Beside, Reached, Stated};
use crate::decide::preflight::Finding;
use crate::decide::size::Sizing;
use crate::decide::without::Without;
use crate::plan::Plan;
use crate::scenario::Scenario;
use crate::simulate::ledger::Ledger;
use crate::simulate::summary::Summary;

/// Everything that was computed of a station.
pub struct Material<'a> {
    /// The scenario with the strategy in force.
    pub scenario: &'a Scenario,
    /// Its plan.
    pub plan: &'a Plan,
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
    /// Strategies and variants in the same trials, or why there are none.
    pub comparison: &'a Result<Comparison, String>,
    /// Each part lost, each guess moved, or why not.
    pub without: &'a Result<Without, String>,
    /// Panels and battery that it takes, or why that is not told.
    pub sizing: &'a Result<Sizing, String>,
    /// At which charge to be in which tier, or why there is no card.
    pub card: &'a Result<OperatingCard, String>,
    /// Wires, fuses and parts against what they must bear.
    pub findings: &'a [Finding],
    /// The command that makes this page.
    pub command: &'a str,
    /// The command that plays one trial, without its number.
    pub replay: &'a str,
}
