//! The single run: every step of a plan, with the full book.

use super::full_book::FullBook;
use super::ledger::Ledger;
use super::state::State;
use super::step::{Inputs, run_slice};
use crate::plan::{MOST_SOURCES, Plan, Slice};

/// Simulates a plan and keeps the book of its span.
#[must_use]
pub fn run(plan: &Plan) -> Ledger {
    let mut state: State<f64> = State::at_start(plan);
    let mut book = FullBook::new();
    let mut step = usize::MAX;
    for (at, slice) in plan.slices.iter().enumerate() {
        if slice.step != step {
            if step != usize::MAX {
                book.end_step(plan, state.charge);
            }
            step = slice.step;
            if step == plan.settling_steps {
                book.begin_span();
            }
            book.begin_step(plan, step, state.charge, state.battery_c, state.too_cold);
        }
        let inputs = inputs_of(plan, slice, at);
        book.begin_slice(slice, inputs.available_w);
        run_slice(plan, slice, &inputs, &mut state, &mut book);
        book.end_slice(plan, slice, state.tier);
    }
    book.end_step(plan, state.charge);
    Ledger { heads: plan.heads.clone(), rows: book.rows }
}

/// What the compiled weather and grid bring in slice `at`.
#[must_use]
pub fn inputs_of(plan: &Plan, slice: &Slice, at: usize) -> Inputs<f64> {
    let count = plan.sources.len();
    let mut available_w = [0.0; MOST_SOURCES];
    available_w[..count].copy_from_slice(&plan.available_w[at * count..(at + 1) * count]);
    Inputs { available_w, air_c: plan.steps[slice.step].air_c, grid: slice.grid }
}
