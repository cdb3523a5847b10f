//! One slice of time: the step that every run goes through.
//!
//! Within a slice the clock changes nothing, so the charge s is a one-dimensional flow. The bus
//! has set points V_k; a source gives its limit below its set point and nothing above. Let A_k be
//! the charging current with every source of set point V_k or more at its limit, at V_k, and B_k the
//! same without those of exactly V_k. The charges
//! `full_k = s where A_k brings the terminals to V_k` and `off_k = s where B_k does` part the line:
//! below `full_k` source k gives its limit, above `off_k` nothing, between them it holds V_k. So a
//! slice is a short list of phases, each in closed form:
//!
//! 1. **Look** (on the hour): top-up, tier, a disconnect that waits for a hand.
//! 2. **Offer**: what each source has, and its limit; a source that comes back begins in bulk.
//! 3. Until the slice is used up:
//!    1. **Load**: profile and rung in force, and what controllers draw.
//!    2. **Thresholds**: `full_k` and `off_k`; regime of each source.
//!    3. **Held** volts: the battery takes an exponentially falling current along one straight
//!       piece of its curve; else **free** volts: a steady current at the exact mean volts of the
//!       phase (a quadratic, upper root); else **blocked** (cold or full) or **balanced**.
//!    4. The nearest threshold ahead ends the phase: a source begins or ends to hold, a tail current
//!       is reached, a device drops out, the disconnect opens or closes, full, empty, the top-up is
//!       done, a kink of the curve, a timer.
//!    5. **Book** the phase.
//! 4. **Temperature** of the battery for the next slice.
//!
//! Trust: the closed forms are exact for the equations of `station::battery::one_well`, but for two
//! conventions: in a free phase currents are those at the mean volts of the phase, and while a
//! source holds the volts the battery does not feel the keying.

mod account;
mod course;
mod demand;
mod events;
mod free;
mod hold;
mod look;
mod offers;
mod wells;

use super::phase::Book;
use super::state::State;
use crate::numbers::lane::{Lane, Mask};
use crate::plan::{MOST_SOURCES, Plan, Rule, Slice};
use account::{Account, settle_account};
use course::Ahead;
use demand::{demand_now, supply_now};
use events::{asleep, close, drop_out, end_bulk, longest, retry};
use free::FreeBus;
use hold::hold;
use look::{look, stop_top_up, tend_engine, warm};
use offers::{begin_bulk, offers_now, place_thresholds};
use wells::{Held, Middle, Wells, place_regimes, short};

/// Phases after which a slice is given up; what is left is booked at rest. Never reached in any
/// test; a guard against a loop without end.
const MOST_PHASES: usize = 400;

/// What the weather brings in a slice.
#[derive(Debug, Clone, Copy)]
pub struct Inputs<F: Lane> {
    /// Power of the arrays of each source at the maximum-power point, W.
    pub available_w: [F; MOST_SOURCES],
    /// Current of the panels of a switching controller (see `plan::Offered`), A.
    pub shape_a: [F; MOST_SOURCES],
    /// Its change with battery volts, A per volt.
    pub shape_a_per_v: [F; MOST_SOURCES],
    /// Air temperature, deg C.
    pub air_c: F,
    /// Whether the mains is there.
    pub grid: F::Mask,
    /// Whether a strategy that waits for warnings has the supply on because of one.
    pub warned: F::Mask,
    /// Whether the engine starts when asked.
    pub engine_starts: F::Mask,
    /// Length of this part of the slice, h: where the mains fails or comes back within it. The whole
    /// slice otherwise.
    pub part_h: Option<F>,
}

/// Runs one slice.
pub fn run_slice<F: Lane, B: Book<F>>(
    plan: &Plan,
    slice: &Slice,
    inputs: &Inputs<F>,
    state: &mut State<F>,
    book: &mut B,
) {
    let zero = F::splat(0.0);
    look(plan, slice, inputs, state);
    let battery = &plan.battery;
    let self_discharge_a = state.battery_c.map(|battery_c| battery.self_discharge_at_a(battery_c));
    let empty_share = state.battery_c.map(|battery_c| battery.empty_share(battery_c));
    begin_bulk(plan, slice, inputs, state);

    let mut left_h = inputs.part_h.unwrap_or_else(|| F::splat(slice.hours));
    for round in 0..MOST_PHASES {
        let waiting = zero.lt(left_h);
        if !waiting.any() {
            break;
        }
        let last_round = round + 1 == MOST_PHASES;
        if last_round {
            book.gave_up(plan, slice);
        }
        stop_top_up(slice, inputs, state, waiting);
        tend_engine(plan, slice, inputs, state, waiting);
        let supply = supply_now(plan, slice, inputs, state);
        let demand = demand_now(plan, slice, inputs, state, &supply);
        let charge_limit_a = F::select(
            state.too_cold.or(state.charge.ge(F::splat(1.0))).or(asleep(plan, state)),
            zero,
            F::splat(battery.charge_limit_a),
        );
        let mut offers = offers_now(plan, slice, inputs, state, &supply, &demand);
        let most_h = longest(plan, state, left_h);
        let mut charge_ohm = F::splat(battery.resistance_ohm);
        match &battery.second {
            None => {
                place_thresholds(
                    plan,
                    state,
                    &demand,
                    charge_limit_a,
                    self_discharge_a,
                    &mut offers,
                );
            }
            Some(second) => {
                let wells = Wells::over(
                    plan,
                    second,
                    state,
                    self_discharge_a,
                    short(most_h),
                    &Middle::unknown(),
                );
                charge_ohm = wells.charge_ohm;
                place_regimes(plan, &wells, &demand, charge_limit_a, &mut offers);
            }
        }
        let sources = &offers[..plan.sources.len()];

        let mut held = F::all(false);
        let mut held_v = zero;
        let mut held_most_a = zero;
        for offer in sources {
            let holds = offer.live.and(offer.full.not()).and(offer.off.not());
            held_v = F::select(holds, offer.set_v, held_v);
            held_most_a = F::select(holds, offer.with_a, held_most_a);
            held = held.or(holds);
        }

        // Changes that take no time: the lane goes round again.
        let mut changed = end_bulk(plan, state, waiting, sources, held, held_v);
        let free = FreeBus::at(
            plan,
            state,
            &demand,
            sources,
            charge_limit_a,
            self_discharge_a,
            charge_ohm,
        );
        let level_v = F::select(held, held_v, free.first_v);
        changed = changed
            .or(retry(state, waiting))
            .or(close(plan, state, waiting, level_v))
            .or(drop_out(plan, state, waiting, &demand, &free, held, empty_share));
        let goes_on = waiting.and(changed.not());
        if last_round {
            changed = F::all(false);
        }

        let forever = F::splat(f64::INFINITY);
        let mut stop_share = match slice.rule {
            Rule::TopUp { stop_above_share, .. } => {
                F::select(state.topping, F::splat(stop_above_share), forever)
            }
            Rule::Off | Rule::On => forever,
        };
        if let Some(engine) = plan.engine {
            let stops = F::splat(engine.stop_above_share);
            stop_share = stop_share.least(F::select(state.engine, stops, forever));
        }
        let ahead = Ahead { most_h, stop_share, empty_share, self_discharge_a };
        let course = match &battery.second {
            Some(second) => {
                let held = Held { held, volts: held_v, most_a: held_most_a };
                wells::course(
                    plan,
                    second,
                    state,
                    &demand,
                    sources,
                    &free,
                    held,
                    charge_limit_a,
                    &ahead,
                )
            }
            None => {
                let free_course = free.course(plan, state, &demand, sources, &ahead);
                if held.any() {
                    let held_course = hold(plan, state, sources, held_v, &ahead);
                    held_course.where_else(held, &free_course)
                } else {
                    free_course
                }
            }
        };
        let moves = goes_on.or(F::all(last_round));
        let hours = F::select(moves, course.hours, zero);

        let phase = settle_account(
            plan,
            state,
            &Account {
                demand: &demand,
                sources,
                course: &course,
                hours,
                held_v: F::select(held, held_v, F::splat(0.0)),
                block_v: free.block_v,
                blocked: free.blocked.and(held.not()),
                grid_supply: supply.grid,
                engine: state.engine,
                engine_supply: supply.engine,
            },
        );
        book.phase(plan, slice, &phase);

        state.charge = F::select(moves, course.to_share, state.charge);
        state.at_hand = F::select(moves, course.to_at_hand, state.at_hand);
        state.tank_l = (state.tank_l - phase.fuel_l).most(zero);
        state.refill_left_h = (state.refill_left_h - hours).most(zero);
        left_h = left_h - hours;
        state.open_left_h = (state.open_left_h - hours).most(zero);
        state.retry_left_h = (state.retry_left_h - hours).most(zero);
    }
    warm(plan, slice, inputs, state);
}

#[allow(clippy::cast_precision_loss)]
#[inline(always)]
fn index<F: Lane>(place: usize) -> F {
    F::splat(place as f64)
}
