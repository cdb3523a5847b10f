//! From a scenario to what its trials share.

use std::path::Path;

use chrono::{DateTime, Duration, FixedOffset, NaiveTime};

use super::events::{Events, false_alarm_gaps, renewal};
use super::uncertain;
use super::weather::{CalmPlan, Weather};
use crate::chance::draw::{Draw, Purpose};
use crate::chance::transforms::shares::whole_below;
use crate::plan::check::series_text;
use crate::plan::compile::{CompileProblem, Hours, clock_and_stretch, compile, grid, sky_of};
use crate::plan::exposure::Exposure;
use crate::plan::{Plan, TemperaturePlan};
use crate::scenario::Scenario;
use crate::scenario::schedule::Grid;
use crate::scenario::sun::{Coupling, Storm, Sun, Uncertain};
use crate::simulate::single;
use crate::warning::Warning;

/// Hours beyond the span in which a station is watched while it charges again.
const AFTER_H: u32 = 48;
/// A start below this share of that of the mean day is low.
const LOW_START: f64 = 0.5;

/// How trials are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Options {
    /// What all draws depend on.
    pub seed: u64,
    /// Whether the station is watched after the span, until it is charged again.
    pub recharge: bool,
    /// Whether uncertain inputs are drawn; otherwise they are as stated.
    pub uncertain: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self { seed: 1, recharge: true, uncertain: true }
    }
}

/// What the trials of a scenario share.
#[derive(Debug, Clone)]
pub struct Prepared {
    /// What all draws depend on.
    pub seed: u64,
    /// The plan of the mean day, for names and facts: as a run has it.
    pub plan: Plan,
    /// Hours of the span.
    pub span_h: u32,
    /// Steps before the span, in it, and after it.
    pub settling_steps: usize,
    /// Steps in the span: as many as an outcome has charges.
    pub span_steps: usize,
    /// Steps after it.
    pub after_steps: usize,
    /// Length of a step, h.
    pub step_h: f64,
    /// Charge at the span's beginning below which a failed trial was low from the start.
    pub low_start_share: f64,
    /// Years of the series that days are taken from, first and last.
    pub series_years: Option<(i32, i32)>,
    /// Plans by level of what is uncertain, over all the time that any trial needs.
    pub(super) variants: Vec<Plan>,
    pub(super) uncertain: Uncertain,
    pub(super) exposure: Exposure,
    pub(super) weather: Weather,
    pub(super) events: Events,
    /// The beginning of the first hour of weather, h since the first slice begins: 0 or before.
    pub(super) weather_begins_h: f64,
    /// First slice of each step, and the number of slices.
    pub(super) slice_of_step: Vec<usize>,
    /// Hour of weather in which each step begins.
    pub(super) hour_of_step: Vec<usize>,
    /// Whether the mains is there, by slice, as far as that is not drawn.
    pub(super) grid: Vec<bool>,
    /// How steps before storm and snow are laid out side by side, if they are.
    pub(super) calm: Option<CalmPlan>,
    /// Where the spans of trials begin at random: how many hours to choose from.
    pub(super) begin_hours: Option<u32>,
    pub(super) steps_an_hour: usize,
    pub(super) engine_fails_chance: f64,
    /// Bounds within which trials draw the charge that they begin with.
    pub(super) start_between: Option<[f64; 2]>,
}

/// Where in the plans a trial goes its way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Way {
    pub(super) variant: usize,
    pub(super) first_step: usize,
}

/// Prepares the trials of a checked scenario. Files that it names are looked for in `base_dir`;
/// `warnings` are what the check has said.
///
/// # Errors
/// Everything that cannot be compiled.
pub fn prepare(
    scenario: &Scenario,
    base_dir: &Path,
    warnings: Vec<Warning>,
    options: Options,
) -> Result<Prepared, Vec<CompileProblem>> {
    let series = match &scenario.sun {
        Sun::Measured(measured) => Some(series_text(measured, base_dir).map_err(|(text, _)| {
            vec![CompileProblem { path: "sun.measured.file".into(), text }]
        })?),
        Sun::Profile(_) | Sun::Climate(_) => None,
    };
    let series = series.as_deref();
    let plan = compile(scenario, series, warnings)?;

    // The time that any trial needs.
    let mut long = scenario.clone();
    let mut begin_hours = None;
    let after_h = if options.recharge { after_h(scenario) } else { 0 };
    long.span.hours = scenario.span.hours.saturating_add(after_h);
    if let Grid::OutageAtRandom(forced) = &scenario.grid {
        let (clock, _) = clock_and_stretch(scenario)?;
        let instant = |key: &str, date: chrono::NaiveDate| {
            clock.instant(date.and_time(NaiveTime::MIN)).map_err(|problem| {
                vec![CompileProblem {
                    path: format!("grid.outage_at_random.{key}"),
                    text: problem.to_string(),
                }]
            })
        };
        let season: Duration = instant("to", forced.to.0)? - instant("from", forced.from.0)?;
        let hours = u32::try_from(season.num_hours()).unwrap_or(0).max(1);
        begin_hours = Some(hours);
        long.span.start = forced.from.0.and_time(NaiveTime::MIN);
        long.span.hours = long.span.hours.saturating_add(hours - 1);
        long.grid = Grid::Always;
    }
    let (clock, stretch) = clock_and_stretch(&long)?;
    let sky = sky_of(&long, series)?;
    let uncertain = long.uncertain.filter(|_| options.uncertain).unwrap_or_default();
    let mut variants = Vec::new();
    let mut exposure = None;
    for variant in 0..uncertain::variants(&uncertain) {
        let other = uncertain::scenario_of(&long, &uncertain, variant);
        let (plan, stands) = Hours::of(&sky, &other)?.exposed(&other, Vec::new())?;
        variants.push(plan);
        exposure.get_or_insert(stands);
    }
    let (Some(exposure), Some(first)) = (exposure, variants.first()) else {
        return Err(Vec::new());
    };
    let slice_of_step = slice_of_step(first);
    let firsts = slice_of_step[..slice_of_step.len() - 1].iter();
    let hour_of_step: Vec<usize> =
        firsts.map(|at| exposure.slices[*at].hour.unwrap_or(0)).collect();
    let offset = clock.standard_offset(stretch.begin);
    let weather =
        Weather::new(&long, &exposure.arrays, offset, sky.first(), sky.hours().len(), series)?;
    let calm = weather.calm_plan(&exposure, &hour_of_step);
    let steps_an_hour = 60 / stretch.step_min as usize;
    let in_steps = |hours: u32| hours as usize * steps_an_hour;
    let rows = single::run_book(&plan).rows;
    let begins_share = rows.first().map_or(1.0, |row| row.charge_start_share);
    #[allow(clippy::cast_precision_loss)]
    let weather_begins_h = (sky.first() - stretch.begin).num_seconds() as f64 / 3600.0;
    Ok(Prepared {
        seed: options.seed,
        span_h: scenario.span.hours,
        settling_steps: stretch.settling_steps,
        span_steps: in_steps(scenario.span.hours),
        after_steps: in_steps(after_h),
        step_h: stretch.step_hours(),
        low_start_share: LOW_START * begins_share,
        series_years: weather.series_years(),
        uncertain,
        events: events_of(scenario, &clock, &stretch)?,
        weather_begins_h,
        slice_of_step,
        hour_of_step,
        grid: first.slices.iter().map(|slice| slice.grid).collect(),
        calm,
        begin_hours,
        steps_an_hour,
        engine_fails_chance: scenario
            .generator
            .as_ref()
            .map_or(0.0, |engine| engine.fails_to_start_chance),
        start_between: scenario.start.charge_between_share,
        plan,
        variants,
        exposure,
        weather,
    })
}

/// Nothing comes back where nothing goes, and a replayed series ends where it ends.
fn after_h(scenario: &Scenario) -> u32 {
    let replays = matches!(&scenario.sun, Sun::Measured(it) if it.resample.is_none());
    let goes = !matches!(scenario.grid, Grid::Always | Grid::None);
    if goes && !replays && scenario.supply.is_some() { AFTER_H } else { 0 }
}

fn slice_of_step(plan: &Plan) -> Vec<usize> {
    let mut first = Vec::with_capacity(plan.steps.len() + 1);
    for (at, slice) in plan.slices.iter().enumerate() {
        if slice.step == first.len() {
            first.push(at);
        }
    }
    first.push(plan.slices.len());
    first
}

fn events_of(
    scenario: &Scenario,
    clock: &crate::clock::LocalClock,
    stretch: &crate::plan::compile::Stretch,
) -> Result<Events, Vec<CompileProblem>> {
    let mut events = Events::default();
    match &scenario.grid {
        Grid::Always | Grid::None | Grid::Pattern(_) => {}
        Grid::Outages(_) | Grid::Outage(_) => {
            #[allow(clippy::cast_precision_loss)]
            let since_h = |at: chrono::DateTime<chrono::Utc>| {
                (at - stretch.begin).num_seconds() as f64 / 3600.0
            };
            let outages = grid::outages(scenario, clock, stretch)?;
            events.known = outages.iter().map(|(off, on)| (since_h(*off), since_h(*on))).collect();
            events.known.sort_by(|one, other| one.0.total_cmp(&other.0));
        }
        Grid::OutageAtRandom(forced) => events.forced_h = Some(forced.hours),
        Grid::Random(random) => events.renewal = Some(renewal(random)?),
    }
    events.storm = match &scenario.storm {
        Some(Storm::Coupled(coupling)) => Some(coupling.clone()),
        None if events.renewal.is_some() => Some(Coupling::default()),
        Some(Storm::Independent) | None => None,
    };
    if let (Some(service), Some(hold_h)) = (&scenario.warning, grid::hold_h(scenario)) {
        events.false_alarms = false_alarm_gaps(service);
        events.warning = Some((service.clone(), hold_h));
    }
    Ok(events)
}

impl Prepared {
    /// Steps of one trial.
    pub(super) fn steps(&self) -> usize {
        self.settling_steps + self.span_steps + self.after_steps
    }

    /// How many ways there are to go.
    pub(super) fn ways(&self) -> usize {
        self.variants.len() * self.begin_hours.map_or(1, |hours| hours as usize)
    }

    /// The way of a trial.
    pub(super) fn way_of(&self, trial: u64) -> Way {
        let hour = self.begin_hours.map_or(0, |hours| {
            let draw = Draw::new(self.seed, trial, 0, Purpose::OutageHour);
            whole_below(draw.uniform(), hours)
        });
        Way {
            variant: uncertain::variant_of(&self.uncertain, self.seed, trial),
            first_step: hour as usize * self.steps_an_hour,
        }
    }

    /// When the span of a trial begins, on the local clock.
    #[must_use]
    pub fn span_begins(&self, trial: u64) -> Option<DateTime<FixedOffset>> {
        let way = self.way_of(trial);
        let steps = &self.variants.get(way.variant)?.steps;
        steps.get(way.first_step + self.settling_steps).map(|step| step.start)
    }

    /// The same, where it is the same in all trials.
    #[must_use]
    pub fn span_begins_always(&self) -> Option<DateTime<FixedOffset>> {
        if self.begin_hours.is_some() { None } else { self.span_begins(0) }
    }

    /// First slice of a step; beyond the last step the number of slices.
    pub(super) fn slice_at(&self, step: usize) -> usize {
        let last = self.slice_of_step.len() - 1;
        self.slice_of_step[step.min(last)]
    }

    /// Hours of weather that slices touch.
    pub(super) fn hours_of(&self, slices: &std::ops::Range<usize>) -> std::ops::Range<usize> {
        let hour_of = |slice: usize| self.exposure.slices[slice].hour.unwrap_or(0);
        hour_of(slices.start)..hour_of(slices.end - 1) + 1
    }

    /// The dates that the steps of a trial touch: the first, and the one after the last.
    pub(super) fn dates_of(&self, way: Way) -> (usize, usize) {
        let slices = self.slice_at(way.first_step)..self.slice_at(way.first_step + self.steps());
        let hours = self.hours_of(&slices);
        (self.weather.day_of(hours.start), self.weather.day_of(hours.end - 1) + 1)
    }

    /// Whether there is a mains at any time.
    pub(super) fn has_mains(&self) -> bool {
        self.plan.slices.iter().any(|slice| slice.grid)
    }

    /// Whether the battery feels the air.
    pub(super) fn feels_air(&self) -> bool {
        matches!(self.plan.temperature, TemperaturePlan::Follows { .. })
    }

    /// Sources that have panels: the first of all.
    pub(super) fn sun_sources(&self) -> usize {
        let sun = crate::station::heads::Origin::Sun;
        self.plan.heads.sources.iter().take_while(|source| source.origin == sun).count()
    }
}
