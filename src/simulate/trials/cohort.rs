//! Trials that go the same way, side by side with those that are most like them.
//!
//! Lanes go through a phase together, however few of them need it. So while the batteries find their
//! charge, trials are put beside others day by day: those whose mains fails on the day, then the
//! ones with a like sun, of these the ones with a like charge. What a trial comes to does not depend
//! on its company; how long that takes does.

use std::ops::Range;

use super::company::Company;
use super::drawn::Drawn;
use super::engine::{Group, Leg, Told, lanes, run_group};
use super::meeting::Room;
use super::outcome::Outcome;
use super::prepare::{Prepared, Way};
use super::terms::Terms;
use super::weather::BESIDE;
use crate::simulate::state::State;

/// Groups of a like sun among which those of a like charge are found (measured: 2 to 8 are as fast).
const GROUPS_A_SUN: usize = 4;
// A key to sort by: slice of the first cut of the mains, sun or charge, place among the trials.
const PLACE_BITS: u32 = 16;
const PLACES: u64 = (1 << PLACE_BITS) - 1;
const VALUE_BITS: u32 = 32;
/// No cut in these steps, or one beyond what a key can tell.
const LATE: u64 = 0xfff;

/// Trials that go the same way.
#[derive(Default)]
pub(super) struct Cohort {
    drawn: Vec<Drawn>,
    sky: Vec<f64>,
    states: Vec<State<f64>>,
    order: Vec<usize>,
    keys: Vec<u64>,
    // Of those side by side.
    starts: Vec<State<f64>>,
    ends: Vec<State<f64>>,
    trials: Vec<(Way, u64)>,
    room: Room,
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
        self.draw(prepared, trials);
        self.order.clear();
        self.order.extend(0..trials.len());
        self.states.clear();
        let whole = Leg::of_trial(prepared, way);
        let day = 24 * prepared.steps_an_hour;
        let mut over = 0;
        // One trial at a time waits for nobody.
        while lanes > 1 && trials.len() > lanes && over + day < whole.settling_steps {
            let first_step = way.first_step + over;
            let (span_steps, after_steps) = (0, 0);
            let leg = Leg { first_step, settling_steps: day, span_steps, after_steps, ..whole };
            self.find_company(prepared, way, &(over..over + day), lanes);
            self.settle(prepared, terms, leg, lanes);
            over += day;
        }
        let (first_step, settling_steps) = (way.first_step + over, whole.settling_steps - over);
        let leg = Leg { first_step, settling_steps, ..whole };
        if over > 0 {
            self.find_company(prepared, way, &(over..over + leg.steps()), lanes);
        }
        for places in self.order.chunks(lanes) {
            let start = begin_with(&self.states, places, &mut self.starts);
            self.trials.clear();
            self.trials.extend(places.iter().map(|place| trials[*place]));
            let leg = Leg { start, ..leg };
            let company = Company::some(&self.drawn, places);
            let told = Told::Outcomes { trials: &self.trials, first, outcomes };
            let room = std::mem::take(&mut self.room);
            self.room = run_group(Group { prepared, terms, leg, company, room, told });
        }
    }

    /// What the trials meet.
    fn draw(&mut self, prepared: &Prepared, trials: &[(Way, u64)]) {
        let way = trials[0].0;
        let dates = prepared.dates_of(way);
        self.drawn.resize_with(trials.len().max(self.drawn.len()), Drawn::default);
        for (trials, drawn) in trials.chunks(BESIDE).zip(self.drawn.chunks_mut(BESIDE)) {
            let numbers = std::array::from_fn(|lane| trials[lane.min(trials.len() - 1)].1);
            prepared.weather.draw_of_trials(prepared.seed, numbers, dates, &mut self.sky);
            for (lane, ((_, trial), drawn)) in trials.iter().zip(drawn).enumerate() {
                drawn.draw_for_lanes(prepared, *trial, way, (&self.sky, lane));
            }
        }
    }

    /// A leg in which nothing counts, from the states that all have to those with which it ends.
    fn settle(&mut self, prepared: &Prepared, terms: &Terms, leg: Leg<'_>, lanes: usize) {
        let end = leg.steps();
        self.ends.clear();
        for places in self.order.chunks(lanes) {
            let start = begin_with(&self.states, places, &mut self.starts);
            let leg = Leg { start, ..leg };
            let company = Company::some(&self.drawn, places);
            let told = Told::States { at_steps: &[end], states: &mut self.ends };
            let room = std::mem::take(&mut self.room);
            self.room = run_group(Group { prepared, terms, leg, company, room, told });
        }
        self.states.resize(self.order.len(), self.ends[0]);
        for (place, state) in self.order.iter().zip(&self.ends) {
            self.states[*place] = *state;
        }
    }

    /// Puts those beside each other that will be alike in these steps, counted from their first.
    #[allow(clippy::cast_possible_truncation)]
    fn find_company(&mut self, prepared: &Prepared, way: Way, steps: &Range<usize>, lanes: usize) {
        let step = |number: usize| way.first_step + number;
        let first_slice = prepared.slice_at(step(0));
        let begin = prepared.slice_at(step(steps.start)) - first_slice;
        let end = prepared.slice_at(step(steps.end)) - first_slice;
        let middle = prepared.hour_of_step[step((steps.start + steps.end) / 2)];
        let day = prepared.weather.day_of(middle);
        self.keys.clear();
        for place in &self.order {
            let drawn = &self.drawn[*place];
            let change = drawn.change_from(begin).filter(|at| *at < end);
            let cut = change.map_or(LATE, |at| ((at - begin) as u64).min(LATE));
            let sun = bits(drawn.value_of(day)) << PLACE_BITS;
            self.keys.push(cut << (PLACE_BITS + VALUE_BITS) | sun | *place as u64);
        }
        self.keys.sort_unstable();
        if !self.states.is_empty() {
            for like in self.keys.chunks_mut(GROUPS_A_SUN * lanes) {
                for key in &mut *like {
                    let place = *key & PLACES;
                    *key = bits(self.states[place as usize].charge) << PLACE_BITS | place;
                }
                like.sort_unstable();
            }
        }
        self.order.clear();
        self.order.extend(self.keys.iter().map(|key| (key & PLACES) as usize));
    }
}

/// A number that is not negative as one of 32 bits that goes up with it.
#[allow(clippy::cast_possible_truncation)]
fn bits(value: f64) -> u64 {
    u64::from((value as f32).to_bits())
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
