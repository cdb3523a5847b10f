//! How long the battery alone carries the station: full at the start, nothing charges it.

use serde::Serialize;

use crate::plan::compile::{CompileProblem, compile};
use crate::scenario::Scenario;
use crate::scenario::schedule::Grid;
use crate::simulate::single;

/// Two weeks: what lasts longer is said to last longer.
const WATCHED_H: u32 = 14 * 24;

/// Hours on the air without any source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BatteryAlone {
    /// Hours that were looked at.
    pub watched_h: f64,
    /// Hours until off the air, stepping down by the scenario's rule; null when it was not.
    pub stepping_down_h: Option<f64>,
    /// Hours until off the air with everything of the top tier kept on; null when it was not.
    pub top_tier_h: Option<f64>,
}

/// Simulates the station without sources; `series` is the text of its measured series.
///
/// # Errors
/// Everything that cannot be compiled.
pub fn battery_alone(
    scenario: &Scenario,
    series: Option<&str>,
) -> Result<BatteryAlone, Vec<CompileProblem>> {
    let mut alone = scenario.clone();
    alone.grid = Grid::None;
    alone.arrays.clear();
    alone.controllers.clear();
    alone.supply = None;
    alone.generator = None;
    alone.vehicle = None;
    alone.snow = None;
    alone.start.charge_share = Some(1.0);
    alone.start.warmup_days = None;
    // A measured series may end before.
    alone.span.hours = if series.is_some() { scenario.span.hours } else { WATCHED_H };
    let stepping_down_h = lasts(&alone, series)?;
    alone.shedding = None;
    Ok(BatteryAlone {
        watched_h: f64::from(alone.span.hours),
        stepping_down_h,
        top_tier_h: lasts(&alone, series)?,
    })
}

/// Hours until the station is dark or in a tier in which it is not on the air.
fn lasts(scenario: &Scenario, series: Option<&str>) -> Result<Option<f64>, Vec<CompileProblem>> {
    let plan = compile(scenario, series, Vec::new())?;
    let mut at_h = 0.0;
    for row in &single::run_book(&plan).rows {
        let silent = scenario.tiers.get(row.tier).is_some_and(|tier| !tier.on_air);
        if silent {
            return Ok(Some(at_h));
        }
        if let Some(no_power_h) = row.first_dark_h {
            return Ok(Some(at_h + no_power_h));
        }
        at_h += row.hours;
    }
    Ok(None)
}
