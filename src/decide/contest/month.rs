//! A month of normal operation: what a way to run a station costs while nothing happens.
//!
//! The 30 days before the span, under the station's own strategy and without the outage that is
//! forced upon it, settled by 30 days before those; outages that belong to the place (a random or a
//! published one) stay. In a season with an outage at a random hour the month lies in its middle. A
//! replayed series need not reach back so far: then the warm-up days themselves are taken, from a
//! full battery on, and brought to 30 days. A scenario without warm-up days describes no normal
//! operation. Figures are means over many such months. Trust: as the trials.

use std::path::Path;

use chrono::{Days, NaiveDateTime, NaiveTime, TimeDelta};
use serde::Serialize;

use super::counts::Counts;
use super::{Play, Unplayed, play};
use crate::plan::compile::clock_and_stretch;
use crate::scenario::Scenario;
use crate::scenario::schedule::Grid;
use crate::scenario::sun::Sun;
use crate::simulate::trials::Watch;

/// Days of a month.
pub const DAYS: u32 = 30;
/// Months that are played where no fewer are asked for.
pub const MONTHS: u64 = 512;

/// What a month of normal operation takes, on average.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Month {
    /// Energy at the mains plug, kWh.
    pub mains_kwh: f64,
    /// What it costs; absent without a price.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mains_cost: Option<f64>,
    /// Equivalent full cycles of the battery.
    pub cycles: f64,
    /// Hours above 90 % charge.
    pub high_charge_h: f64,
    /// Hours with supply, engine or vehicle live.
    pub noise_h: f64,
    /// Fuel, litres.
    pub fuel_l: f64,
}

/// The scenario of the month, and its days.
#[must_use]
pub fn scenario_of(scenario: &Scenario) -> Option<(Scenario, u32)> {
    let warmup_days = scenario.start.warmup_days.filter(|days| *days > 0)?;
    let mut month = scenario.clone();
    let replays = matches!(&scenario.sun, Sun::Measured(it) if it.resample.is_none());
    let (days, settles) = if replays { (warmup_days, None) } else { (DAYS, Some(DAYS)) };
    month.start.charge_share = None;
    month.start.warmup_days = settles;
    month.span.hours = days * 24;
    let ends = match &scenario.grid {
        Grid::OutageAtRandom(season) => {
            let middle = (season.to.0 - season.from.0) / 2;
            (season.from.0 + middle + TimeDelta::days(i64::from(days / 2))).and_time(NaiveTime::MIN)
        }
        _ => scenario.span.start,
    };
    month.span.start = ends.checked_sub_days(Days::new(days.into()))?;
    if matches!(scenario.grid, Grid::Outage(_) | Grid::OutageAtRandom(_)) {
        month.grid = Grid::Always;
    }
    // The clock may skip that time of day, or show it twice.
    let begins: NaiveDateTime = month.span.start;
    for later_h in 0..4 {
        month.span.start = begins + TimeDelta::hours(later_h);
        if clock_and_stretch(&month).is_ok() {
            return Some((month, days));
        }
    }
    None
}

/// Plays the month; `None` where the scenario describes no normal operation, or where its sky does
/// not reach back so far.
///
/// # Errors
/// When threads cannot be started, or the watch ended it.
pub fn month(
    scenario: &Scenario,
    base_dir: &Path,
    how: &Play,
    watch: &Watch,
) -> Result<Option<Month>, Unplayed> {
    let Some((of_month, days)) = scenario_of(scenario) else { return Ok(None) };
    let how = Play { trials: how.months, ..*how };
    let played = match play(&of_month, base_dir, &how, watch) {
        Ok(played) => played,
        Err(Unplayed::Wrong(_)) => return Ok(None),
        Err(other) => return Err(other),
    };
    let Counts { mains_plug_wh, cycles, high_h, noise_h, fuel_l, .. } = played.counts;
    let months = f64::from(DAYS) / f64::from(days);
    let mains_kwh = mains_plug_wh.mean() / 1000.0 * months;
    Ok(Some(Month {
        mains_kwh,
        mains_cost: scenario.prices.as_ref().map(|prices| prices.mains_per_kwh * mains_kwh),
        cycles: cycles.mean() * months,
        high_charge_h: high_h.mean() * months,
        noise_h: noise_h.mean() * months,
        fuel_l: fuel_l.mean() * months,
    }))
}
