//! From a scenario to a [`Plan`].
//!
//! Lives here: the timeline (edges of windows, outages, hours), what each tier of each load set
//! asks of battery and supply, the weather of each slice. Does not live here: judging whether the
//! scenario makes sense (`plan::check`); what cannot be compiled is answered with its JSON path.

mod decisions;
pub mod grid;
mod parts;
mod profiles;
mod stretch;
mod timeline;

use chrono::{DateTime, Duration, FixedOffset, Utc};

use super::exposure::{Exposure, OfSky};
use super::{MOST_SOURCES, Plan, StepPlan, SupplyPlan};
use crate::clock::LocalClock;
use crate::scenario::Scenario;
use crate::scenario::basis::known_numbers;
use crate::scenario::schedule::Switches;
use crate::scenario::sources::{Controller, Joins};
use crate::scenario::sun::Sun;
use crate::sky::series::Sky;
use crate::station::battery::register;
use crate::warning::Warning;
pub use parts::{battery_of, engine_direct_w};
use parts::{engine_of, heads_of, heater_of, latch_of, sources_of, temperature_of, tiers_of};
use profiles::LoadBook;
pub use profiles::{active_loads, surroundings_of};
pub use stretch::Stretch;
use timeline::Timeline;

/// Something that cannot be compiled.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CompileProblem {
    /// JSON path of the culprit.
    pub path: String,
    /// What is wrong, a sentence.
    pub text: String,
}

impl CompileProblem {
    fn new(path: impl Into<String>, text: impl ToString) -> Self {
        Self { path: path.into(), text: text.to_string() }
    }
}

/// Compiles a scenario. `series` is the text of its measured series; `warnings` what the check
/// has already said.
///
/// # Errors
/// Everything that cannot be compiled.
pub fn compile(
    scenario: &Scenario,
    series: Option<&str>,
    warnings: Vec<Warning>,
) -> Result<Plan, Vec<CompileProblem>> {
    compile_under(&sky_of(scenario, series)?, scenario, warnings)
}

/// The sky over the hours of a scenario; `series` is the text of its measured series.
///
/// # Errors
/// What is wrong with its clock, its start or its sun.
pub fn sky_of(scenario: &Scenario, series: Option<&str>) -> Result<Sky, Vec<CompileProblem>> {
    let (clock, stretch) = clock_and_stretch(scenario)?;
    Sky::new(
        &scenario.site,
        &scenario.sun,
        &scenario.arrays,
        clock.standard_offset(stretch.begin),
        stretch.begin,
        stretch.weather_hours(clock.standard_offset(stretch.begin)),
        series,
    )
    .map_err(|problems| {
        problems.iter().map(|problem| CompileProblem::new("sun", problem)).collect()
    })
}

/// The clock of a scenario and the time that is simulated.
///
/// # Errors
/// When the clock or the start is not one that there is.
pub fn clock_and_stretch(
    scenario: &Scenario,
) -> Result<(LocalClock, Stretch), Vec<CompileProblem>> {
    let clock = LocalClock::new(&scenario.site.clock)
        .map_err(|problem| vec![CompileProblem::new("site.clock", problem)])?;
    let stretch = Stretch::of(scenario, &clock)?;
    Ok((clock, stretch))
}

/// Compiles a scenario under a sky that is there already: that of [`sky_of`], which depends on none
/// of battery, loads and strategy.
///
/// # Errors
/// Everything that cannot be compiled.
pub fn compile_under(
    sky: &Sky,
    scenario: &Scenario,
    warnings: Vec<Warning>,
) -> Result<Plan, Vec<CompileProblem>> {
    Hours::of(sky, scenario)?.plan(scenario, warnings)
}

/// The hours of a scenario: its sky and everything that its clock governs. They are independent of
/// the battery, so that one scenario with several batteries has them once.
pub struct Hours<'a> {
    sky: &'a Sky,
    clock: LocalClock,
    stretch: Stretch,
    timeline: Timeline,
}

impl<'a> Hours<'a> {
    /// The hours of a scenario under the sky of [`sky_of`].
    ///
    /// # Errors
    /// Times that cannot be read.
    pub fn of(sky: &'a Sky, scenario: &Scenario) -> Result<Self, Vec<CompileProblem>> {
        let (clock, stretch) = clock_and_stretch(scenario)?;
        let timeline = Timeline::build(scenario, &clock, &stretch)?;
        Ok(Self { sky, clock, stretch, timeline })
    }

    /// The plan of the scenario that the hours were made of, or of one that differs from it in its
    /// battery alone.
    ///
    /// # Errors
    /// Everything that cannot be compiled.
    pub fn plan(
        &self,
        scenario: &Scenario,
        warnings: Vec<Warning>,
    ) -> Result<Plan, Vec<CompileProblem>> {
        self.exposed(scenario, warnings).map(|(plan, _)| plan)
    }

    /// As [`Hours::plan`], with how the arrays stand in each slice: what other weather needs.
    ///
    /// # Errors
    /// Everything that cannot be compiled.
    pub fn exposed(
        &self,
        scenario: &Scenario,
        warnings: Vec<Warning>,
    ) -> Result<(Plan, Exposure), Vec<CompileProblem>> {
        let Self { sky, clock, stretch, timeline } = self;
        let battery = battery_of(&scenario.battery);
        let sources = sources_of(scenario);
        if sources.len() > MOST_SOURCES {
            let text = format!("{} charging sources; at most {MOST_SOURCES}", sources.len());
            return Err(vec![CompileProblem::new("controllers", text)]);
        }
        let mut load_book = LoadBook::new(scenario, &battery, warnings)?;
        let slices = timeline.slices(scenario, stretch, &mut load_book)?;
        let exposure = timeline.exposure(scenario, sky, &battery, stretch);
        let profiled = matches!(scenario.sun, Sun::Profile(_));
        let offered =
            exposure.offered(&mut OfSky::new(sky, &exposure.arrays, profiled), sources.len());
        let steps = steps_of(stretch, clock, sky);
        let (rungs, profiles, open_windows, warnings) = load_book.finish();
        let plan = Plan {
            heads: heads_of(scenario, &battery),
            strategy: scenario.strategy.clone(),
            temperature: temperature_of(&scenario.battery, sky),
            heater: heater_of(&scenario.battery),
            latch: latch_of(scenario, &battery),
            tiers: tiers_of(scenario),
            supply: scenario.supply.as_ref().map(|supply| SupplyPlan {
                source: scenario.controllers.len(),
                efficiency_share: supply.efficiency_share,
                no_load_w: supply.no_load_w,
                rule_switches_charger: scenario
                    .strategies
                    .get(&scenario.strategy)
                    .is_some_and(|strategy| strategy.switches == Switches::Charger),
                carries_groups: supply.joins == Joins::Changeover,
            }),
            standby_w: scenario.controllers.values().map(Controller::standby_w).sum(),
            sources,
            rungs,
            profiles,
            open_windows,
            slices,
            offered,
            engine: engine_of(scenario),
            steps,
            settling_steps: stretch.settling_steps,
            start_charge_share: scenario.start.first_share(),
            packs: register::packs_of(&scenario.battery),
            basis: known_numbers(scenario).into_iter().map(|it| (it.path, it.basis)).collect(),
            warnings,
            battery,
        };
        Ok((plan, exposure))
    }
}

fn steps_of(stretch: &Stretch, clock: &LocalClock, sky: &Sky) -> Vec<StepPlan> {
    stretch
        .step_starts()
        .map(|start| {
            let hour = sky.at(start);
            StepPlan {
                start: local(clock, start),
                hours: stretch.step_hours(),
                daylight_share: daylight_share(sky, start, stretch.step_hours()),
                ghi_w_m2: hour.and_then(|hour| hour.light).map(|light| light.ghi_w_m2),
                air_c: hour.map_or(0.0, |hour| hour.air_c),
            }
        })
        .collect()
}

/// Daylight of a step within its hour: when the sun rises in that hour it lies at its end, else at
/// its beginning.
fn daylight_share(sky: &Sky, start: DateTime<Utc>, hours: f64) -> f64 {
    let Some(index) = sky.index_of(start) else { return 0.0 };
    let share_at = |index: usize| sky.hours().get(index).map(|hour| hour.daylight_share);
    let share = share_at(index).unwrap_or(0.0);
    if hours >= 1.0 {
        return share;
    }
    let before = index.checked_sub(1).and_then(share_at).unwrap_or(share);
    let rises = share_at(index + 1).unwrap_or(share) > before;
    let (from, to) = if rises { (1.0 - share, 1.0) } else { (0.0, share) };
    let begin = sky.into_hour(start);
    ((to.min(begin + hours) - from.max(begin)) / hours).clamp(0.0, 1.0)
}

fn local(clock: &LocalClock, at: DateTime<Utc>) -> DateTime<FixedOffset> {
    clock.local(at)
}

/// Minutes as a duration.
fn minutes(count: i64) -> Duration {
    Duration::minutes(count)
}
