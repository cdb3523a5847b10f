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
//! 1. **Look** (on the hour): top-up, tier, a disconnect that must be reset by hand.
//! 2. **Offer**: what each source has, and its limit; a source that comes back begins in bulk.
//! 3. Until the slice is used up:
//!    1. **Load**: profile and drop stage in force, and what controllers draw.
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
//! Trials side by side take a phase in which nothing happens at once (`plain`), to the same bits.
//!
//! Trust: the closed forms are exact for the equations of `station::battery::one_well`, but for two
//! conventions: in a free phase currents are those at the mean volts of the phase, and while a
//! source holds the volts the battery does not feel the transmitting.

mod account;
mod bus;
mod course;
mod demand;
mod events;
mod free;
mod hold;
mod line;
mod long;
mod look;
mod offers;
mod pieces;
mod plain;
mod wells;

use super::phase::Book;
use super::state::{State, place_of};
use crate::numbers::lane::{Lane, Mask, Piece, Width};
use crate::plan::{MOST_SOURCES, Plan, Rule, Slice};
use account::Account;
use course::Ahead;
use demand::{Demand, SupplyNow, demand_now, supply_now};
use events::{asleep, longest, sheds};
use long::{Facts, Gone, LongWay, go};
use look::{look, stop_top_up, tend_engine, warm};
use offers::{Offers, begin_bulk, offers_now};
use pieces::Booking;
use plain::PlainPhase;

/// Phases after which a slice is given up; what is left is booked at rest. Never reached in any
/// test; a guard against a loop without end.
const MOST_PHASES: usize = 400;

/// So few sources are written out one by one.
const FEW: usize = 2;

/// How many places there are to go through: a constant for few.
#[inline(always)]
fn places<const S: usize>(plan: &Plan) -> usize {
    if S > FEW { plan.sources.len().min(S) } else { S }
}

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
    /// Whether the generator starts when asked.
    pub engine_starts: F::Mask,
    /// Length of this part of the slice, h: where the mains fails or comes back within it. The whole
    /// slice otherwise.
    pub part_h: Option<F>,
}

impl<F: Lane> Inputs<F> {
    /// The same for all trials that run side by side.
    #[inline(always)]
    pub fn alike(w: F::Width, of: &Inputs<f64>) -> Self {
        let zero = w.splat(0.0);
        let mut inputs = Self {
            available_w: [zero; MOST_SOURCES],
            shape_a: [zero; MOST_SOURCES],
            shape_a_per_v: [zero; MOST_SOURCES],
            air_c: w.splat(of.air_c),
            grid: w.all(of.grid),
            warned: w.all(of.warned),
            engine_starts: w.all(of.engine_starts),
            part_h: None,
        };
        for place in 0..MOST_SOURCES {
            inputs.available_w[place] = w.splat(of.available_w[place]);
            inputs.shape_a[place] = w.splat(of.shape_a[place]);
            inputs.shape_a_per_v[place] = w.splat(of.shape_a_per_v[place]);
        }
        if let Some(part_h) = of.part_h {
            inputs.part_h = Some(w.splat(part_h));
        }
        inputs
    }
}

/// Whether a station has few sources, as most have, and no lead-acid battery: then the sums over
/// sources are written out.
#[must_use]
pub fn is_small(plan: &Plan) -> bool {
    plan.sources.len() <= FEW && plan.battery.second.is_none()
}

/// Runs one slice.
#[inline(always)]
pub fn run_slice<F: Lane, B: Book<F>>(
    plan: &Plan,
    slice: &Slice,
    inputs: &Inputs<F>,
    state: &mut State<F>,
    book: &mut B,
) {
    if const { F::Width::SHORT } || (F::Width::LANES > 1 && is_small(plan)) {
        run_with::<F, B, FEW>(plan, slice, inputs, state, book);
    } else {
        run_with::<F, B, MOST_SOURCES>(plan, slice, inputs, state, book);
    }
}

/// Runs one slice of a station of at most `S` sources; lead-acid not where they are few.
#[inline(always)]
fn run_with<F: Lane, B: Book<F>, const S: usize>(
    plan: &Plan,
    slice: &Slice,
    inputs: &Inputs<F>,
    state: &mut State<F>,
    book: &mut B,
) {
    let w = state.charge.width();
    let zero = w.splat(0.0);
    look(plan, slice, inputs, state);
    let cells = Cells {
        self_discharge_a: plan.battery.self_discharge_at_a(state.battery_c),
        empty_share: plan.battery.empty_share(state.battery_c),
    };
    let begun = supply_now(plan, slice, inputs, state);
    begin_bulk::<F, S>(plan, slice, inputs, &begun, state);
    // Without a top-up and an engine it is the same all the slice.
    let steady = plan.engine.is_none() && !matches!(slice.rule, Rule::TopUp { .. });

    let mut offers = Offers::new();
    let mut left_h = inputs.part_h.unwrap_or_else(|| w.splat(slice.hours));
    let mut kept: Option<Asked<F>> = None;
    for round in 0..MOST_PHASES {
        let waiting = zero.lt(left_h);
        if !waiting.any() {
            break;
        }
        let last = round + 1 == MOST_PHASES;
        if last {
            book.gave_up(plan, slice);
        }
        // After a phase in which nothing happened all is as it was.
        let asked = match kept {
            Some(asked) if !last => asked,
            _ => {
                stop_top_up(slice, inputs, state, waiting);
                tend_engine(plan, slice, inputs, state, waiting);
                let supply = if steady { begun } else { supply_now(plan, slice, inputs, state) };
                let sheds = sheds(state);
                let demand = demand_now(plan, slice, inputs, state, &supply, sheds);
                offers_now::<F, S>(plan, slice, inputs, state, &supply, &mut offers);
                Asked { sheds, supply, demand }
            }
        };
        let now = Now { waiting, left_h, last, asked: &asked, cells: &cells };
        let (hours, plainly) = run_phase::<F, B, S>(plan, slice, state, book, &now, &mut offers);
        kept = if plainly { Some(asked) } else { None };
        left_h = left_h - hours;
    }
    warm(plan, slice, inputs, state);
}

/// The cells at the temperature with which the slice begins.
struct Cells<F> {
    self_discharge_a: F,
    empty_share: F,
}

/// What loads ask for, and the supply.
#[derive(Clone, Copy)]
struct Asked<F: Lane> {
    /// Some lane sheds loads (see [`sheds`]).
    sheds: bool,
    supply: SupplyNow<F>,
    demand: Demand<F>,
}

/// What a phase begins with.
struct Now<'a, F: Lane> {
    waiting: F::Mask,
    left_h: F,
    /// The slice is given up: what is left is booked as it is.
    last: bool,
    asked: &'a Asked<F>,
    cells: &'a Cells<F>,
}

/// One phase: thresholds, course, books. Gives its length, and whether it was one in which nothing
/// happens.
#[inline(always)]
fn run_phase<F: Lane, B: Book<F>, const S: usize>(
    plan: &Plan,
    slice: &Slice,
    state: &mut State<F>,
    book: &mut B,
    now: &Now<'_, F>,
    offers: &mut Offers<F, S>,
) -> (F, bool) {
    let w = state.charge.width();
    let zero = w.splat(0.0);
    let forever = w.splat(f64::INFINITY);
    let battery = &plan.battery;
    let second = if S > FEW { battery.second.as_ref() } else { None };
    let offers = offers.as_mut_slice();
    let Now { waiting, left_h, last, asked, cells } = *now;
    let Asked { sheds, ref supply, ref demand } = *asked;
    let Cells { self_discharge_a, empty_share } = *cells;
    let charge_limit_a = F::select(
        state.too_cold.or(state.charge.ge(w.splat(1.0))).or(asleep(plan, state)),
        zero,
        w.splat(battery.charge_limit_a),
    );
    let most_h = longest(plan, state, left_h, sheds);
    let mut stop_share = match slice.rule {
        Rule::TopUp { stop_above_share, .. } => {
            F::select(state.topping, w.splat(stop_above_share), forever)
        }
        Rule::Off | Rule::On => forever,
    };
    if let Some(engine) = plan.engine {
        let stops = w.splat(engine.stop_above_share);
        stop_share = stop_share.least(F::select(state.engine, stops, forever));
    }
    let ahead = Ahead { most_h, stop_share, empty_share, self_discharge_a };
    let facts = Facts { charge_limit_a, ahead };
    // A single run always goes the long way.
    let passed = if const { F::Width::LANES > 1 }
        && !(last || sheds || second.is_some() || plan.engine.is_some())
    {
        let ahead = &facts.ahead;
        let phase = PlainPhase { plan, state, demand, offers, charge_limit_a, waiting, ahead };
        if const { F::Width::SHORT } { phase.done() } else { w.apart(phase) }
    } else {
        None
    };
    if let Some(passed) = &passed
        && !book.takes()
    {
        go_to(state, waiting, passed.to_share, passed.to_share);
        return (F::select(waiting, passed.hours, zero), true);
    }
    let plainly = passed.is_some();
    let gone = match passed {
        Some(passed) => Gone {
            course: passed.course(battery, state.charge),
            changed: w.all(false),
            held_v: zero,
            block_v: zero,
            blocked: w.all(false),
        },
        None if const { F::Width::SHORT } => {
            go::<F, S>(plan, state, waiting, asked, offers, &facts)
        }
        None => {
            let facts = &facts;
            w.apart(LongWay::<F, S> { plan, state, waiting, asked, offers, facts })
        }
    };
    let Gone { course, changed, held_v, block_v, blocked } = gone;
    let goes_on = waiting.and(changed.not());
    let moves = if last { waiting } else { goes_on };
    let hours = F::select(moves, course.hours, zero);

    // An engine burns fuel whether or not somebody looks.
    if plan.engine.is_some() || book.takes() {
        let account = Account {
            demand,
            sources: &*offers,
            course: &course,
            hours,
            held_v,
            block_v,
            blocked,
            grid_supply: supply.grid,
            engine: state.engine,
            engine_supply: supply.engine,
        };
        let fuel_l = here::<F, S, _>(w, Booking { plan, slice, state, account: &account, book });
        if plan.engine.is_some() {
            state.tank_l = (state.tank_l - fuel_l).most(zero);
            state.refill_left_h = (state.refill_left_h - hours).most(zero);
        }
    }

    go_to(state, moves, course.to_share, course.to_at_hand);
    if sheds {
        state.open_left_h = (state.open_left_h - hours).most(zero);
        state.retry_left_h = (state.retry_left_h - hours).most(zero);
    }
    (hours, plainly)
}

/// A phase is over.
#[inline(always)]
fn go_to<F: Lane>(state: &mut State<F>, moves: F::Mask, to_share: F, to_at_hand: F) {
    state.charge = F::select(moves, to_share, state.charge);
    state.at_hand = F::select(moves, to_at_hand, state.at_hand);
}

/// What nearly every phase of a small station does is not compiled apart.
#[inline(always)]
fn here<F: Lane, const S: usize, P: Piece>(w: F::Width, piece: P) -> P::Output {
    if const { S > FEW } { w.apart(piece) } else { piece.done() }
}

#[inline(always)]
fn index<W: Width>(w: W, place: usize) -> W::Lane {
    w.splat(place_of(place))
}
