//! Changes that take no time: a tail current reached, a device dropping out or trying again, the
//! latch of the loads.

use super::free::FreeBus;
use super::offers::{Offer, Threshold, tail_charge};
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::Plan;
use crate::simulate::causes::{OPENED_BY_LIMIT, OPENED_BY_VOLTS, OPENED_EMPTY};
use crate::simulate::state::State;

/// Own current at the bulk set point has fallen to the tail: float. A source sees only its own.
#[inline(always)]
pub(super) fn end_bulk<F: Lane>(
    plan: &Plan,
    state: &mut State<F>,
    waiting: F::Mask,
    offers: &[Offer<F>],
    thresholds: &mut [Threshold<F>],
    held: F::Mask,
    held_v: F,
) -> F::Mask {
    let w = state.charge.width();
    let mut changed = w.all(false);
    for at in 0..offers.len() {
        let offer = &offers[at];
        let place = offer.place;
        if plan.sources[place].tail_a < 0.0 {
            continue;
        }
        let bulk = waiting.and(state.bulk[place]).and(offer.live);
        if !bulk.any() {
            continue;
        }
        let holds = held.and(offer.full.not()).and(offer.off.not());
        let reached = if plan.battery.second.is_some() {
            // A lead-acid battery is looked at every five minutes.
            thresholds[at].tail_reached
        } else if bulk.and(holds).any() {
            let tail = tail_charge(plan, offers, at, thresholds[at].without_a, held_v);
            let forever = w.splat(f64::INFINITY);
            thresholds[at].tail_share = F::select(bulk.and(holds), tail, forever);
            state.charge.ge(tail)
        } else {
            w.all(false)
        };
        let ends = bulk.and(holds.and(reached).or(offer.off));
        state.bulk[place] = state.bulk[place].and(ends.not());
        changed = changed.or(ends);
    }
    changed
}

/// Whether loads are disconnected or devices have dropped out in any lane: only then do timers run.
#[inline(always)]
pub(super) fn sheds<F: Lane>(state: &State<F>) -> bool {
    state.open.or(state.level.gt(state.level.like(0.0))).any()
}

/// Devices that dropped out try again.
#[inline(always)]
pub(super) fn retry<F: Lane>(state: &mut State<F>, waiting: F::Mask) -> F::Mask {
    let w = state.charge.width();
    let zero = w.splat(0.0);
    let tries =
        waiting.and(zero.lt(state.level)).and(state.retry_left_h.le(zero)).and(state.open.not());
    state.level = F::select(tries, zero, state.level);
    tries
}

/// Whether the BMS is open and must be reset by hand: it neither gives nor takes.
#[inline(always)]
pub(super) fn asleep<F: Lane>(plan: &Plan, state: &State<F>) -> F::Mask {
    let w = state.charge.width();
    if plan.latch.wakes_by_hand { state.flat } else { w.all(false) }
}

/// The latch closes by itself.
#[inline(always)]
pub(super) fn close<F: Lane>(
    plan: &Plan,
    state: &mut State<F>,
    waiting: F::Mask,
    level_v: F,
) -> F::Mask {
    let w = state.charge.width();
    if plan.latch.by_hand || !state.open.any() {
        return w.all(false);
    }
    let zero = w.splat(0.0);
    let closes = waiting
        .and(state.open)
        .and(asleep(plan, state).not())
        .and(state.open_left_h.le(zero))
        .and(level_v.ge(w.splat(plan.latch.reconnect_v)));
    state.open = state.open.and(closes.not());
    state.level = F::select(closes, zero, state.level);
    closes
}

/// A device drops out of its window, or the latch opens.
#[inline(always)]
pub(super) fn drop_out<F: Lane>(
    plan: &Plan,
    state: &mut State<F>,
    waiting: F::Mask,
    free: &FreeBus<F>,
    held: F::Mask,
    empty_share: F,
) -> F::Mask {
    let w = state.charge.width();
    let terms = &state.terms;
    let closed = waiting.and(state.open.not()).and(held.not()).and(free.blocked.not());
    let low = closed.and(free.first_v.le(terms.next_below_v));
    let mut opens = low.and(terms.next_opens);
    let mut by_limit = w.all(false);
    let drops = low.and(terms.next_opens.not());
    let empty = state.charge.le(empty_share);
    if !plan.battery.serves_when_empty {
        let flat = empty.and(free.discharging);
        opens = opens.or(closed.and(flat)).or(closed.and(free.no_solution));
        let peak_a = terms.peak_current_a + terms.peak_power_w / free.first_v;
        let from_battery_a = peak_a - free.sources_a;
        let limit_a = w.splat(plan.battery.discharge_limit_a);
        by_limit = closed.and(from_battery_a.gt(limit_a)).and(opens.not());
        opens = opens.or(by_limit);
    }
    let opened_by = F::select(by_limit, w.splat(OPENED_BY_LIMIT), w.splat(OPENED_BY_VOLTS));
    let opened_by = F::select(empty, w.splat(OPENED_EMPTY), opened_by);
    state.opened_by = F::select(opens, opened_by, state.opened_by);
    state.opened_at_share = F::select(opens, state.charge, state.opened_at_share);
    // Loads are off already and what controllers draw brings the BMS to open.
    let sinks = free.first_v.le(w.splat(plan.battery.board_open_v)).or(free.no_solution).or(empty);
    if plan.latch.wakes_by_hand {
        state.flat = state.flat.or(opens.and(sinks));
    }
    let flat = waiting
        .and(state.open)
        .and(state.flat.not())
        .and(held.not())
        .and(free.discharging)
        .and(sinks);
    state.flat = state.flat.or(flat);
    state.open = state.open.or(opens);
    state.open_left_h = F::select(opens, w.splat(plan.latch.min_open_h), state.open_left_h);
    state.level = F::select(drops, state.level + w.splat(1.0), state.level);
    state.retry_left_h = F::select(drops, w.splat(plan.latch.retry_h), state.retry_left_h);
    opens.or(drops).or(flat)
}

/// The longest that the phase may last: timers end it.
#[inline(always)]
pub(super) fn longest<F: Lane>(plan: &Plan, state: &State<F>, left_h: F, sheds: bool) -> F {
    let w = state.charge.width();
    let zero = w.splat(0.0);
    let forever = w.splat(f64::INFINITY);
    let mut most_h = left_h;
    if sheds {
        let waits = state.open.and(zero.lt(state.open_left_h));
        let open_h = F::select(waits, state.open_left_h, forever);
        let tries = zero.lt(state.level).and(state.open.not());
        let retry_h = F::select(tries, state.retry_left_h, forever);
        most_h = most_h.least(open_h).least(retry_h);
    }
    if let (Some(it), Some(supply)) = (&plan.engine, &plan.supply) {
        // The tank lasts at least that long; what is left is then asked for again.
        let most_w = it.direct_w / supply.efficiency_share + supply.no_load_w + it.other_w;
        let most_l_h = (it.idle_l_h + it.per_wh_l * most_w).max(1e-9);
        let tank_h = F::select(state.engine, state.tank_l / w.splat(most_l_h), forever);
        let refill_h = F::select(zero.lt(state.refill_left_h), state.refill_left_h, forever);
        most_h = most_h.least(tank_h).least(refill_h);
    }
    most_h
}
