//! What the trials are trials of: everything that their results need besides the counts.

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

use crate::plan::Plan;
use crate::scenario::basis::Basis;
use crate::scenario::schedule::Grid;
use crate::scenario::sun::Storm;
use crate::scenario::{Named, Scenario};
use crate::warning::Warning;

/// What one trial is called in a sentence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Occasion {
    /// The mains fails once, and the sky is the worse for it.
    OutageWithStorm,
    /// The mains fails once, whatever the sky.
    Outage,
    /// Only the weather is drawn.
    Weather,
    /// The mains fails and comes back: a trial may see no outage, or many.
    WeatherAndGrid,
}

impl Occasion {
    /// What one trial of a scenario is called.
    #[must_use]
    pub fn of(scenario: &Scenario) -> Self {
        match (&scenario.grid, &scenario.storm) {
            (Grid::Always | Grid::None, _) => Self::Weather,
            (Grid::Random(_) | Grid::Outages(_) | Grid::Pattern(_), _) => Self::WeatherAndGrid,
            (Grid::Outage(_) | Grid::OutageAtRandom(_), Some(Storm::Coupled(_))) => {
                Self::OutageWithStorm
            }
            (Grid::Outage(_) | Grid::OutageAtRandom(_), _) => Self::Outage,
        }
    }
}

/// Whether all trials of a scenario begin at the same time.
#[must_use]
pub fn same_start(scenario: &Scenario) -> bool {
    !matches!(scenario.grid, Grid::OutageAtRandom(_))
}

/// The size of what is gathered.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shape {
    /// Steps of the span.
    pub steps: usize,
    /// Length of a step, h.
    pub step_h: f64,
    /// How many tiers.
    pub tiers: usize,
}

/// Longest span and finest steps that are gathered: ten years of minutes.
const MOST_STEPS: usize = 10 * 366 * 24 * 60;
/// Most tiers that a gathering has room for.
const MOST_TIERS: usize = 1000;
/// Most instants at which the spread of the charge is kept.
const MOST_COLUMNS: usize = 800;

impl Shape {
    /// That of the span of a plan.
    #[must_use]
    pub fn of(plan: &Plan) -> Self {
        let steps = plan.steps.get(plan.settling_steps..).unwrap_or_default();
        Self {
            steps: steps.len(),
            step_h: steps.first().map_or(1.0, |step| step.hours),
            tiers: plan.heads.tiers.len(),
        }
    }

    /// Length of the span, h.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn hours(&self) -> f64 {
        self.step_h * self.steps as f64
    }

    /// Elapsed hours after so many steps.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn elapsed_h(&self, steps: usize) -> f64 {
        self.step_h * steps as f64
    }

    /// Whether it can be that of a span.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        (1..=MOST_STEPS).contains(&self.steps)
            && (1..=MOST_TIERS).contains(&self.tiers)
            && self.step_h > 0.0
            && self.step_h <= 24.0
    }

    /// After how many steps the spread of the charge is kept: at the beginning, every hour (every
    /// few hours in a span longer than 800), and at the end.
    pub fn columns(&self) -> impl Iterator<Item = usize> + use<> {
        let mut every = 1;
        let too_fine =
            |every| self.elapsed_h(every) < 1.0 - 1e-9 || self.steps.div_ceil(every) > MOST_COLUMNS;
        while every < self.steps && too_fine(every) {
            every += 1;
        }
        (0..self.steps).step_by(every).chain([self.steps])
    }
}

/// What the trials are trials of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Subject {
    /// Word for files: the name of the scenario file without its ending.
    pub name: String,
    /// Title of the scenario.
    pub title: String,
    /// Version of the program.
    pub version: String,
    /// SHA-256 of the scenario as understood, with the files that it names.
    pub scenario_sha256: String,
    /// Strategy in force.
    pub strategy: String,
    /// Variant that it is; absent for the scenario itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub variant: Option<String>,
    /// What one trial is called.
    pub occasion: Occasion,
    /// Random seed.
    pub seed: u64,
    /// How many trials were asked for.
    pub trials_asked: u64,
    /// Size of what is gathered.
    pub shape: Shape,
    /// Local time at which the span starts; absent where each trial has its own.
    pub start: Option<DateTime<FixedOffset>>,
    /// Nights, from and to in elapsed hours; none where each trial has its own start.
    pub nights_h: Vec<(f64, f64)>,
    /// Years of the measured series that days are taken from, first and last.
    pub series_years: Option<(i32, i32)>,
    /// Names of the tiers, the fullest first.
    pub tiers: Vec<String>,
    /// Rated, aged capacity of the battery, Ah.
    pub capacity_ah: f64,
    /// Numbers of the scenario by basis.
    pub basis: Named<Basis>,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

/// What a plan does not say of itself.
#[derive(Debug, Clone)]
pub struct Asked {
    /// Word for files.
    pub name: String,
    /// SHA-256 of the scenario as understood, with the files that it names.
    pub scenario_sha256: String,
    /// Variant that it is.
    pub variant: Option<String>,
    /// What one trial is called.
    pub occasion: Occasion,
    /// Random seed.
    pub seed: u64,
    /// How many trials were asked for.
    pub trials: u64,
    /// Whether all trials begin at the same time.
    pub same_start: bool,
    /// Years of the measured series that days are taken from, first and last.
    pub series_years: Option<(i32, i32)>,
}

impl Subject {
    /// Trials of a plan.
    #[must_use]
    pub fn of(plan: &Plan, asked: Asked) -> Self {
        let first = plan.steps.get(plan.settling_steps);
        let shape = Shape::of(plan);
        let nights_h = if asked.same_start { nights(plan) } else { Vec::new() };
        Self {
            name: asked.name,
            title: plan.heads.title.clone(),
            version: env!("CARGO_PKG_VERSION").into(),
            scenario_sha256: asked.scenario_sha256,
            strategy: plan.strategy.clone(),
            variant: asked.variant,
            occasion: asked.occasion,
            seed: asked.seed,
            trials_asked: asked.trials,
            shape,
            start: first.filter(|_| asked.same_start).map(|step| step.start),
            nights_h,
            series_years: asked.series_years,
            tiers: plan.heads.tiers.clone(),
            capacity_ah: plan.heads.capacity_ah,
            basis: plan.basis.clone(),
            warnings: plan.warnings.clone(),
        }
    }
}

/// Spells between sunset and sunrise, elapsed hours. A step that is partly night is so at its
/// beginning before a day, at its end after one.
#[must_use]
pub fn nights(plan: &Plan) -> Vec<(f64, f64)> {
    let steps = plan.steps.get(plan.settling_steps..).unwrap_or_default();
    let mut spells: Vec<(f64, f64)> = Vec::new();
    let mut at_h = 0.0;
    let mut was_night = steps.first().is_some_and(|step| step.daylight_share < 1.0);
    for step in steps {
        let night_h = (1.0 - step.daylight_share).clamp(0.0, 1.0) * step.hours;
        let end_h = at_h + step.hours;
        if night_h > 1e-9 {
            let from = if was_night { at_h } else { end_h - night_h };
            match spells.last_mut() {
                Some((_, to)) if from <= *to + 1e-9 => *to = from + night_h,
                _ => spells.push((from, from + night_h)),
            }
        }
        was_night = step.daylight_share < 1e-9;
        at_h = end_h;
    }
    spells
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_hours_and_few() {
        let of = |steps, step_h| Shape { steps, step_h, tiers: 1 }.columns().collect::<Vec<_>>();
        assert_eq!(of(4, 1.0), [0, 1, 2, 3, 4]);
        assert_eq!(of(10, 0.25), [0, 4, 8, 10]);
        assert_eq!(of(1, 1.0 / 12.0), [0, 1]);
        let year = of(8760, 1.0);
        assert!(year.len() <= 801 && year.last() == Some(&8760), "{}", year.len());
        assert_eq!(year[1], 11);
    }
}
