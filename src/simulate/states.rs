//! States of many trials, kept number by number: what trials side by side end with and begin with.

use super::state::{State, Terms};
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::{MOST_SOURCES, Plan};

/// More lanes there are nowhere.
pub const MOST_LANES: usize = 32;

/// Numbers of a state; the last of them, from [`OF_AN_ENGINE`] on, an engine's.
const NUMBERS: usize = 10;
const OF_AN_ENGINE: usize = 7;

/// States of many trials, in the order in which they were kept.
#[derive(Debug, Clone, Default)]
pub struct States {
    /// How many are kept; the lists may be longer.
    count: usize,
    numbers: [Vec<f64>; NUMBERS],
    /// A bit an answer.
    answers: Vec<u32>,
}

/// Some of many states, a lane each.
#[derive(Debug, Clone, Copy)]
pub struct SomeStates<'a> {
    states: &'a States,
    /// Where each stands; lanes left over repeat the last one.
    places: &'a [usize],
}

impl States {
    /// Forgets all.
    pub fn clear(&mut self) {
        self.count = 0;
    }

    /// Charge of each.
    #[must_use]
    pub fn charges(&self) -> &[f64] {
        &self.numbers[0][..self.count]
    }

    /// Those in these places; none where nothing has been kept.
    #[must_use]
    pub fn some<'a>(&'a self, places: &'a [usize]) -> Option<SomeStates<'a>> {
        (self.count > 0).then_some(SomeStates { states: self, places })
    }

    /// Adds the first lanes of states side by side.
    #[allow(clippy::needless_range_loop)] // closures are not inlined into lanes
    #[inline(always)]
    pub fn keep<F: Lane>(&mut self, plan: &Plan, state: &State<F>, lanes: usize) {
        let numbers = [
            state.charge,
            state.at_hand,
            state.open_left_h,
            state.level,
            state.retry_left_h,
            state.tier,
            state.battery_c,
            state.tank_l,
            state.cans_l,
            state.refill_left_h,
        ];
        let first = self.count;
        self.count += lanes;
        let end = first + F::Width::LANES;
        if self.answers.len() < end {
            self.numbers.iter_mut().for_each(|list| list.resize(2 * end, 0.0));
            self.answers.resize(2 * end, 0);
        }
        for place in 0..numbers_of(plan) {
            numbers[place].store(&mut self.numbers[place][first..end]);
        }
        let answers = &mut self.answers[first..end];
        answers.fill(0);
        put(answers, 0, state.open);
        put(answers, 1, state.flat);
        put(answers, 2, state.topping);
        put(answers, 3, state.engine);
        put(answers, 4, state.refilling);
        put(answers, 5, state.too_cold);
        for source in 0..plan.sources.len().min(MOST_SOURCES) {
            put(answers, 6 + 2 * source, state.bulk[source]);
            put(answers, 7 + 2 * source, state.had[source]);
        }
    }
}

impl SomeStates<'_> {
    /// Puts them side by side.
    #[must_use]
    #[allow(clippy::needless_range_loop)] // closures are not inlined into lanes
    #[inline(always)]
    pub fn side_by_side<F: Lane>(&self, plan: &Plan, w: F::Width) -> State<F> {
        let mut numbers = [w.splat(0.0); NUMBERS];
        for number in 0..numbers_of(plan) {
            let of = &self.states.numbers[number];
            numbers[number] = w.by_lane(|lane| of[self.place_of(lane)]);
        }
        let mut answers = [0; MOST_LANES];
        for lane in 0..F::Width::LANES {
            answers[lane] = self.states.answers[self.place_of(lane)];
        }
        let answers = &answers[..F::Width::LANES];
        let mut state = State {
            charge: numbers[0],
            at_hand: numbers[1],
            open_left_h: numbers[2],
            level: numbers[3],
            retry_left_h: numbers[4],
            tier: numbers[5],
            battery_c: numbers[6],
            tank_l: numbers[7],
            cans_l: numbers[8],
            refill_left_h: numbers[9],
            opened_by: w.splat(0.0),
            opened_at_share: w.splat(0.0),
            open: take::<F>(w, answers, 0),
            flat: take::<F>(w, answers, 1),
            topping: take::<F>(w, answers, 2),
            engine: take::<F>(w, answers, 3),
            refilling: take::<F>(w, answers, 4),
            too_cold: take::<F>(w, answers, 5),
            bulk: [w.all(false); MOST_SOURCES],
            had: [w.all(false); MOST_SOURCES],
            terms: Terms::unknown(w),
        };
        for source in 0..plan.sources.len().min(MOST_SOURCES) {
            state.bulk[source] = take::<F>(w, answers, 6 + 2 * source);
            state.had[source] = take::<F>(w, answers, 7 + 2 * source);
        }
        state
    }

    #[inline(always)]
    fn place_of(&self, lane: usize) -> usize {
        self.places[lane.min(self.places.len() - 1)]
    }
}

fn numbers_of(plan: &Plan) -> usize {
    if plan.engine.is_some() { NUMBERS } else { OF_AN_ENGINE }
}

/// Sets a bit in the lanes in which an answer is yes; few are in any.
#[allow(clippy::needless_range_loop)] // closures are not inlined into lanes
#[inline(always)]
fn put<M: Mask>(answers: &mut [u32], bit: usize, answer: M) {
    if !answer.any() {
        return;
    }
    for lane in 0..answers.len() {
        answers[lane] |= u32::from(answer.lane(lane)) << bit;
    }
}

/// The answers at a bit; mostly the same in all lanes.
#[inline(always)]
fn take<F: Lane>(w: F::Width, answers: &[u32], bit: usize) -> F::Mask {
    let (mut either, mut both) = (0, u32::MAX);
    for answer in answers {
        either |= answer;
        both &= answer;
    }
    if (either ^ both) >> bit & 1 == 0 {
        return w.all(both >> bit & 1 == 1);
    }
    w.mask_by_lane(|lane| answers[lane] >> bit & 1 == 1)
}

#[cfg(test)]
mod tests {
    use super::States;
    use crate::numbers::lane::{Side, Single, Wide};
    use crate::plan::Plan;
    use crate::plan::compile::compile;
    use crate::simulate::state::State;

    /// A station with an engine: all that a state remembers counts.
    fn plan() -> Plan {
        let text = include_str!("../../scenarios/field-weekend.json");
        let scenario = serde_json::from_str(text).expect("a scenario");
        compile(&scenario, None, Vec::new()).expect("a plan")
    }

    /// Numbers that no two states and no two fields have alike, and answers that go through all.
    #[allow(clippy::cast_precision_loss)]
    fn motley(plan: &Plan, of: usize) -> State<f64> {
        let number = |field: usize| (of * 100 + field) as f64;
        let answer = |field: usize| of >> field & 1 == 1;
        let mut state = State::at_start(plan, Single);
        state.charge = number(0);
        state.at_hand = number(1);
        state.open_left_h = number(2);
        state.level = number(3);
        state.retry_left_h = number(4);
        state.tier = number(5);
        state.battery_c = number(6);
        state.tank_l = number(7);
        state.cans_l = number(8);
        state.refill_left_h = number(9);
        state.open = answer(0);
        state.flat = answer(1);
        state.topping = answer(2);
        state.engine = answer(3);
        state.refilling = answer(4);
        state.too_cold = answer(5);
        for source in 0..state.bulk.len() {
            let there = source < plan.sources.len();
            state.bulk[source] = there && answer(6 + source);
            state.had[source] = there && answer(6 + plan.sources.len() + source);
        }
        state
    }

    /// Whatever is remembered comes back as it was kept, in any order and any company.
    #[test]
    fn states_come_back_as_they_were_kept() {
        let plan = plan();
        assert!(plan.engine.is_some() && plan.sources.len() >= 2);
        // Each answer alone, none, all, and some that are mixed.
        let kept: Vec<State<f64>> =
            [0, 1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1023, 0b10_1010_1010, 0b1_1100_0111]
                .map(|of| motley(&plan, of))
                .into();
        let mut states = States::default();
        assert!(states.some(&[]).is_none());
        for state in &kept {
            states.keep(&plan, state, 1);
        }
        assert_eq!(states.charges().len(), kept.len());
        let mut again = States::default();
        for _ in 0..2 {
            again.clear();
            for places in [[6, 2, 13], [11, 0, 12], [5, 9, 1], [3, 4, 10], [7, 8, 7]] {
                let mixed: State<Wide<4>> =
                    states.some(&places).expect("kept").side_by_side(&plan, Side::<4>);
                // The fourth lane repeats the third.
                again.keep(&plan, &mixed, 3);
            }
        }
        let order = [6, 2, 13, 11, 0, 12, 5, 9, 1, 3, 4, 10, 7, 8, 7];
        assert_eq!(again.charges().len(), order.len());
        for (place, of) in order.into_iter().enumerate() {
            let one: State<f64> = again.some(&[place]).expect("kept").side_by_side(&plan, Single);
            assert_eq!(format!("{one:?}"), format!("{:?}", kept[of]), "{place}");
        }
    }
}
