//! A year of normal operation: the scenario that is played, and the steps at which the mains may
//! fail in it.
//!
//! Normal operation is the calendar year of the scenario's start, after at least
//! [`SETTLE_DAYS`] warm-up days from a full battery. The mains is there all the time, or in the
//! pattern of a published rota, or never where there is none; outages that the scenario lists, forces
//! or draws are left out, and so are falls of snow with a date: they belong to its own span. A series
//! that is replayed gives its days in blocks, for one series of days is not a year of chances.

use std::path::Path;

use chrono::{Datelike, NaiveDate, NaiveTime, Timelike};

use super::super::events::Events;
use super::super::prepare::{Options, Prepared, prepare};
use super::super::terms::Terms;
use crate::clock::LocalClock;
use crate::plan::compile::{CompileProblem, clock_and_stretch};
use crate::scenario::Scenario;
use crate::scenario::schedule::Grid;
use crate::scenario::sun::{Coupling, Resample, Storm, Sun};
use crate::sky::random_days::number_of;

/// Days before the year in which the battery finds its charge, at least.
pub const SETTLE_DAYS: u32 = 30;
/// How days of a series that is replayed are taken: in blocks of this many days...
const BLOCKS_DAYS: u32 = 5;
/// ... that begin within this many days of their date in another year.
const SEASON_DAYS: u32 = 15;
/// Hours of a day on the clock.
pub const CLOCK_HOURS: usize = 24;

/// How a year is played.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct YearOptions {
    /// What all draws depend on.
    pub seed: u64,
    /// How long the mains stays away, h.
    pub hours: u32,
    /// Whether uncertain inputs are drawn; otherwise they are as stated.
    pub uncertain: bool,
}

/// A day on which the mains may fail.
#[derive(Debug, Clone)]
pub(super) struct Day {
    pub(super) date: NaiveDate,
    /// Its number, for draws.
    pub(super) number: u32,
    /// The step that begins at each hour of the clock; none where the clock skips it, the first
    /// where it comes twice.
    pub(super) steps: [Option<usize>; CLOCK_HOURS],
}

/// A year of normal operation under one strategy.
#[derive(Debug)]
pub struct Year {
    pub(super) prepared: Prepared,
    pub(super) terms: Vec<Terms>,
    /// By month.
    pub(super) days: Vec<Vec<Day>>,
    /// Steps of a branch before the mains fails: a warning may come in them.
    pub(super) lead_steps: usize,
    /// Steps of a branch after that.
    pub(super) span_steps: usize,
    /// Whether there is a mains to fail.
    pub(super) has_mains: bool,
}

impl Year {
    /// The year of a checked scenario under the strategy in force. Files that it names are looked for
    /// in `base_dir`.
    ///
    /// # Errors
    /// Everything that cannot be compiled.
    pub fn new(
        scenario: &Scenario,
        base_dir: &Path,
        options: YearOptions,
    ) -> Result<Self, Vec<CompileProblem>> {
        let normal = normal_year(scenario, options.hours)?;
        let draws = Options { seed: options.seed, recharge: false, uncertain: options.uncertain };
        let prepared = prepare(&normal, base_dir, Vec::new(), draws)?;
        let days = days_of(&prepared, scenario.span.start.year());
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let lead_steps = (prepared.events.longest_lead_h() / prepared.step_h).ceil() as usize;
        Ok(Self {
            terms: prepared.variants.iter().map(Terms::of).collect(),
            days,
            lead_steps,
            span_steps: options.hours as usize * prepared.steps_an_hour,
            has_mains: prepared.has_mains(),
            prepared,
        })
    }

    /// Years of the series that days are taken from, first and last.
    #[must_use]
    pub fn series_years(&self) -> Option<(i32, i32)> {
        self.prepared.series_years
    }

    /// What happens besides normal operation.
    #[must_use]
    pub fn events(&self) -> &Events {
        &self.prepared.events
    }

    /// Whether there is a mains to fail.
    #[must_use]
    pub fn has_mains(&self) -> bool {
        self.has_mains
    }
}

/// The scenario of a year of normal operation, long enough for an outage of `hours` that begins in
/// its last hour.
///
/// # Errors
/// When the year does not begin or end at an instant of the clock.
pub fn normal_year(scenario: &Scenario, hours: u32) -> Result<Scenario, Vec<CompileProblem>> {
    let (clock, _) = clock_and_stretch(scenario)?;
    let year = scenario.span.start.year();
    let mut normal = scenario.clone();
    let begin = new_year(year).unwrap_or(scenario.span.start.date()).and_time(NaiveTime::MIN);
    normal.span.start = begin;
    normal.span.hours = hours_of_year(&clock, year)?.saturating_add(hours);
    normal.start.charge_share = None;
    let settles = scenario.start.warmup_days.unwrap_or(0).max(SETTLE_DAYS);
    normal.start.warmup_days = Some(settles);
    if scenario.storm.is_none() && scenario.grid != Grid::None {
        normal.storm = Some(Storm::Coupled(Coupling::default()));
    }
    if !matches!(scenario.grid, Grid::None | Grid::Pattern(_)) {
        normal.grid = Grid::Always;
    }
    if let Some(snow) = &mut normal.snow {
        snow.falls.clear();
    }
    if let Sun::Climate(climate) = &mut normal.sun {
        // What was told of a few days is nothing of every year.
        climate.outlook = None;
    }
    if let Sun::Measured(measured) = &mut normal.sun {
        let blocks = Resample { block_days: BLOCKS_DAYS, season_days: SEASON_DAYS };
        measured.resample.get_or_insert(blocks);
    }
    Ok(normal)
}

fn new_year(year: i32) -> Option<NaiveDate> {
    NaiveDate::from_ymd_opt(year, 1, 1)
}

fn hours_of_year(clock: &LocalClock, year: i32) -> Result<u32, Vec<CompileProblem>> {
    let begins = |year: i32| {
        let midnight = new_year(year).unwrap_or_default().and_time(NaiveTime::MIN);
        clock.instant(midnight).map_err(|problem| {
            vec![CompileProblem { path: "span.start".into(), text: problem.to_string() }]
        })
    };
    let hours = (begins(year + 1)? - begins(year)?).num_hours();
    Ok(u32::try_from(hours).unwrap_or(0))
}

/// The days of a year by month, with their steps.
fn days_of(prepared: &Prepared, year: i32) -> Vec<Vec<Day>> {
    let mut months: Vec<Vec<Day>> = vec![Vec::new(); 12];
    for (at, step) in prepared.plan.steps.iter().enumerate() {
        let date = step.start.date_naive();
        if date.year() != year {
            continue;
        }
        let days = &mut months[date.month0() as usize];
        if days.last().is_none_or(|day| day.date != date) {
            days.push(Day { date, number: number_of(date), steps: [None; CLOCK_HOURS] });
        }
        if let Some(day) = days.last_mut() {
            day.steps[step.start.hour() as usize].get_or_insert(at);
        }
    }
    months
}
