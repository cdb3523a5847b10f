//! When the mains is there, and when a warning says that it will not be.

use chrono::{DateTime, Duration, Utc};

use super::{CompileProblem, Stretch};
use crate::clock::LocalClock;
use crate::scenario::Scenario;
use crate::scenario::schedule::{Grid, SupplyRule};

/// A half-open stretch of time.
pub type Interval = (DateTime<Utc>, DateTime<Utc>);

/// Hours as a duration, to the second.
#[allow(clippy::cast_possible_truncation)]
fn hours(count: f64) -> Duration {
    Duration::seconds((count * 3600.0).round() as i64)
}

/// Outages whose instants are known; windows of a pattern are looked up by the timeline.
///
/// # Errors
/// When a time is not one instant of the clock.
pub fn outages(
    scenario: &Scenario,
    clock: &LocalClock,
    stretch: &Stretch,
) -> Result<Vec<Interval>, Vec<CompileProblem>> {
    let instant = |path: String, local| {
        clock.instant(local).map_err(|problem| CompileProblem::new(path, problem))
    };
    match &scenario.grid {
        // A single run has no random outage.
        Grid::Always | Grid::Pattern(_) | Grid::Random(_) => Ok(Vec::new()),
        Grid::None => Ok(vec![(stretch.begin, stretch.end)]),
        Grid::OutageAtRandom(forced) => {
            Ok(vec![(stretch.start, stretch.start + hours(forced.hours))])
        }
        Grid::Outage(forced) => {
            let off =
                instant("grid.outage.off".into(), forced.off).map_err(|problem| vec![problem])?;
            Ok(vec![(off, off + hours(forced.hours))])
        }
        Grid::Outages(listed) => {
            let mut found = Vec::new();
            let mut problems = Vec::new();
            for (at, outage) in listed.iter().enumerate() {
                let off = instant(format!("grid.outages[{at}].off"), outage.off);
                let on = instant(format!("grid.outages[{at}].on"), outage.on);
                match (off, on) {
                    (Ok(off), Ok(on)) => found.push((off, on)),
                    (off, on) => problems.extend(off.err().into_iter().chain(on.err())),
                }
            }
            if problems.is_empty() { Ok(found) } else { Err(problems) }
        }
    }
}

/// Hours for which a strategy in force that waits for warnings holds the supply on after one.
#[must_use]
pub fn hold_h(scenario: &Scenario) -> Option<f64> {
    match &scenario.strategies.get(&scenario.strategy)?.supply {
        SupplyRule::Warned { hold_h, .. } => Some(*hold_h),
        _ => None,
    }
}

/// Stretches in which a rule that waits for a warning has the supply on: in a run the warning of
/// each known outage comes if its chance is 0.5 or more.
#[must_use]
pub fn warned(scenario: &Scenario, outages: &[Interval]) -> Vec<Interval> {
    let Some(service) = scenario.warning.as_ref().filter(|service| service.chance >= 0.5) else {
        return Vec::new();
    };
    let Some(hold_h) = hold_h(scenario) else { return Vec::new() };
    outages
        .iter()
        .map(|(off, _)| {
            let from = *off - hours(service.lead_time_h);
            (from, from + hours(hold_h))
        })
        .collect()
}
