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
use super::skies::Skies;
use super::terms::Terms;
use crate::simulate::states::States;

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
    skies: Skies,
    /// Places in the order in which they run.
    order: Vec<usize>,
    /// In that order, with what each begins: a place among the states.
    from: Vec<usize>,
    /// In the order of the leg before.
    states: States,
    keys: Vec<u64>,
    // Kept for the next leg.
    ends: States,
    order_before: Vec<usize>,
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
        self.drawn.resize_with(trials.len().max(self.drawn.len()), Drawn::default);
        self.skies.draw(prepared, trials, &mut self.drawn);
        self.order.clear();
        self.order.extend(0..trials.len());
        self.from.clone_from(&self.order);
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
        for (places, from) in self.order.chunks(lanes).zip(self.from.chunks(lanes)) {
            self.trials.clear();
            self.trials.extend(places.iter().map(|place| trials[*place]));
            let leg = Leg { start: self.states.some(from), ..leg };
            let company = Company::some(&self.drawn, &self.skies, places);
            let told = Told::Outcomes { trials: &self.trials, first, outcomes };
            let room = &mut self.room;
            run_group(Group { prepared, terms, leg, company, room, told });
        }
    }

    /// A leg in which nothing counts, from the states that all have to those with which it ends.
    fn settle(&mut self, prepared: &Prepared, terms: &Terms, leg: Leg<'_>, lanes: usize) {
        let end = leg.steps();
        self.ends.clear();
        for (places, from) in self.order.chunks(lanes).zip(self.from.chunks(lanes)) {
            let leg = Leg { start: self.states.some(from), ..leg };
            let company = Company::some(&self.drawn, &self.skies, places);
            let told = Told::States { at_steps: &[end], states: &mut self.ends };
            let room = &mut self.room;
            run_group(Group { prepared, terms, leg, company, room, told });
        }
        std::mem::swap(&mut self.states, &mut self.ends);
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
        for (at, place) in self.order.iter().enumerate() {
            let mut cut = LATE;
            if self.skies.is_busy(*place, &(begin..end)) {
                let change = self.drawn[*place].change_from(begin).filter(|at| *at < end);
                cut = change.map_or(LATE, |at| ((at - begin) as u64).min(LATE));
            }
            let sun = bits(self.skies.day(*place, day).value()) << PLACE_BITS;
            self.keys.push(cut << (PLACE_BITS + VALUE_BITS) | sun | at as u64);
        }
        self.keys.sort_unstable();
        let charges = self.states.charges();
        if !charges.is_empty() {
            for like in self.keys.chunks_mut(GROUPS_A_SUN * lanes) {
                for key in &mut *like {
                    let at = *key & PLACES;
                    *key = bits(charges[at as usize]) << PLACE_BITS | at;
                }
                like.sort_unstable();
            }
        }
        self.from.clear();
        self.from.extend(self.keys.iter().map(|key| (key & PLACES) as usize));
        std::mem::swap(&mut self.order, &mut self.order_before);
        self.order.clear();
        self.order.extend(self.from.iter().map(|at| self.order_before[*at]));
    }
}

/// A number that is not negative as one of 32 bits that goes up with it.
#[allow(clippy::cast_possible_truncation)]
fn bits(value: f64) -> u64 {
    u64::from((value as f32).to_bits())
}
