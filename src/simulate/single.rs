//! The single run: every step of a plan, with the full book.

use super::full_book::FullBook;
use super::ledger::Ledger;
use super::state::State;
use super::step::{Inputs, run_slice};
use crate::numbers::lane::Single;
use crate::plan::{MOST_SOURCES, Offered, Plan, Slice};

/// Simulates a plan and gives the ledger of its span.
#[must_use]
pub fn run(plan: &Plan) -> Ledger {
    Ledger { heads: plan.heads.clone(), rows: run_book(plan).rows }
}

/// Simulates a plan and keeps the book of its span.
#[must_use]
pub fn run_book(plan: &Plan) -> FullBook {
    run_book_with(plan, |_, _| true)
}

/// The same with somebody who may change the state before each step, as by swapping the battery, and
/// says whether there is anything to be stepped.
#[must_use]
pub fn run_book_with(
    plan: &Plan,
    mut before_step: impl FnMut(usize, &mut State<f64>) -> bool,
) -> FullBook {
    let mut state: State<f64> = State::at_start(plan, Single);
    let mut book = FullBook::new();
    let mut step = usize::MAX;
    let mut goes = true;
    for (at, slice) in plan.slices.iter().enumerate() {
        if slice.step != step {
            if step != usize::MAX && goes {
                book.end_step(plan, &state);
            }
            step = slice.step;
            if step == plan.settling_steps {
                book.begin_span();
            }
            goes = before_step(step, &mut state);
            if goes {
                book.begin_step(plan, step, &state);
            }
        }
        if !goes {
            continue;
        }
        let inputs = inputs_of(plan, slice, at);
        book.begin_slice(slice, offered_of(plan, at));
        run_slice(plan, slice, &inputs, &mut state, &mut book);
        book.end_slice(plan, slice, &state);
    }
    if goes {
        book.end_step(plan, &state);
    }
    book
}

/// What the compiled weather and grid bring in slice `at`.
#[must_use]
pub fn inputs_of(plan: &Plan, slice: &Slice, at: usize) -> Inputs<f64> {
    let offered = offered_of(plan, at);
    Inputs {
        available_w: offered.map(|it| it.available_w),
        shape_a: offered.map(|it| it.shape_a),
        shape_a_per_v: offered.map(|it| it.shape_a_per_v),
        air_c: plan.steps[slice.step].air_c,
        grid: slice.grid,
        warned: slice.warned,
        engine_starts: plan.engine.is_some_and(|engine| engine.starts),
        part_h: None,
    }
}

/// What the arrays of each source offer in slice `at`.
#[must_use]
pub fn offered_of(plan: &Plan, at: usize) -> [Offered; MOST_SOURCES] {
    let count = plan.sources.len();
    let mut offered = [Offered::default(); MOST_SOURCES];
    offered[..count].copy_from_slice(&plan.offered[at * count..(at + 1) * count]);
    offered
}
