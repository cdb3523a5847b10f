//! What branches come to: the keys of `calendar.json`.
//!
//! A branch is kept when the station is on the air for all its hours: neither dark nor in a tier in
//! which it does not count as on the air, as for the chance of `odds`. Branches of a point belong
//! to different trials, so its interval is that of a plain count (Wilson 1927); the days of a month
//! are taken evenly, which makes it a little too wide rather than too narrow. Trust: exact for the
//! counts; the intervals are checked against published values.

use serde::Serialize;

use super::counts::{Counts, Days};
use crate::chance::intervals::{Confidence, wilson};
use crate::warning::Warning;

/// The chance of lasting, by month, hour of the clock and strategy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Calendar {
    /// Title of the scenario.
    pub title: String,
    /// Version of the program.
    pub version: String,
    /// The finding in one sentence.
    pub sentence: String,
    /// SHA-256 of the scenario as understood, with the files that it names.
    pub scenario_sha256: String,
    /// Hours that the mains stays away.
    pub hours: u32,
    /// Calendar year of normal operation.
    pub year: i32,
    /// What an outage comes with: `with_storm` (the sky is the worse for it), `any_sky`, `none` (there
    /// is no mains to fail).
    pub outages: Outages,
    /// Years of the measured series that days are taken from, first and last; absent without one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub series_years: Option<(i32, i32)>,
    /// Random seed.
    pub seed: u64,
    /// Trials counted: years of normal operation, and so branches a point.
    pub trials: u64,
    /// Trials asked for.
    pub trials_asked: u64,
    /// Whether it was stopped before all trials were done.
    pub ended_early: bool,
    /// The strategies, in the order asked for.
    pub strategies: Vec<StrategyCalendar>,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

/// What an outage comes with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Outages {
    /// The sky is the worse for it.
    WithStorm,
    /// Whatever the sky is.
    AnySky,
    /// There is no mains to fail.
    None,
}

/// The calendar of one strategy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StrategyCalendar {
    /// Its name.
    pub strategy: String,
    /// The months, January first.
    pub months: Vec<Month>,
    /// The months by the hour of the clock.
    pub points: Vec<Point>,
}

/// One month, whatever the hour at which the mains fails.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Month {
    /// 1 to 12.
    pub month: u32,
    /// Branches, at all hours of the clock.
    pub branches: u64,
    /// Those on the air for all hours.
    pub kept: u64,
    /// Their share.
    pub chance: f64,
    /// Its standard error, from day to day.
    pub chance_standard_error: f64,
    /// The hour of the clock at which the chance is least; the first of equals.
    pub worst_clock_hour: u32,
    /// The chance at that hour.
    pub worst_chance: f64,
    /// The hour of the clock at which it is greatest; the first of equals.
    pub best_clock_hour: u32,
    /// The chance at that hour.
    pub best_chance: f64,
}

/// One month and one hour of the clock.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Point {
    /// 1 to 12.
    pub month: u32,
    /// Hour of the clock at which the mains fails, 0 to 23.
    pub clock_hour: u32,
    /// Branches; fewer than the trials where the clock skips the hour.
    pub trials: u64,
    /// Those on the air for all hours.
    pub kept: u64,
    /// Their share.
    pub chance: f64,
    /// Wilson interval of it, 95 %: low and high end.
    pub chance_wilson_95: [f64; 2],
}

impl StrategyCalendar {
    /// What a strategy came to.
    #[must_use]
    pub fn of(strategy: &str, counts: &Counts) -> Self {
        let mut points = Vec::new();
        let mut months = Vec::new();
        for (month, (tallies, days)) in (1..).zip(counts.points.iter().zip(&counts.days)) {
            let first = points.len();
            for (clock_hour, tally) in (0..).zip(tallies).filter(|(_, it)| it.trials() > 0) {
                let interval = wilson(*tally, Confidence::NINETY_FIVE);
                points.push(Point {
                    month,
                    clock_hour,
                    trials: tally.trials(),
                    kept: tally.successes(),
                    chance: tally.share(),
                    chance_wilson_95: [interval.low, interval.high],
                });
            }
            months.extend(month_of(month, days, &points[first..]));
        }
        Self { strategy: strategy.to_owned(), months, points }
    }

    /// The month in which the chance is least; the first of equals.
    #[must_use]
    pub fn weakest(&self) -> Option<&Month> {
        self.months.iter().min_by(|one, other| one.chance.total_cmp(&other.chance))
    }

    /// The month in which it is greatest; the first of equals.
    #[must_use]
    pub fn strongest(&self) -> Option<&Month> {
        self.months.iter().rev().max_by(|one, other| one.chance.total_cmp(&other.chance))
    }

    /// The chance at an hour of the clock, by month.
    pub fn at(&self, clock_hour: u32) -> impl Iterator<Item = &Point> {
        self.points.iter().filter(move |point| point.clock_hour == clock_hour)
    }
}

fn month_of(month: u32, days: &Days, points: &[Point]) -> Option<Month> {
    let worst = points.iter().min_by(|one, other| one.chance.total_cmp(&other.chance))?;
    let best = points.iter().rev().max_by(|one, other| one.chance.total_cmp(&other.chance))?;
    Some(Month {
        month,
        branches: days.branches,
        kept: days.kept,
        chance: days.share(),
        chance_standard_error: days.standard_error(),
        worst_clock_hour: worst.clock_hour,
        worst_chance: worst.chance,
        best_clock_hour: best.clock_hour,
        best_chance: best.chance,
    })
}
