//! Trials side by side and one by one: the same bits.
#![allow(dead_code)]

use longwatch::numbers::lane::{Lane, Single, Width};
use longwatch::numbers::packed::Work;
use longwatch::plan::{MOST_SOURCES, Offered, Plan, Slice};
use longwatch::simulate::full_book::FullBook;
use longwatch::simulate::phase::{Book, Phase};
use longwatch::simulate::single;
use longwatch::simulate::state::State;
use longwatch::simulate::step::{Inputs, run_slice};

/// Books of trials side by side.
struct Books(Vec<FullBook>);

impl<F: Lane> Book<F> for Books {
    fn phase(&mut self, plan: &Plan, slice: &Slice, phase: &Phase<F>) {
        for (lane, book) in self.0.iter_mut().enumerate() {
            book.phase(plan, slice, &phase.of_lane(lane));
        }
    }
}

/// Trials that differ in start charge and sun, side by side and one by one: the same bits.
pub struct Compare<'a> {
    plan: &'a Plan,
    /// Lowest and highest charge at the start.
    begin: (f64, f64),
    /// Weakest sun, and what a lane has more than the one before.
    sun: (f64, f64),
}

impl<'a> Compare<'a> {
    /// From nearly empty to nearly full.
    pub fn spread(plan: &'a Plan) -> Self {
        Self { plan, begin: (0.05, 0.95), sun: (0.1, 0.3) }
    }

    /// From empty to this charge, the first lane in the dark.
    pub fn from_empty(plan: &'a Plan, charge: f64) -> Self {
        Self { plan, begin: (0.0, charge), sun: (0.0, 0.3) }
    }
}

impl Work for Compare<'_> {
    type Output = Result<(), String>;

    #[inline(always)]
    fn with<W: Width>(self, w: W) -> Result<(), String> {
        let Self { plan, begin: (lowest, highest), sun: (weakest, more) } = self;
        let lanes = W::LANES;
        let sun = |lane: usize| weakest + more * lane as f64;
        let begin = |lane: usize| lowest + (highest - lowest) * lane as f64 / lanes as f64;
        let mut wide = State::<W::Lane>::at_start(plan, w);
        wide.charge = w.by_lane(begin);
        wide.at_hand = wide.charge;
        let mut books = Books(vec![FullBook::new(); lanes]);
        let mut singles: Vec<_> = (0..lanes)
            .map(|lane| {
                let mut state = State::<f64>::at_start(plan, Single);
                state.charge = begin(lane);
                state.at_hand = state.charge;
                (state, FullBook::new())
            })
            .collect();
        for (at, slice) in plan.slices.iter().enumerate() {
            let base = single::inputs_of(plan, slice, at);
            let mut inputs = Inputs::alike(w, &base);
            for place in 0..MOST_SOURCES {
                inputs.available_w[place] = w.by_lane(|lane| base.available_w[place] * sun(lane));
                inputs.shape_a[place] = w.by_lane(|lane| base.shape_a[place] * sun(lane));
                inputs.shape_a_per_v[place] =
                    w.by_lane(|lane| base.shape_a_per_v[place] * sun(lane));
            }
            for (lane, (state, book)) in singles.iter_mut().enumerate() {
                let dim = |values: [f64; MOST_SOURCES]| values.map(|value| value * sun(lane));
                let single_inputs = Inputs {
                    available_w: dim(base.available_w),
                    shape_a: dim(base.shape_a),
                    shape_a_per_v: dim(base.shape_a_per_v),
                    ..base
                };
                let offered = single::offered_of(plan, at).map(|it| Offered {
                    available_w: it.available_w * sun(lane),
                    shape_a: it.shape_a * sun(lane),
                    shape_a_per_v: it.shape_a_per_v * sun(lane),
                });
                for book in [&mut books.0[lane], book] {
                    book.begin_step(plan, slice.step, state);
                    book.begin_slice(slice, offered);
                }
                run_slice(plan, slice, &single_inputs, state, book);
                book.end_step(plan, state);
            }
            run_slice(plan, slice, &inputs, &mut wide, &mut books);
            for (lane, book) in books.0.iter_mut().enumerate() {
                let mut state = singles[lane].0;
                state.charge = wide.charge.lane(lane);
                state.at_hand = wide.at_hand.lane(lane);
                book.end_step(plan, &state);
                let (one, many) = (singles[lane].1.rows.last(), book.rows.last());
                if format!("{one:?}") != format!("{many:?}") {
                    return Err(format!("lane {lane} of {lanes}:\n{one:?}\n{many:?}"));
                }
            }
        }
        Ok(())
    }
}
