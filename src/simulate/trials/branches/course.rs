//! Years of normal operation side by side, and the branches that leave them.
//!
//! A trial is one year. On one day of each month ([`sample`](super::sample)) its state is kept at
//! every hour of the clock; from each the mains fails in a branch that goes on under the year's own
//! sky, with a storm and a warning of its own. Where a warning may come before the outage, the branch
//! begins that much earlier. All branches of a day meet the same storm and the same warning, so that
//! the hours of a day differ by the hour alone. Years of a class run side by side, and so do their
//! branches, through the steps of all trials; a branch ends when it has failed in every lane. What a
//! branch comes to depends on seed and trial alone.

use std::ops::Range;
use std::sync::atomic::Ordering;

use chrono::NaiveDate;
use rayon::prelude::*;

use super::super::company::Company;
use super::super::drawn::Drawn;
use super::super::engine::{Group, Leg, Told, Watch, lanes, pool_of, run_group};
use super::super::meeting::Room;
use super::super::prepare::Way;
use super::super::uncertain;
use super::sample::{class_of, day_of};
use super::year::{CLOCK_HOURS, Day, Year};
use crate::error::Error;
use crate::simulate::guard::{self, Impossible};
use crate::simulate::states::States;

/// The branches of one day of one trial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayOfBranches {
    /// Number of the trial.
    pub trial: u64,
    /// The date.
    pub date: NaiveDate,
    /// By the hour of the clock at which the mains fails: hours until the station is first off the
    /// air, infinite if it never is; none where the clock skips the hour.
    pub first_off_air_h: [Option<f64>; CLOCK_HOURS],
}

/// Takes branches in. They come in no order of trials, so what comes out must not depend on it.
pub trait Branches: Send + Sized {
    /// The branches of one day of one trial.
    fn day(&mut self, day: &DayOfBranches);
    /// What was gathered of others.
    fn join(&mut self, others: Self);
}

/// Runs trials and gathers their branches; `None` when it was stopped before all were done.
///
/// # Errors
/// When threads cannot be started, or a year or a branch comes to something that no station can come
/// to.
pub fn run_branches<G: Branches>(
    year: &Year,
    trials: Range<u64>,
    threads: usize,
    empty: impl Fn() -> G + Sync,
    watch: &Watch,
) -> Result<Option<G>, Error> {
    let mut order: Vec<(Way, u64)> = trials.map(|trial| (year.way_of(trial), trial)).collect();
    order.sort_unstable();
    let lanes = lanes();
    let same_way = |one: &(Way, u64), other: &(Way, u64)| one.0 == other.0;
    let groups: Vec<&[(Way, u64)]> =
        order.chunk_by(same_way).flat_map(|same| same.chunks(lanes)).collect();
    let parts: Vec<Option<Result<G, Impossible>>> = pool_of(threads)?.install(|| {
        groups
            .par_iter()
            .with_max_len(1)
            .map_init(Worker::default, |worker, trials| {
                if watch.stop.load(Ordering::Relaxed) {
                    return None;
                }
                let mut part = empty();
                let all = worker.run(year, trials, &mut part);
                watch.done.fetch_add(trials.len() as u64, Ordering::Relaxed);
                Some(all.map(|()| part))
            })
            .collect()
    });
    let mut gathered = empty();
    for part in parts {
        let Some(part) = part else { return Ok(None) };
        gathered.join(part.map_err(Impossible::fault)?);
    }
    Ok(Some(gathered))
}

/// What a thread keeps from group to group.
#[derive(Default)]
struct Worker {
    years: Vec<Drawn>,
    branches: Vec<Drawn>,
    states: States,
    places: Vec<usize>,
    first_off_air_h: Vec<f64>,
    room: Room,
}

impl Worker {
    /// Years of the same way, and their branches.
    fn run<G: Branches>(
        &mut self,
        year: &Year,
        trials: &[(Way, u64)],
        into: &mut G,
    ) -> Result<(), Impossible> {
        let prepared = &year.prepared;
        let span_h = prepared.step_h * year.span_steps as f64;
        let way = trials[0].0;
        let days = year.days_of(class_of(trials[0].1));
        self.years.resize_with(trials.len().max(self.years.len()), Drawn::default);
        self.branches.resize_with(trials.len().max(self.branches.len()), Drawn::default);
        self.first_off_air_h.resize(trials.len(), 0.0);
        let begin = Way { first_step: 0, ..way };
        for ((_, trial), drawn) in trials.iter().zip(&mut self.years) {
            drawn.draw(prepared, *trial, begin, false);
        }
        let years = &self.years[..trials.len()];

        // Normal operation, once.
        let at_steps: Vec<usize> =
            days.iter().flat_map(|day| year.begins(day)).map(|(_, step)| step).collect();
        let Some(last) = at_steps.last() else { return Ok(()) };
        self.states.clear();
        let terms = &year.terms[way.variant];
        let normal = Leg {
            variant: way.variant,
            first_step: 0,
            settling_steps: last + 1,
            span_steps: 0,
            after_steps: 0,
            drawn_from: 0,
            start: None,
        };
        let told = Told::States { at_steps: &at_steps, states: &mut self.states };
        let company = Company::all(years);
        let room = &mut self.room;
        run_group(Group { prepared, terms, leg: normal, company, room, told });
        let charges = self.states.charges().iter().zip(trials.iter().cycle());
        for (charge, (_, trial)) in charges {
            guard::charge(*charge).map_err(|it| it.of(&format!("year {trial}")))?;
        }

        // What leaves it.
        let mut begun = 0;
        for day in days {
            let mut found: Vec<DayOfBranches> = trials
                .iter()
                .map(|(_, trial)| DayOfBranches {
                    trial: *trial,
                    date: day.date,
                    first_off_air_h: [None; CLOCK_HOURS],
                })
                .collect();
            for (clock_hour, first_step) in year.begins(day) {
                let steps = first_step..first_step + year.lead_steps + year.span_steps;
                let fails = year.has_mains.then(|| {
                    let at = prepared.slice_at(first_step + year.lead_steps);
                    (prepared.exposure.slices[at].begins_h, day.number)
                });
                for ((whole, branch), (_, trial)) in
                    years.iter().zip(&mut self.branches).zip(trials)
                {
                    let who = (*trial, way.variant);
                    branch.branch_off(prepared, whole, who, steps.clone(), fails);
                }
                self.places.clear();
                self.places.extend(begun..begun + trials.len());
                begun += trials.len();
                let leg = Leg {
                    first_step,
                    drawn_from: first_step,
                    settling_steps: year.lead_steps,
                    span_steps: year.span_steps,
                    start: self.states.some(&self.places),
                    ..normal
                };
                let company = Company::all(&self.branches[..trials.len()]);
                let told = Told::OffAir(&mut self.first_off_air_h);
                let room = &mut self.room;
                run_group(Group { prepared, terms, leg, company, room, told });
                for (of, hours) in found.iter_mut().zip(&self.first_off_air_h) {
                    let off_h = if hours.is_infinite() { 0.0 } else { *hours };
                    guard::hours("the first moment off the air", off_h, span_h)
                        .map_err(|it| it.of(&format!("year {}, {}", of.trial, of.date)))?;
                    of.first_off_air_h[clock_hour] = Some(*hours);
                }
            }
            for day in &found {
                into.day(day);
            }
        }
        Ok(())
    }
}

impl Year {
    /// Trials of the same class and the same inputs go the same way.
    fn way_of(&self, trial: u64) -> Way {
        Way {
            variant: uncertain::variant_of(&self.prepared.uncertain, self.prepared.seed, trial),
            first_step: usize::try_from(class_of(trial)).unwrap_or(0),
        }
    }

    /// The days of a class, one a month.
    fn days_of(&self, class: u64) -> Vec<&Day> {
        let months = self.days.iter().enumerate().filter(|(_, days)| !days.is_empty());
        months
            .map(|(month0, days)| &days[day_of(self.prepared.seed, month0, class, days.len())])
            .collect()
    }

    /// The hours of the clock of a day, with the steps at which their branches begin.
    fn begins(&self, day: &Day) -> impl Iterator<Item = (usize, usize)> {
        let hours = day.steps.iter().enumerate();
        hours.filter_map(|(hour, step)| Some((hour, (*step)?.checked_sub(self.lead_steps)?)))
    }
}
