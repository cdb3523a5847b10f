//! The calendar: the chance of lasting so many hours if the mains fails in a month at an hour of the
//! clock, for each strategy.
//!
//! Lives here: counts over branches ([`counts`]), the keys of `calendar.json` ([`result`]), and the
//! way from a scenario to them. Does not live here: years and branches themselves (`simulate`),
//! words, pictures.

pub mod counts;
pub mod result;

use std::path::Path;
use std::sync::atomic::Ordering;

use chrono::Datelike as _;
use rayon::prelude::*;

use crate::error::Error;
use crate::plan::compile::CompileProblem;
use crate::scenario::Scenario;
use crate::scenario::schedule::Grid;
use crate::scenario::sun::{Storm, Sun};
use crate::simulate::trials::Watch;
use crate::simulate::trials::branches::{Year, YearOptions, run_branches};
use crate::warning::{Kind, Warning};
use counts::Counts;
pub use result::{Calendar, Month, Outages, Point, StrategyCalendar};

/// Trials that are run before it is looked whether to stop: 32 of each class of days.
const WAVE: u64 = 31 * 32;

/// What is asked of a calendar.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Options {
    /// How long the mains stays away, h.
    pub hours: u32,
    /// Years of normal operation, and so branches a point.
    pub trials: u64,
    /// What all draws depend on.
    pub seed: u64,
    /// Threads; 0 for all cores.
    pub threads: usize,
    /// The strategies, by name.
    pub strategies: Vec<String>,
}

/// Why there is no calendar.
#[derive(Debug)]
pub enum Trouble {
    /// The scenario cannot be compiled.
    Scenario(Vec<CompileProblem>),
    /// Something else.
    Other(Error),
}

impl From<Error> for Trouble {
    fn from(error: Error) -> Self {
        Self::Other(error)
    }
}

/// The calendar of a checked scenario. Files that it names are looked for in `base_dir`. All
/// strategies meet the same skies and storms. When the watch stops it the trials done count, the
/// same of every strategy.
///
/// # Errors
/// What cannot be compiled, or when threads cannot be started.
pub fn calendar(
    scenario: &Scenario,
    base_dir: &Path,
    options: &Options,
    watch: &Watch,
) -> Result<Calendar, Trouble> {
    let year_options = YearOptions { seed: options.seed, hours: options.hours, uncertain: true };
    let years = options
        .strategies
        .par_iter()
        .map(|strategy| {
            let mut under = scenario.clone();
            under.strategy.clone_from(strategy);
            Year::new(&under, base_dir, year_options)
        })
        .collect::<Result<Vec<Year>, _>>()
        .map_err(Trouble::Scenario)?;
    let mut counts = vec![Counts::default(); years.len()];
    let mut done = 0;
    while done < options.trials && !watch.stop.load(Ordering::Relaxed) {
        let wave = done..done.saturating_add(WAVE).min(options.trials);
        let end = wave.end;
        let mut found = Vec::with_capacity(years.len());
        for year in &years {
            found.extend(run_branches(
                year,
                wave.clone(),
                options.threads,
                Counts::default,
                watch,
            )?);
        }
        if found.len() < years.len() {
            break;
        }
        for (sum, part) in counts.iter_mut().zip(found) {
            sum.add(&part);
        }
        done = end;
    }
    let outages = years.first().map_or(Outages::None, |year| {
        match (year.has_mains(), year.events().storm.is_some()) {
            (false, _) => Outages::None,
            (true, false) => Outages::AnySky,
            (true, true) => Outages::WithStorm,
        }
    });
    Ok(Calendar {
        title: scenario.title.clone(),
        version: env!("CARGO_PKG_VERSION").into(),
        sentence: String::new(),
        scenario_sha256: String::new(),
        hours: options.hours,
        year: scenario.span.start.year(),
        outages,
        series_years: years.first().and_then(Year::series_years),
        seed: options.seed,
        trials: done,
        trials_asked: options.trials,
        ended_early: done < options.trials,
        strategies: options
            .strategies
            .iter()
            .zip(&counts)
            .map(|(name, counts)| StrategyCalendar::of(name, counts))
            .collect(),
        warnings: warnings_of(scenario),
    })
}

/// What the reader of a calendar should know besides what the check of the scenario says.
fn warnings_of(scenario: &Scenario) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let mut note = |path: &str, text: &str| {
        warnings.push(Warning { kind: Kind::Note, path: path.into(), text: text.into() });
    };
    if scenario.grid == Grid::None {
        note(
            "grid",
            "There is no mains that could fail: the calendar says how likely the station stays on the air from each hour on.",
        );
    } else {
        match &scenario.storm {
            None => note(
                "storm",
                "Each outage is taken to come with a storm: two days at a fifth to four fifths of the clearness, a guess. `storm` says what is known.",
            ),
            Some(Storm::Independent) => note(
                "storm",
                "Outages and weather are drawn independently. Storms that take the mains also darken the days after: without them the chance of failing comes out several times too small.",
            ),
            Some(Storm::Coupled(_)) => {}
        }
    }
    if matches!(&scenario.sun, Sun::Measured(measured) if measured.resample.is_none()) {
        note(
            "sun.measured",
            "One measured series is not a year of chances: days are taken from it in blocks of 5 that begin within 15 days of their date. `resample` changes this.",
        );
    }
    warnings
}
