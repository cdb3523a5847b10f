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

use super::phase::{Book, Phase};
use super::state::State;
use crate::numbers::elementary::{exp_of_minus, natural_log};
use crate::numbers::lane::{Lane, Mask};
use crate::plan::{MOST_SOURCES, Plan, Rule, Slice, SupplyPlan, TemperaturePlan};

/// Phases after which a slice is given up; what is left is booked at rest. Never reached in any
/// test; a guard against a loop without end.
const MOST_PHASES: usize = 400;
/// A supply has no weather: power that its current limit always stays below, W.
const WITHOUT_WEATHER_W: f64 = 1e12;
/// Shortest phase towards a kink of the curve, h.
const SHORTEST_H: f64 = 1e-5;
/// Charging current, share of capacity an hour, below which a taper counts as done.
const AT_REST_PER_H: f64 = 1e-8;

/// What the weather brings in a slice.
#[derive(Debug, Clone, Copy)]
pub struct Inputs<F: Lane> {
    /// Power of the arrays of each source, panel side, W.
    pub available_w: [F; MOST_SOURCES],
    /// Air temperature, deg C.
    pub air_c: F,
    /// Whether the mains is there.
    pub grid: F::Mask,
}

/// Loads as the bus feels them.
#[derive(Clone, Copy)]
struct Demand<F: Lane> {
    profile: F,
    rung: F,
    /// Constant current, A.
    current_a: F,
    /// Constant power with the controllers' own, W.
    power_w: F,
    own_draw_w: F,
    charging_left_a: F,
}

/// A source within the slice.
#[derive(Clone, Copy)]
struct Offer<F: Lane> {
    limit_a: F,
    power_w: F,
    set_v: F,
    live: F::Mask,
    /// At its limit, at these volts.
    full: F::Mask,
    /// Nothing, at these volts.
    off: F::Mask,
    full_below: F,
    off_above: F,
    /// Charging current with the sources above it alone, A.
    without_a: F,
}

impl<F: Lane> Offer<F> {
    #[inline(always)]
    fn current_at(&self, volts: F) -> F {
        self.limit_a.least(self.power_w / volts)
    }
}

/// How a phase goes on.
#[derive(Clone, Copy)]
struct Course<F: Lane> {
    hours: F,
    mean_v: F,
    first_v: F,
    last_v: F,
    to_share: F,
    charged_ah: F,
    square_a2h: F,
    surface_wh: F,
    leaked_ah: F,
    /// 1 where the battery feels the keying.
    spread: F,
    served_share: F,
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
    let zero = F::splat(0.0);
    look(plan, slice, inputs, state);
    let battery = &plan.battery;
    let self_discharge_a = state.battery_c.map(|battery_c| battery.self_discharge_at_a(battery_c));
    let empty_share = state.battery_c.map(|battery_c| battery.empty_share(battery_c));
    begin_bulk(plan, slice, inputs, state);

    let mut left_h = F::splat(slice.hours);
    for round in 0..MOST_PHASES {
        let waiting = zero.lt(left_h);
        if !waiting.any() {
            break;
        }
        let last_round = round + 1 == MOST_PHASES;
        stop_top_up(slice, state);
        let supply = supply_now(plan, slice, inputs, state);
        let demand = demand_now(plan, slice, inputs, state, &supply, empty_share);
        let charge_limit_a = F::select(
            state.too_cold.or(state.charge.ge(F::splat(1.0))),
            zero,
            F::splat(battery.charge_limit_a),
        );
        let mut offers = offers_now(plan, slice, inputs, state, &supply, &demand);
        place_thresholds(plan, state, &demand, charge_limit_a, self_discharge_a, &mut offers);
        let sources = &offers[..plan.sources.len()];

        let mut held = F::all(false);
        let mut held_v = zero;
        for offer in sources {
            let holds = offer.live.and(offer.full.not()).and(offer.off.not());
            held_v = F::select(holds, offer.set_v, held_v);
            held = held.or(holds);
        }

        // Changes that take no time: the lane goes round again.
        let mut changed = end_bulk(plan, state, &demand, sources, held, held_v);
        let free = FreeBus::at(plan, state, &demand, sources, charge_limit_a, self_discharge_a);
        let level_v = F::select(held, held_v, free.first_v);
        changed = changed
            .or(retry(state))
            .or(close(plan, state, level_v))
            .or(drop_out(plan, state, &demand, &free, held, empty_share));
        let goes_on = waiting.and(changed.not());
        if last_round {
            changed = F::all(false);
        }

        let most_h = longest(state, left_h);
        let stop_share = match slice.rule {
            Rule::TopUp { stop_above_share, .. } => {
                F::select(state.topping, F::splat(stop_above_share), F::splat(f64::INFINITY))
            }
            Rule::Off | Rule::On => F::splat(f64::INFINITY),
        };
        let ahead = Ahead { most_h, stop_share, empty_share, self_discharge_a };
        let free_course = free.course(plan, state, &demand, sources, &ahead);
        let course = if held.any() {
            let held_course = hold(plan, state, &demand, sources, held_v, &ahead);
            held_course.where_else(held, &free_course)
        } else {
            free_course
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
                supply_on: supply.carrying,
            },
        );
        book.phase(plan, slice, &phase);

        state.charge = F::select(moves, course.to_share, state.charge);
        left_h = left_h - hours;
        state.open_left_h = (state.open_left_h - hours).most(zero);
        state.retry_left_h = (state.retry_left_h - hours).most(zero);
    }
    warm(plan, slice, inputs, state);
}

/// 1. What somebody looks at on the hour.
#[inline(always)]
fn look<F: Lane>(plan: &Plan, slice: &Slice, inputs: &Inputs<F>, state: &mut State<F>) {
    if slice.looks {
        if let Rule::TopUp { start_below_share, .. } = slice.rule
            && slice.attended
        {
            let low = state.charge.lt(F::splat(start_below_share));
            state.topping = state.topping.or(low.and(inputs.grid));
        }
        if plan.latch.by_hand && slice.attended {
            let rest_v = plan.battery.rest_v(state.charge);
            let may = state
                .open
                .and(state.open_left_h.le(F::splat(0.0)))
                .and(rest_v.ge(F::splat(plan.latch.close_v)));
            state.open = state.open.and(may.not());
            state.level = F::select(may, F::splat(0.0), state.level);
        }
    }
    if slice.decides {
        for (tier, below_share) in plan.tiers.down_below_share.iter().enumerate() {
            let here = at(state.tier, tier).and(state.charge.lt(F::splat(*below_share)));
            state.tier = F::select(here, index(tier + 1), state.tier);
        }
        for (tier, above_share) in plan.tiers.up_above_share.iter().enumerate().rev() {
            let here = at(state.tier, tier + 1).and(state.charge.gt(F::splat(*above_share)));
            state.tier = F::select(here, index(tier), state.tier);
        }
    }
}

#[allow(clippy::cast_precision_loss)]
#[inline(always)]
fn index<F: Lane>(place: usize) -> F {
    F::splat(place as f64)
}

#[inline(always)]
fn at<F: Lane>(value: F, place: usize) -> F::Mask {
    value.le(index(place)).and(value.ge(index(place)))
}

/// 2. A source that comes back, and one whose float has sagged, begins with bulk.
#[inline(always)]
fn begin_bulk<F: Lane>(plan: &Plan, slice: &Slice, inputs: &Inputs<F>, state: &mut State<F>) {
    let supply = supply_now(plan, slice, inputs, state);
    let rest_v = plan.battery.rest_v(state.charge) - F::splat(plan.battery.half_gap_v);
    for (place, source) in plan.sources.iter().enumerate() {
        let has = if plan.supply.is_some_and(|supply| supply.source == place) {
            supply.charging
        } else {
            F::splat(0.0).lt(inputs.available_w[place])
        };
        let back = has.and(state.had[place].not());
        let sagged = rest_v.lt(F::splat(source.rebulk_v));
        state.bulk[place] = state.bulk[place].or(back).or(sagged);
        state.had[place] = has;
    }
}

/// What the supply is doing.
struct SupplyNow<F: Lane> {
    carrying: F::Mask,
    charging: F::Mask,
}

#[inline(always)]
fn supply_now<F: Lane>(
    plan: &Plan,
    slice: &Slice,
    inputs: &Inputs<F>,
    state: &State<F>,
) -> SupplyNow<F> {
    let Some(SupplyPlan { source, rule_switches_charger, .. }) = plan.supply else {
        return SupplyNow { carrying: F::all(false), charging: F::all(false) };
    };
    let fed = if slice.is_silent(source) { F::all(false) } else { inputs.grid };
    let wanted = match slice.rule {
        Rule::Off => F::all(false),
        Rule::On => F::all(true),
        Rule::TopUp { .. } => state.topping,
    };
    let charging = fed.and(wanted);
    SupplyNow { carrying: if rule_switches_charger { fed } else { charging }, charging }
}

#[inline(always)]
fn stop_top_up<F: Lane>(slice: &Slice, state: &mut State<F>) {
    match slice.rule {
        Rule::TopUp { stop_above_share, .. } => {
            let done = state.charge.ge(F::splat(stop_above_share));
            state.topping = state.topping.and(done.not());
        }
        Rule::Off | Rule::On => state.topping = F::all(false),
    }
}

/// 3.1 Profile and rung in force.
#[inline(always)]
fn demand_now<F: Lane>(
    plan: &Plan,
    slice: &Slice,
    inputs: &Inputs<F>,
    state: &State<F>,
    supply: &SupplyNow<F>,
    empty_share: F,
) -> Demand<F> {
    let zero = F::splat(0.0);
    let least_tier = F::select(inputs.grid, zero, index(plan.tiers.without_mains));
    let tier = state.tier.most(least_tier);
    let carries = plan.supply.is_some_and(|supply| supply.carries_groups);
    let carried =
        F::select(supply.carrying.and(F::all(carries)), F::splat(1.0), zero);
    let profile =
        (index::<F>(slice.set * plan.tiers.count) + tier) * F::splat(2.0) + carried;
    let first = profile.look_up(|at| index(plan.profiles[at].first_rung));
    let open = profile.look_up(|at| index(plan.profiles[at].open_rung));
    let rung = F::select(state.open, open, first + state.level).least(open);
    let flat = state.open.and(state.charge.le(empty_share));
    let own_draw_w = F::select(flat, zero, F::splat(plan.own_draw_w));
    Demand {
        profile,
        rung,
        current_a: rung.look_up(|at| plan.rungs[at].current_a),
        power_w: rung.look_up(|at| plan.rungs[at].power_w) + own_draw_w,
        own_draw_w,
        charging_left_a: profile.look_up(|at| plan.profiles[at].charging_left_a),
    }
}

/// 3.2 What each source has, before it is known what it gives.
#[inline(always)]
fn offers_now<F: Lane>(
    plan: &Plan,
    slice: &Slice,
    inputs: &Inputs<F>,
    state: &State<F>,
    supply: &SupplyNow<F>,
    demand: &Demand<F>,
) -> [Offer<F>; MOST_SOURCES] {
    let zero = F::splat(0.0);
    let no = F::all(false);
    let mut offers = [Offer {
        limit_a: zero,
        power_w: zero,
        set_v: zero,
        live: no,
        full: no,
        off: no,
        full_below: zero,
        off_above: zero,
        without_a: zero,
    }; MOST_SOURCES];
    for (place, source) in plan.sources.iter().enumerate() {
        let offer = &mut offers[place];
        offer.set_v =
            F::select(state.bulk[place], F::splat(source.bulk_v), F::splat(source.float_v));
        match plan.supply {
            Some(mains) if mains.source == place => {
                let limit_a = if mains.carries_groups {
                    demand.charging_left_a
                } else {
                    F::splat(source.limit_a)
                };
                offer.limit_a = F::select(supply.charging, limit_a, zero);
                offer.power_w =
                    F::select(supply.charging, F::splat(WITHOUT_WEATHER_W), zero);
            }
            _ if slice.is_silent(place) => {}
            _ => {
                offer.limit_a = F::splat(source.limit_a);
                offer.power_w = inputs.available_w[place] * F::splat(source.efficiency_share);
            }
        }
        offer.live = zero.lt(offer.power_w).and(zero.lt(offer.limit_a));
    }
    offers
}

/// 3.2 `full_k`, `off_k` and the regime of each source.
#[inline(always)]
fn place_thresholds<F: Lane>(
    plan: &Plan,
    state: &State<F>,
    demand: &Demand<F>,
    charge_limit_a: F,
    self_discharge_a: F,
    offers: &mut [Offer<F>; MOST_SOURCES],
) {
    let count = plan.sources.len();
    let zero = F::splat(0.0);
    for place in 0..count {
        let volts = offers[place].set_v;
        let load_a = demand.current_a + demand.power_w / volts;
        let (mut with_a, mut without_a) = (-load_a, -load_a);
        for other in &offers[..count] {
            let current_a = F::select(other.live, other.current_at(volts), zero);
            with_a = with_a + F::select(other.set_v.ge(volts), current_a, zero);
            without_a = without_a + F::select(other.set_v.gt(volts), current_a, zero);
        }
        let with_a = with_a.least(charge_limit_a);
        let without_a = without_a.least(charge_limit_a);
        let full_below = plan.battery.charge_where(volts, with_a);
        let off_above = plan.battery.charge_where(volts, without_a);
        let s = state.charge;
        let offer = &mut offers[place];
        offer.full_below = full_below;
        offer.off_above = off_above;
        offer.without_a = without_a;
        // On the boundary the regime is the one that lies ahead.
        offer.full = s.lt(full_below).or(s.le(full_below).and(with_a.le(self_discharge_a)));
        offer.off = s.gt(off_above).or(s.ge(off_above).and(without_a.gt(self_discharge_a)));
    }
}

/// Own current at the bulk set point has fallen to the tail: float. A source sees only its own.
#[inline(always)]
fn end_bulk<F: Lane>(
    plan: &Plan,
    state: &mut State<F>,
    demand: &Demand<F>,
    sources: &[Offer<F>],
    held: F::Mask,
    held_v: F,
) -> F::Mask {
    let mut changed = F::all(false);
    for (place, source) in plan.sources.iter().enumerate() {
        if source.tail_a < 0.0 {
            continue;
        }
        let offer = &sources[place];
        let done_above = tail_charge(plan, demand, sources, place, held_v);
        let holds = held.and(offer.full.not()).and(offer.off.not());
        let tail = holds.and(state.charge.ge(done_above)).or(offer.off);
        let ends = state.bulk[place].and(offer.live).and(tail);
        state.bulk[place] = state.bulk[place].and(ends.not());
        changed = changed.or(ends);
    }
    changed
}

/// Charge at which source `place`, holding `held_v`, gives no more than its tail current.
#[inline(always)]
fn tail_charge<F: Lane>(
    plan: &Plan,
    _demand: &Demand<F>,
    sources: &[Offer<F>],
    place: usize,
    held_v: F,
) -> F {
    let zero = F::splat(0.0);
    let offer = &sources[place];
    let own_a = offer.current_at(held_v);
    let mut shared_a = zero;
    for other in sources {
        let shares = other.live.and(other.full.not()).and(other.off.not());
        shared_a = shared_a + F::select(shares, other.current_at(held_v), zero);
    }
    let together_a = F::splat(plan.sources[place].tail_a) * shared_a / own_a;
    let tail = plan.battery.charge_where(held_v, together_a + offer.without_a);
    F::select(zero.lt(own_a), tail, F::splat(f64::INFINITY))
}

/// Devices that dropped out try again.
#[inline(always)]
fn retry<F: Lane>(state: &mut State<F>) -> F::Mask {
    let zero = F::splat(0.0);
    let tries = zero.lt(state.level).and(state.retry_left_h.le(zero)).and(state.open.not());
    state.level = F::select(tries, zero, state.level);
    tries
}

/// The latch closes by itself.
#[inline(always)]
fn close<F: Lane>(plan: &Plan, state: &mut State<F>, level_v: F) -> F::Mask {
    if plan.latch.by_hand {
        return F::all(false);
    }
    let zero = F::splat(0.0);
    let closes = state
        .open
        .and(state.open_left_h.le(zero))
        .and(level_v.ge(F::splat(plan.latch.close_v)));
    state.open = state.open.and(closes.not());
    state.level = F::select(closes, zero, state.level);
    closes
}

/// A device drops out of its window, or the latch opens.
#[inline(always)]
fn drop_out<F: Lane>(
    plan: &Plan,
    state: &mut State<F>,
    demand: &Demand<F>,
    free: &FreeBus<F>,
    held: F::Mask,
    empty_share: F,
) -> F::Mask {
    let closed = state.open.not().and(held.not()).and(free.blocked.not());
    let next_v = demand.rung.look_up(|at| plan.rungs[at].next_below_v);
    let next_opens = F::splat(0.5)
        .lt(demand.rung.look_up(|at| if plan.rungs[at].next_opens { 1.0 } else { 0.0 }));
    let low = closed.and(free.first_v.le(next_v));
    let mut opens = low.and(next_opens);
    let drops = low.and(next_opens.not());
    if !plan.battery.serves_when_empty {
        let flat = state.charge.le(empty_share).and(free.discharging);
        opens = opens.or(closed.and(flat)).or(closed.and(free.no_solution));
        let peak_a = demand.rung.look_up(|at| plan.rungs[at].peak_current_a)
            + demand.rung.look_up(|at| plan.rungs[at].peak_power_w) / free.first_v;
        let from_battery_a = peak_a - free.sources_a;
        let limit_a = F::splat(plan.battery.discharge_limit_a);
        opens = opens.or(closed.and(from_battery_a.gt(limit_a)));
    }
    state.open = state.open.or(opens);
    state.open_left_h =
        F::select(opens, F::splat(plan.latch.min_open_h), state.open_left_h);
    state.level = F::select(drops, state.level + F::splat(1.0), state.level);
    state.retry_left_h = F::select(drops, F::splat(plan.latch.retry_h), state.retry_left_h);
    opens.or(drops)
}

/// The longest that the phase may last: timers end it.
#[inline(always)]
fn longest<F: Lane>(state: &State<F>, left_h: F) -> F {
    let zero = F::splat(0.0);
    let forever = F::splat(f64::INFINITY);
    let open_h =
        F::select(state.open.and(zero.lt(state.open_left_h)), state.open_left_h, forever);
    let retry_h =
        F::select(zero.lt(state.level).and(state.open.not()), state.retry_left_h, forever);
    left_h.least(open_h).least(retry_h)
}

/// What may end a phase besides the bus.
struct Ahead<F: Lane> {
    most_h: F,
    stop_share: F,
    empty_share: F,
    self_discharge_a: F,
}

impl<F: Lane> Course<F> {
    #[inline(always)]
    fn where_else(&self, mask: F::Mask, other: &Self) -> Self {
        let pick = |yes: F, no: F| F::select(mask, yes, no);
        Self {
            hours: pick(self.hours, other.hours),
            mean_v: pick(self.mean_v, other.mean_v),
            first_v: pick(self.first_v, other.first_v),
            last_v: pick(self.last_v, other.last_v),
            to_share: pick(self.to_share, other.to_share),
            charged_ah: pick(self.charged_ah, other.charged_ah),
            square_a2h: pick(self.square_a2h, other.square_a2h),
            surface_wh: pick(self.surface_wh, other.surface_wh),
            leaked_ah: pick(self.leaked_ah, other.leaked_ah),
            spread: pick(self.spread, other.spread),
            served_share: pick(self.served_share, other.served_share),
        }
    }
}

/// 3.3 A source holds `held_v`: on a straight piece of the curve the current is a straight line of
/// the charge, so what is above the self-discharge dies away exponentially.
#[inline(always)]
fn hold<F: Lane>(
    plan: &Plan,
    state: &State<F>,
    demand: &Demand<F>,
    sources: &[Offer<F>],
    held_v: F,
    ahead: &Ahead<F>,
) -> Course<F> {
    let battery = &plan.battery;
    let (zero, one) = (F::splat(0.0), F::splat(1.0));
    let capacity_ah = F::splat(battery.capacity_ah);
    let resistance = F::splat(battery.resistance_ohm);
    let half_gap = F::splat(battery.half_gap_v);
    let forever = F::splat(f64::INFINITY);
    let s = state.charge;
    let above_v = held_v - battery.rest_v(s);
    let charging = above_v.gt(half_gap);
    let idle = above_v.magnitude().le(half_gap);
    let open_circuit_v = held_v + F::select(charging, -half_gap, half_gap);
    let lag_h = F::select(
        charging,
        F::splat(battery.lag_charge_h),
        F::splat(battery.lag_discharge_h),
    );
    let lag_share_a = lag_h * F::splat(1.0 / battery.capacity_ah);
    // Charge at which the surface stands on a node: node - J tau / Q with J R = u - volts there.
    let shift = lag_share_a / resistance;
    let piece = battery.curve.piece_where::<F>(|place| {
        let (node, volts) = battery.curve.node(place);
        let share = F::splat(node) - (open_circuit_v - F::splat(volts)) * shift;
        s.gt(share).or(charging.and(s.ge(share)))
    });
    let stiffness = resistance + piece.slope * lag_share_a;
    let first_a = (open_circuit_v - piece.offset - piece.slope * s) / stiffness;
    let first_a = F::select(charging, first_a.most(zero), first_a.least(zero));
    let gain = F::select(
        charging,
        F::splat(battery.charge_efficiency_share),
        F::splat(1.0 / battery.discharge_efficiency_share),
    );
    let first_net_a = gain * first_a - ahead.self_discharge_a;
    let per_share_a = gain * piece.slope / stiffness;
    let rate = per_share_a / capacity_ah;
    let up = zero.lt(first_net_a);

    let mut above = F::select(s.lt(one), one, forever).least(F::select(
        s.lt(ahead.stop_share),
        ahead.stop_share,
        forever,
    ));
    let kink = piece.high - (open_circuit_v - piece.high_v) * shift;
    above = above.least(F::select(s.lt(kink), kink, forever));
    let mut below = F::select(ahead.empty_share.lt(s), ahead.empty_share, -forever);
    let kink = piece.low - (open_circuit_v - piece.low_v) * shift;
    below = below.most(F::select(kink.lt(s), kink, -forever));
    let done = battery.curve.share(open_circuit_v);
    below = below.most(F::select(charging.not().and(done.lt(s)), done, -forever));
    for (place, offer) in sources.iter().enumerate() {
        let next = F::select(offer.live.and(s.lt(offer.off_above)), offer.off_above, forever);
        above = above.least(next);
        let next = F::select(offer.live.and(offer.full_below.lt(s)), offer.full_below, -forever);
        below = below.most(next);
        if plan.sources[place].tail_a >= 0.0 {
            let tail = tail_charge(plan, demand, sources, place, held_v);
            let counts = state.bulk[place]
                .and(offer.live)
                .and(offer.full.not())
                .and(offer.off.not())
                .and(s.lt(tail));
            above = above.least(F::select(counts, tail, forever));
        }
    }
    let target = F::select(up, above, below);
    let target_net_a = first_net_a - per_share_a * (target - s);
    // The target is reached only while the current keeps its sign.
    let ratio = first_net_a / target_net_a;
    let reached = one.lt(ratio).and(ratio.lt(F::splat(1e30)));
    let to_target_h = F::select(
        reached,
        F::select(reached, ratio, one).map(natural_log) / rate,
        forever,
    );
    let at_rest = first_net_a.magnitude().le(F::splat(AT_REST_PER_H * battery.capacity_ah));
    let ends = to_target_h.le(ahead.most_h).and(at_rest.not()).and(idle.not());
    let hours = F::select(ends, to_target_h, ahead.most_h);

    let decay = (rate * hours).map(exp_of_minus);
    let last_net_a = F::select(ends, target_net_a, first_net_a * decay);
    let moved = F::select(ends, target, s + (first_net_a - last_net_a) / per_share_a);
    let still = at_rest.or(idle);
    let drift_a = F::select(idle, -ahead.self_discharge_a, zero);
    let to_share = F::select(still, s + drift_a * hours / capacity_ah, moved);
    let net_ah = F::select(still, drift_a * hours, (to_share - s) * capacity_ah);
    let charged_ah = F::select(idle, zero, (net_ah + ahead.self_discharge_a * hours) / gain);
    let net_square = F::select(
        still,
        zero,
        (first_net_a * first_net_a - last_net_a * last_net_a) / (rate + rate),
    );
    let leak = ahead.self_discharge_a;
    let square_a2h = F::select(
        idle,
        zero,
        (net_square + (leak + leak) * net_ah + leak * leak * hours) / (gain * gain),
    );
    // Integral of J (offset + slope x) with the surface x a straight line of J.
    let surface_wh = (piece.offset + piece.slope * s + stiffness * first_a) * charged_ah
        - resistance * square_a2h;
    Course {
        hours,
        mean_v: held_v,
        first_v: held_v,
        last_v: held_v,
        to_share,
        charged_ah,
        square_a2h,
        surface_wh,
        leaked_ah: leak * hours,
        spread: zero,
        served_share: one,
    }
}

/// The bus while no source holds it.
struct FreeBus<F: Lane> {
    charging: F::Mask,
    discharging: F::Mask,
    /// Sources have more than the loads take and the battery takes none.
    blocked: F::Mask,
    no_solution: F::Mask,
    /// Volts as the phase begins, V.
    first_v: F,
    /// Volts while blocked, V.
    block_v: F,
    /// Volts while the battery does nothing, V.
    balance_v: F,
    /// Current that sources at their limit give, A.
    sources_a: F,
    lag_share_a: F,
    side_v: F,
    gain: F,
    offset: F,
    slope: F,
    low: F,
    high: F,
    charge_limit_a: F,
    /// Ideal battery, empty: loads take what the sources give.
    part_served: F::Mask,
    part_share: F,
}

/// Sources at their limit and loads at some volts, as `current + power / V`.
#[derive(Clone, Copy)]
struct Sum<F> {
    current_a: F,
    power_w: F,
}

#[inline(always)]
fn sum_at<F: Lane>(sources: &[Offer<F>], demand: &Demand<F>, volts: F) -> Sum<F> {
    let zero = F::splat(0.0);
    let mut sum = Sum { current_a: -demand.current_a, power_w: -demand.power_w };
    for offer in sources {
        let gives = offer.live.and(offer.full);
        let by_current = (offer.limit_a * volts).le(offer.power_w);
        sum.current_a =
            sum.current_a + F::select(gives.and(by_current), offer.limit_a, zero);
        sum.power_w =
            sum.power_w + F::select(gives.and(by_current.not()), offer.power_w, zero);
    }
    sum
}

impl<F: Lane> FreeBus<F> {
    #[inline(always)]
    fn at(
        plan: &Plan,
        state: &State<F>,
        demand: &Demand<F>,
        sources: &[Offer<F>],
        charge_limit_a: F,
        self_discharge_a: F,
    ) -> Self {
        let battery = &plan.battery;
        let zero = F::splat(0.0);
        let s = state.charge;
        let half_gap = F::splat(battery.half_gap_v);
        let rest_v = battery.rest_v(s);
        let (high_v, low_v) = (rest_v + half_gap, rest_v - half_gap);
        let high_sum = sum_at(sources, demand, high_v);
        let low_sum = sum_at(sources, demand, low_v);
        let up_a = high_sum.current_a + high_sum.power_w / high_v;
        let down_a = low_sum.current_a + low_sum.power_w / low_v;
        let surplus = zero.lt(up_a);
        let blocked = surplus.and(charge_limit_a.le(zero));
        let charging = surplus.and(blocked.not());
        let discharging = surplus.not().and(down_a.lt(zero));
        let guess_a = F::select(
            charging,
            up_a.least(charge_limit_a),
            F::select(discharging, down_a, zero),
        );
        let lag_h = F::select(
            charging,
            F::splat(battery.lag_charge_h),
            F::splat(battery.lag_discharge_h),
        );
        let lag_share_a = lag_h * F::splat(1.0 / battery.capacity_ah);
        let side_v = F::select(charging, half_gap, F::select(discharging, -half_gap, zero));
        let gain = F::select(
            charging,
            F::splat(battery.charge_efficiency_share),
            F::splat(1.0 / battery.discharge_efficiency_share),
        );
        let upwards = self_discharge_a.lt(gain * guess_a);
        let surface = s + guess_a * lag_share_a;
        let nudge = F::select(upwards, F::splat(2e-6), F::splat(-2e-6));
        let piece = battery.curve.piece(surface + nudge, upwards);
        let resistance = F::splat(battery.resistance_ohm);
        let moving_v = piece.offset + piece.slope * surface + guess_a * resistance + side_v;

        // Balanced: sources give what loads take, the battery stands by within its gap.
        let balance_sum = sum_at(sources, demand, rest_v);
        let even_v = -balance_sum.power_w / balance_sum.current_a;
        let even = zero.lt(even_v).and(even_v.lt(F::splat(f64::INFINITY)));
        let balance_v =
            F::select(even, F::select(even, even_v, rest_v).held_between(low_v, high_v), rest_v);

        // Blocked: the highest set point at which the sources there and above carry the loads.
        let mut block_v = zero;
        for offer in sources {
            let load_a = demand.current_a + demand.power_w / offer.set_v;
            let mut with_a = -load_a;
            for other in sources {
                let counts = other.live.and(other.set_v.ge(offer.set_v));
                with_a = with_a + F::select(counts, other.current_at(offer.set_v), zero);
            }
            let carries = offer.live.and(offer.full).and(with_a.ge(zero));
            block_v = F::select(carries, block_v.most(offer.set_v), block_v);
        }
        let block_v = F::select(zero.lt(block_v), block_v, even_v.held_between(high_v, F::splat(1e3)));

        let still_v = F::select(blocked, block_v, balance_v);
        let first_v = F::select(charging.or(discharging), moving_v, still_v);
        let mut sources_a = zero;
        for offer in sources {
            let gives = offer.live.and(offer.full);
            sources_a = sources_a + F::select(gives, offer.current_at(first_v), zero);
        }
        // P > V0^2 / 4R: no volts at which the load can be carried.
        let net = sum_at(sources, demand, first_v.most(F::splat(1e-3)));
        let base_v = rest_v + side_v + resistance * net.current_a;
        let no_solution =
            discharging.and((base_v * base_v + F::splat(4.0) * resistance * net.power_w).lt(zero));
        let empty = s.le(zero).and(discharging).and(F::all(battery.serves_when_empty));
        let wanted_w = (demand.current_a * rest_v + demand.power_w).most(F::splat(1e-12));
        let given_w = (wanted_w + (net.current_a * rest_v + net.power_w)).most(zero);
        Self {
            charging,
            discharging: discharging.and(empty.not()),
            blocked,
            no_solution,
            first_v,
            block_v,
            balance_v: F::select(empty, rest_v, balance_v),
            sources_a,
            lag_share_a,
            side_v,
            gain,
            offset: piece.offset,
            slope: piece.slope,
            low: piece.low,
            high: piece.high,
            charge_limit_a,
            part_served: empty,
            part_share: (given_w / wanted_w).least(F::splat(1.0)),
        }
    }

    /// Mean volts `base + per_amp J` with `J = sum.current + sum.power / V`: the upper root.
    #[inline(always)]
    fn solve(&self, sum: Sum<F>, base_v: F, per_amp_v: F) -> (F, F) {
        let straight = base_v + per_amp_v * sum.current_a;
        let square = straight * straight + F::splat(4.0) * per_amp_v * sum.power_w;
        let volts = (straight + square.most(F::splat(0.0)).sqrt()) * F::splat(0.5);
        let volts = volts.most(F::splat(1e-3));
        let charge_a = sum.current_a + sum.power_w / volts;
        let clamped = self.charge_limit_a.lt(charge_a);
        (
            F::select(clamped, self.charge_limit_a, charge_a),
            F::select(clamped, base_v + per_amp_v * self.charge_limit_a, volts),
        )
    }

    /// 3.3 A steady current until the nearest threshold.
    #[inline(always)]
    fn course(
        &self,
        plan: &Plan,
        state: &State<F>,
        demand: &Demand<F>,
        sources: &[Offer<F>],
        ahead: &Ahead<F>,
    ) -> Course<F> {
        let battery = &plan.battery;
        let (zero, one, half) = (F::splat(0.0), F::splat(1.0), F::splat(0.5));
        let forever = F::splat(f64::INFINITY);
        let capacity_ah = F::splat(battery.capacity_ah);
        let per_ah = F::splat(1.0 / battery.capacity_ah);
        let resistance = F::splat(battery.resistance_ohm);
        let s = state.charge;
        let leak_a = ahead.self_discharge_a;
        let moves = self.charging.or(self.discharging);
        let steady_v = self.offset + self.side_v;
        let own = resistance + self.slope * self.lag_share_a;

        // To the end of the time that is left.
        let half_h = ahead.most_h * half * per_ah;
        let base_v = steady_v + self.slope * (s - leak_a * half_h);
        let per_amp_v = own + self.gain * self.slope * half_h;
        let (first_a, mean_v) =
            self.solve(sum_at(sources, demand, self.first_v), base_v, per_amp_v);
        let net_a = away_from_zero(self.gain * first_a - leak_a);

        // Which threshold comes first?
        let up = zero.lt(net_a);
        let lag = first_a * self.lag_share_a;
        let tiny = net_a * F::splat(SHORTEST_H) * per_ah;
        let mut above = F::select(s.lt(one), one, forever);
        above = above.least(F::select(s.lt(ahead.stop_share), ahead.stop_share, forever));
        above = above.least((self.high - lag).most(s + tiny));
        let mut below = F::select(ahead.empty_share.lt(s), ahead.empty_share, -forever);
        below = below.most((self.low - lag).least(s + tiny));
        for offer in sources {
            let next =
                F::select(offer.live.and(s.lt(offer.full_below)), offer.full_below, forever);
            above = above.least(next);
            let next =
                F::select(offer.live.and(offer.off_above.lt(s)), offer.off_above, -forever);
            below = below.most(next);
        }
        let share_at = |volts: F| {
            (volts - first_a * resistance - steady_v) / self.slope - lag
        };
        let close_share = share_at(F::splat(plan.latch.close_v));
        let may_close = state.open.and(s.lt(close_share)).and(F::all(!plan.latch.by_hand));
        above = above.least(F::select(may_close, close_share, forever));
        let next_v = demand.rung.look_up(|at| plan.rungs[at].next_below_v);
        let drop_share = share_at(next_v);
        let may_drop = state.open.not().and(drop_share.lt(s));
        below = below.most(F::select(may_drop, drop_share, -forever));
        let target = F::select(up, above, below);
        let target = F::select(target.magnitude().lt(F::splat(1e6)), target, F::splat(1e6));
        let reaches = ((target - s) * capacity_ah / net_a).lt(ahead.most_h);
        let within = reaches.and(moves);

        // Again, with the end known.
        let base_there_v = steady_v + self.slope * (s + target) * half;
        let base_v = F::select(within, base_there_v, base_v);
        let per_amp_v = F::select(within, own, per_amp_v);
        let (mut charge_a, mut mean_v) =
            self.solve(sum_at(sources, demand, mean_v), base_v, per_amp_v);
        let mut net_a = away_from_zero(self.gain * charge_a - leak_a);
        let to_target_h = (target - s) * capacity_ah / net_a;
        let mut within = within.and(to_target_h.le(ahead.most_h)).and(zero.lt(to_target_h));
        let missed = reaches.and(moves).and(within.not());
        if missed.any() {
            // The better current does not get there in time after all.
            let base_v = steady_v + self.slope * (s - leak_a * half_h);
            let per_amp_v = own + self.gain * self.slope * half_h;
            let (again_a, again_v) =
                self.solve(sum_at(sources, demand, mean_v), base_v, per_amp_v);
            charge_a = F::select(missed, again_a, charge_a);
            mean_v = F::select(missed, again_v, mean_v);
            net_a = F::select(missed, away_from_zero(self.gain * again_a - leak_a), net_a);
            within = within.and(missed.not());
        }
        let hours = F::select(within, to_target_h, ahead.most_h);
        let to_share = F::select(within, target, s + net_a * hours * per_ah);
        let middle = F::select(
            within,
            (s + target) * half,
            s + net_a * hours * half * per_ah,
        );
        let surface_v = self.offset + self.slope * (middle + charge_a * self.lag_share_a);
        let charged_ah = charge_a * hours;
        let swing_v = self.slope * (to_share - s) * half;

        // At rest: balanced, blocked, or an empty ideal battery.
        let rest_v = F::select(self.blocked, self.block_v, self.balance_v);
        let rest_share = s - leak_a * ahead.most_h * per_ah;
        let rest_share = F::select(self.part_served, s, rest_share.most(zero));
        let pick = |yes: F, no: F| F::select(moves, yes, no);
        Course {
            hours: pick(hours, ahead.most_h),
            mean_v: pick(mean_v, rest_v),
            first_v: pick(mean_v - swing_v, rest_v),
            last_v: pick(mean_v + swing_v, rest_v),
            to_share: pick(to_share, rest_share),
            charged_ah: pick(charged_ah, zero),
            square_a2h: pick(charge_a * charged_ah, zero),
            surface_wh: pick(surface_v * charged_ah, zero),
            leaked_ah: pick(leak_a * hours, (s - rest_share) * capacity_ah),
            spread: F::select(self.blocked, zero, one),
            served_share: F::select(self.part_served, self.part_share, one),
        }
    }
}

/// A current of nothing would make an endless phase.
#[inline(always)]
fn away_from_zero<F: Lane>(net_a: F) -> F {
    let tiny = F::splat(1e-12);
    F::select(net_a.magnitude().lt(tiny), F::select(net_a.lt(F::splat(0.0)), -tiny, tiny), net_a)
}

/// What [`settle_account`] needs to know.
struct Account<'a, F: Lane> {
    demand: &'a Demand<F>,
    sources: &'a [Offer<F>],
    course: &'a Course<F>,
    hours: F,
    held_v: F,
    block_v: F,
    blocked: F::Mask,
    supply_on: F::Mask,
}

/// 3.5 Who gave what. One rule for every regime: what the bus needs is filled from the highest set
/// point down, equal set points sharing by what they can give.
#[inline(always)]
fn settle_account<F: Lane>(plan: &Plan, state: &State<F>, account: &Account<'_, F>) -> Phase<F> {
    let zero = F::splat(0.0);
    let Account { demand, sources, course, hours, .. } = account;
    let hours = *hours;
    let runs = zero.lt(hours);
    let only = |value: F| F::select(runs, value, zero);
    let volts = course.mean_v;
    let served = course.served_share;
    let load_wh = (demand.current_a * volts + demand.power_w) * served * hours;
    let charged_ah = only(course.charged_ah);
    let need_wh = volts * charged_ah + load_wh;

    let holds = zero.lt(account.held_v);
    let floor_v = F::select(holds, account.held_v, F::select(account.blocked, account.block_v, zero));
    let mut within_wh = [zero; MOST_SOURCES];
    let mut offered_w = [zero; MOST_SOURCES];
    for (place, offer) in sources.iter().enumerate() {
        offered_w[place] = F::select(offer.live, offer.power_w, zero);
        within_wh[place] =
            F::select(offer.live, (offer.limit_a * volts).least(offer.power_w) * hours, zero);
    }
    let mut used_wh = [zero; MOST_SOURCES];
    let mut spare_wh = zero;
    for (place, offer) in sources.iter().enumerate() {
        let (mut above_wh, mut beside_wh) = (zero, zero);
        for (other_place, other) in sources.iter().enumerate() {
            let gives = other.live.and(other.off.not()).and(other.set_v.ge(floor_v));
            let can_wh = F::select(gives, within_wh[other_place], zero);
            above_wh = above_wh + F::select(other.set_v.gt(offer.set_v), can_wh, zero);
            let same = other.set_v.ge(offer.set_v).and(other.set_v.le(offer.set_v));
            beside_wh = beside_wh + F::select(same, can_wh, zero);
        }
        let gives = offer.live.and(offer.off.not()).and(offer.set_v.ge(floor_v));
        let part_wh = (need_wh - above_wh).held_between(zero, beside_wh);
        let share = within_wh[place] / F::select(zero.lt(beside_wh), beside_wh, F::splat(1.0));
        used_wh[place] = F::select(gives.and(zero.lt(beside_wh)), part_wh * share, zero);
        spare_wh = spare_wh + F::select(gives, within_wh[place] - used_wh[place], zero);
    }

    // Volts in the highest state that lasts: what sources can still give is given first.
    let mean_a = demand.current_a + (demand.power_w - demand.own_draw_w) / volts;
    let lasting_a = demand.rung.look_up(|at| plan.rungs[at].lasting_current_a)
        + demand.rung.look_up(|at| plan.rungs[at].lasting_power_w) / volts;
    let spare_a = spare_wh.most(zero) / (volts * hours.most(F::splat(1e-9)));
    let beyond_a = (lasting_a - mean_a - spare_a).most(zero);
    let lowest_v = course.first_v.least(course.last_v)
        - beyond_a * F::splat(plan.battery.resistance_ohm);
    Phase {
        hours,
        mean_v: volts,
        lowest_v,
        highest_v: course.first_v.most(course.last_v),
        from_share: state.charge,
        to_share: F::select(runs, course.to_share, state.charge),
        charged_ah,
        square_a2h: only(course.square_a2h),
        surface_wh: only(course.surface_wh),
        leaked_ah: only(course.leaked_ah),
        spread: course.spread,
        served_share: served,
        profile: demand.profile,
        rung: demand.rung,
        open: state.open,
        supply_on: account.supply_on,
        own_draw_w: demand.own_draw_w * served,
        used_wh,
        within_limit_wh: within_wh,
        offered_w,
    }
}

/// 4. The battery follows the air.
#[inline(always)]
fn warm<F: Lane>(plan: &Plan, slice: &Slice, inputs: &Inputs<F>, state: &mut State<F>) {
    if let TemperaturePlan::Follows { lag_h, offset_c, .. } = plan.temperature {
        let keeps = if lag_h > 0.0 { exp_of_minus(slice.hours / lag_h) } else { 0.0 };
        let goal_c = inputs.air_c + F::splat(offset_c);
        state.battery_c = goal_c + (state.battery_c - goal_c) * F::splat(keeps);
    }
    if let Some((below_c, again_c)) = plan.battery.charge_inhibit_c {
        let cold = state.battery_c.lt(F::splat(below_c));
        let warm_again = F::splat(again_c).lt(state.battery_c);
        state.too_cold = cold.or(state.too_cold.and(warm_again.not()));
    }
}
