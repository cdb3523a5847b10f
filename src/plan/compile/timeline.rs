//! Slices: the time between two edges of anything that the clock governs.

use std::collections::BTreeSet;

use chrono::{DateTime, Duration, Timelike, Utc};

use super::decisions::{Decisions, card_row, decision_instants};
use super::grid::{self, Interval};
use super::profiles::LoadBook;
use super::{CompileProblem, Stretch};
use crate::clock::{LocalClock, TimesOfDay};
use crate::plan::exposure::{Exposure, SliceSky, WiredArray};
use crate::plan::{Rule, Slice};
use crate::scenario::outlook::Outlook;
use crate::scenario::schedule::{Attended, EngineUse, Grid, SupplyRule};
use crate::scenario::sources::Controller;
use crate::scenario::sun::Sun;
use crate::scenario::{Named, Scenario};
use crate::sky::series::{Sky, hour_begin};
use crate::sky::view::hour_start;
use crate::station::battery::OneWell;

/// A condition through time: whether it held at the beginning, and when it changed.
struct Track {
    at_first: bool,
    changes: Vec<DateTime<Utc>>,
}

/// Everything that the clock governs, with the edges of slices.
pub struct Timeline {
    edges: Vec<DateTime<Utc>>,
    windows: Named<Vec<bool>>,
    grid: Vec<bool>,
    warned: Vec<bool>,
    decides: Vec<bool>,
    card_row: Vec<usize>,
    attended: Vec<bool>,
    /// Where the wall clock shows a whole hour.
    on_the_hour: Vec<bool>,
    /// Where snow covers the panels that stand outside.
    snows: Vec<bool>,
}

impl Timeline {
    /// All edges of a scenario over a stretch.
    ///
    /// # Errors
    /// Windows and times that cannot be read.
    pub fn build(
        scenario: &Scenario,
        clock: &LocalClock,
        stretch: &Stretch,
    ) -> Result<Self, Vec<CompileProblem>> {
        let mut problems = Vec::new();
        let mut tracks: Named<Track> = Named::new();
        for (name, window) in &scenario.windows {
            match TimesOfDay::new(window) {
                Ok(times) => {
                    let track = Track {
                        at_first: times.open_at(clock, stretch.begin),
                        changes: times.changes_between(clock, stretch.begin, stretch.end),
                    };
                    tracks.insert(name.clone(), track);
                }
                Err(found) => problems.extend(
                    found
                        .iter()
                        .map(|problem| CompileProblem::new(format!("windows.{name}"), problem)),
                ),
            }
        }
        let outages = grid::outages(scenario, clock, stretch).unwrap_or_else(|found| {
            problems.extend(found);
            Vec::new()
        });
        let falls = snowfalls(scenario, clock, stretch).unwrap_or_else(|found| {
            problems.extend(found);
            BTreeSet::new()
        });
        let decisions = decision_instants(scenario, clock, stretch).unwrap_or_else(|problem| {
            problems.push(problem);
            Decisions::new()
        });
        if !problems.is_empty() {
            return Err(problems);
        }
        let warned = grid::warned(scenario, &outages);

        let mut edges: Vec<DateTime<Utc>> = stretch.step_starts().collect();
        let mut hour = hour_begin(stretch.begin, clock.standard_offset(stretch.begin));
        while hour < stretch.end {
            edges.extend([hour, next_whole_hour(clock, hour)]);
            hour += Duration::hours(1);
        }
        edges.extend(tracks.values().flat_map(|track| track.changes.iter().copied()));
        edges.extend(outages.iter().chain(&warned).flat_map(|interval| [interval.0, interval.1]));
        edges.extend(decisions.keys().copied());
        edges.extend(falls.iter().copied());
        edges.retain(|at| *at >= stretch.begin && *at < stretch.end);
        // A stable sort merges the runs that are in order already.
        edges.sort();
        edges.dedup();

        let windows: Named<Vec<bool>> =
            tracks.iter().map(|(name, track)| (name.clone(), follow(track, &edges))).collect();
        let mut grid: Vec<bool> = edges.iter().map(|at| !inside(&outages, *at)).collect();
        if let Grid::Pattern(pattern) = &scenario.grid {
            for name in &pattern.off_in {
                if let Some(open) = windows.get(name) {
                    for (there, off) in grid.iter_mut().zip(open) {
                        *there &= !off;
                    }
                }
            }
        }
        let attended = match &scenario.attended {
            Attended::Always => vec![true; edges.len()],
            Attended::Never => vec![false; edges.len()],
            Attended::In(name) => {
                windows.get(name).cloned().unwrap_or_else(|| vec![false; edges.len()])
            }
        };
        let whole = |at: &DateTime<Utc>| {
            let local = clock.local(*at);
            local.minute() == 0 && local.second() == 0
        };
        Ok(Self {
            attended,
            on_the_hour: edges.iter().map(whole).collect(),
            snows: edges.iter().map(|at| falls.contains(at)).collect(),
            warned: edges.iter().map(|at| inside(&warned, *at)).collect(),
            decides: edges.iter().map(|at| decisions.contains_key(at)).collect(),
            card_row: edges.iter().map(|at| card_row(scenario, stretch, &decisions, *at)).collect(),
            grid,
            windows,
            edges,
        })
    }

    fn open(&self, name: Option<&String>, at: usize) -> bool {
        name.is_none_or(|name| self.windows.get(name).is_some_and(|open| open[at]))
    }

    /// The slices, their load sets entered in `load_book`.
    ///
    /// # Errors
    /// What the load book cannot take.
    pub fn slices(
        &self,
        scenario: &Scenario,
        stretch: &Stretch,
        load_book: &mut LoadBook<'_>,
    ) -> Result<Vec<Slice>, Vec<CompileProblem>> {
        let strategy = scenario.strategies.get(&scenario.strategy);
        let rule = strategy.map(|strategy| &strategy.supply);
        let engine_never = strategy.is_some_and(|strategy| strategy.generator == EngineUse::Never);
        let off_in: Vec<Option<&String>> = scenario
            .controllers
            .values()
            .map(Controller::off_in)
            .chain(scenario.supply.as_ref().map(|supply| supply.off_in.as_ref()))
            .collect();
        let somebody_comes = scenario.attended != Attended::Never;
        let mut slices = Vec::with_capacity(self.edges.len());
        for (at, from) in self.edges.iter().enumerate() {
            let to = self.edges.get(at + 1).copied().unwrap_or(stretch.end);
            let open: Vec<bool> = self.windows.values().map(|open| open[at]).collect();
            let silent = off_in
                .iter()
                .enumerate()
                .filter(|(_, name)| name.is_some() && self.open(**name, at))
                .fold(0, |bits, (source, _)| bits | 1 << source);
            #[allow(clippy::cast_precision_loss)]
            let hours = (to - *from).num_seconds() as f64 / 3600.0;
            slices.push(Slice {
                step: stretch.step_of(*from),
                hours,
                grid: self.grid[at],
                rule: rule.map_or(Rule::Off, |rule| self.rule_at(rule, at)),
                warned: self.warned[at],
                looks: self.on_the_hour[at],
                decides: self.decides[at],
                card_row: self.card_row[at],
                attended: self.attended[at],
                engine_allowed: !engine_never
                    && scenario
                        .generator
                        .as_ref()
                        .is_some_and(|engine| self.open(engine.allowed.as_ref(), at)),
                vehicle: somebody_comes
                    && scenario
                        .vehicle
                        .as_ref()
                        .is_some_and(|vehicle| self.open(Some(&vehicle.connected), at)),
                silent,
                set: load_book.set_for(open)?,
            });
        }
        Ok(slices)
    }

    fn rule_at(&self, rule: &SupplyRule, at: usize) -> Rule {
        match rule {
            SupplyRule::Always => Rule::On,
            SupplyRule::Never => Rule::Off,
            SupplyRule::Windows { r#in } => {
                if r#in.iter().any(|name| self.open(Some(name), at)) {
                    Rule::On
                } else {
                    Rule::Off
                }
            }
            SupplyRule::TopUp { start_below_share, stop_above_share } => Rule::TopUp {
                start_below_share: *start_below_share,
                stop_above_share: *stop_above_share,
            },
            // The step knows when it is warned.
            SupplyRule::Warned { otherwise, .. } => self.rule_at(otherwise, at),
        }
    }

    /// How the arrays stand in each slice.
    #[must_use]
    pub fn exposure(
        &self,
        scenario: &Scenario,
        sky: &Sky,
        battery: &OneWell,
        stretch: &Stretch,
    ) -> Exposure {
        let somebody_comes = scenario.attended != Attended::Never;
        let arrays: Vec<WiredArray> = scenario
            .arrays
            .values()
            .map(|array| WiredArray::new(scenario, array, battery))
            .collect();
        let mut out = Vec::with_capacity(self.edges.len() * arrays.len());
        let mut slices = Vec::with_capacity(self.edges.len());
        for (at, from) in self.edges.iter().enumerate() {
            let to = self.edges.get(at + 1).copied().unwrap_or(stretch.end);
            #[allow(clippy::cast_precision_loss)]
            let hours = (to - *from).num_seconds() as f64 / 3600.0;
            #[allow(clippy::cast_precision_loss)]
            let begins_h = (*from - stretch.begin).num_seconds() as f64 / 3600.0;
            slices.push(SliceSky {
                begins_h,
                hours,
                hour: sky.index_of(*from),
                snows: self.snows[at],
                may_clear: self.attended[at] && self.on_the_hour[at],
            });
            for array in scenario.arrays.values() {
                let (deployed, stowed) = (array.deployed.as_ref(), array.stowed.as_ref());
                // Nobody puts panels out, or stows them, where nobody comes.
                let put_out = deployed.is_none() || (somebody_comes && self.open(deployed, at));
                let stowed = somebody_comes && stowed.is_some_and(|name| self.open(Some(name), at));
                out.push(put_out && !stowed);
            }
        }
        let cleared_after_h = scenario.snow.as_ref().and_then(|snow| snow.cleared_after_h);
        Exposure { arrays, slices, out, cleared_after_h }
    }
}

fn follow(track: &Track, edges: &[DateTime<Utc>]) -> Vec<bool> {
    let mut open = track.at_first;
    let mut changes = track.changes.iter().peekable();
    edges
        .iter()
        .map(|at| {
            while changes.next_if(|change| *change <= at).is_some() {
                open = !open;
            }
            open
        })
        .collect()
}

fn inside(intervals: &[Interval], at: DateTime<Utc>) -> bool {
    intervals.iter().any(|(from, to)| *from <= at && at < *to)
}

/// The first instant at or after `at` at which the wall clock shows a whole hour.
pub(super) fn next_whole_hour(clock: &LocalClock, at: DateTime<Utc>) -> DateTime<Utc> {
    let local = clock.local(at);
    let past_s = i64::from(local.minute()) * 60 + i64::from(local.second());
    if past_s == 0 { at } else { at + Duration::seconds(3600 - past_s) }
}

/// When it snows: at the listed times, and at every hour of a day of which an outlook says so.
fn snowfalls(
    scenario: &Scenario,
    clock: &LocalClock,
    stretch: &Stretch,
) -> Result<BTreeSet<DateTime<Utc>>, Vec<CompileProblem>> {
    let mut falls = BTreeSet::new();
    let mut problems = Vec::new();
    for (place, fall) in scenario.snow.iter().flat_map(|snow| &snow.falls).enumerate() {
        match clock.instant(fall.at) {
            Ok(at) => {
                falls.insert(at);
            }
            Err(problem) => {
                problems.push(CompileProblem::new(format!("snow.falls[{place}].at"), problem));
            }
        }
    }
    if let Sun::Climate(climate) = &scenario.sun {
        let offset = clock.standard_offset(stretch.begin);
        for date in climate.outlook.iter().flat_map(Outlook::snow_dates) {
            let begin = hour_start(date, 0, offset).map(|day| day.max(stretch.begin));
            let end = hour_start(date, 24, offset);
            let begin = begin.filter(|begin| end.is_some_and(|end| *begin < end));
            let Some(begin) = begin else { continue };
            falls.insert(begin);
            let hours = (0..24).filter_map(|hour| hour_start(date, hour, offset));
            falls.extend(hours.filter(|at| *at > begin));
        }
    }
    if problems.is_empty() { Ok(falls) } else { Err(problems) }
}
