//! Trials that go the same way, side by side with those that are most like them.
//!
//! Lanes go through a phase together, however few of them need it. So while the batteries find their
//! charge, trials are put beside others day by day: those whose mains fails on the day, then the
//! ones with a like sun, of these the ones with a like charge. What a trial comes to does not depend
//! on its company; how long that takes does.

use super::company::Company;
use super::drawn::Drawn;
use super::engine::{Group, Leg, Told, lanes, run_group};
use super::outcome::Outcome;
use super::prepare::{Prepared, Way};
use super::terms::Terms;
use crate::simulate::state::State;

/// Groups of a like sun among which those of a like charge are found.
const GROUPS_A_SUN: usize = 4;

/// Trials that go the same way.
#[derive(Default)]
pub(super) struct Cohort {
    drawn: Vec<Drawn>,
    states: Vec<State<f64>>,
    order: Vec<usize>,
    // Of those side by side.
    starts: Vec<State<f64>>,
    ends: Vec<State<f64>>,
    trials: Vec<(Way, u64)>,
}

impl Cohort {
    /// Runs trials; the outcome of `first` comes first.
    pub(super) fn run(
        &mut self,
        prepared: &Prepared,
        terms: &Terms,
        trials: &[(Way, u64)],
        first: u64,
        outcomes: &mut [Outcome],
    ) {
        let lanes = lanes();
        let way = trials[0].0;
        self.drawn.resize_with(trials.len().max(self.drawn.len()), Drawn::default);
        for ((_, trial), drawn) in trials.iter().zip(&mut self.drawn) {
            drawn.draw_for_lanes(prepared, *trial, way);
        }
        self.order.clear();
        self.order.extend(0..trials.len());
        self.states.clear();
        let whole = Leg::of_trial(prepared, way);
        let day = 24 * prepared.steps_an_hour;
        let mut over = 0;
        while trials.len() > lanes && over + day < whole.settling_steps {
            let leg = Leg {
                first_step: way.first_step + over,
                settling_steps: day,
                span_steps: 0,
                after_steps: 0,
                ..whole
            };
            self.find_company(prepared, way, over..over + day, lanes);
            let mut next = std::mem::take(&mut self.ends);
            next.clear();
            for places in self.order.chunks(lanes) {
                let start = begin_with(&self.states, places, &mut self.starts);
                let leg = Leg { start, ..leg };
                let company = Company::some(&self.drawn, places);
                let told = Told::States { at_steps: &[day], states: &mut next };
                run_group(Group { prepared, terms, leg, company, told });
            }
            self.states.resize(trials.len(), next[0]);
            for (place, state) in self.order.iter().zip(&next) {
                self.states[*place] = *state;
            }
            self.ends = next;
            over += day;
        }
        let leg = Leg {
            first_step: way.first_step + over,
            settling_steps: whole.settling_steps - over,
            ..whole
        };
        if over > 0 {
            self.find_company(prepared, way, over..over + leg.steps(), lanes);
        }
        for places in self.order.chunks(lanes) {
            let start = begin_with(&self.states, places, &mut self.starts);
            self.trials.clear();
            self.trials.extend(places.iter().map(|place| trials[*place]));
            let leg = Leg { start, ..leg };
            let company = Company::some(&self.drawn, places);
            let told = Told::Outcomes { trials: &self.trials, first, outcomes };
            run_group(Group { prepared, terms, leg, company, told });
        }
    }

    /// Puts those beside each other that will be alike in these steps, counted from their first.
    fn find_company(
        &mut self,
        prepared: &Prepared,
        way: Way,
        steps: std::ops::Range<usize>,
        lanes: usize,
    ) {
        let first_slice = prepared.slice_at(way.first_step);
        let slices = prepared.slice_at(way.first_step + steps.start) - first_slice
            ..prepared.slice_at(way.first_step + steps.end) - first_slice;
        let middle = way.first_step + (steps.start + steps.end) / 2;
        let day = prepared
            .weather
            .day_of(prepared.hour_of_step[middle.min(prepared.hour_of_step.len() - 1)]);
        let drawn = &self.drawn;
        let sun = |place: &usize| {
            let it = &drawn[*place];
            let change = it.change_from(slices.start).filter(|at| *at < slices.end);
            (change.unwrap_or(usize::MAX), it.value_of(day))
        };
        let by_sun = |one: &usize, other: &usize| {
            let (one, other) = (sun(one), sun(other));
            one.0.cmp(&other.0).then(one.1.total_cmp(&other.1))
        };
        self.order.sort_unstable_by(by_sun);
        if self.states.is_empty() {
            return;
        }
        let states = &self.states;
        for like in self.order.chunks_mut(GROUPS_A_SUN * lanes) {
            like.sort_unstable_by(|one, other| {
                states[*one].charge.total_cmp(&states[*other].charge)
            });
        }
    }
}

/// The states with which trials in these places begin; none before the first leg.
fn begin_with<'a>(
    states: &[State<f64>],
    places: &[usize],
    into: &'a mut Vec<State<f64>>,
) -> Option<&'a [State<f64>]> {
    into.clear();
    into.extend(places.iter().filter_map(|place| states.get(*place)));
    Some(&into[..]).filter(|states| !states.is_empty())
}
