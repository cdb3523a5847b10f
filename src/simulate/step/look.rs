//! 1 and 4: what somebody looks at on the hour, and what the battery's temperature does.

use super::{Inputs, index};
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::{Plan, Rule, Slice, TemperaturePlan};
use crate::simulate::state::State;
use crate::station::battery::kept_share;

/// 1. What somebody looks at on the hour.
#[inline(always)]
pub(super) fn look<F: Lane>(plan: &Plan, slice: &Slice, inputs: &Inputs<F>, state: &mut State<F>) {
    let w = state.charge.width();
    if slice.looks {
        if let Some((below_c, again_c)) = plan.battery.charge_inhibit_c {
            let cold = state.battery_c.lt(w.splat(below_c));
            let warm_again = w.splat(again_c).lt(state.battery_c);
            state.too_cold = cold.or(state.too_cold.and(warm_again.not()));
        }
        if let Rule::TopUp { start_below_share, .. } = slice.rule
            && slice.attended
        {
            let low = state.charge.lt(w.splat(start_below_share));
            let may = inputs.grid.and(inputs.warned.not());
            state.topping = state.topping.or(low.and(may));
        }
        if let Some(engine) = plan.engine
            && slice.attended
            && slice.engine_allowed
        {
            let low = state.charge.lt(w.splat(engine.start_below_share));
            let fuelled = w.splat(0.0).lt(state.tank_l + state.cans_l);
            let may = low.and(inputs.grid.not()).and(fuelled).and(state.refilling.not());
            let may = may.and(inputs.engine_starts);
            state.engine = state.engine.or(may);
        }
        if plan.latch.by_hand && slice.attended {
            let rest_v = plan.battery.rest_v(state.at_hand);
            let may = state
                .open
                .and(state.open_left_h.le(w.splat(0.0)))
                .and(rest_v.ge(w.splat(plan.latch.reconnect_v)));
            state.open = state.open.and(may.not());
            state.level = F::select(may, w.splat(0.0), state.level);
        }
    }
    if slice.decides && !plan.tiers.card.is_empty() {
        let row = &plan.tiers.card[slice.card_row];
        state.tier = index(w, row.len());
        for (tier, at_least_share) in row.iter().enumerate().rev() {
            let here = state.charge.ge(w.splat(*at_least_share));
            state.tier = F::select(here, index(w, tier), state.tier);
        }
    } else if slice.decides {
        for (tier, below_share) in plan.tiers.down_below_share.iter().enumerate() {
            let here = at(state.tier, tier).and(state.charge.lt(w.splat(*below_share)));
            state.tier = F::select(here, index(w, tier + 1), state.tier);
        }
        for (tier, above_share) in plan.tiers.up_above_share.iter().enumerate().rev() {
            let here = at(state.tier, tier + 1).and(state.charge.gt(w.splat(*above_share)));
            state.tier = F::select(here, index(w, tier), state.tier);
        }
    }
}

pub(super) fn at<F: Lane>(value: F, place: usize) -> F::Mask {
    let w = value.width();
    value.le(index(w, place)).and(value.ge(index(w, place)))
}

#[inline(always)]
pub(super) fn stop_top_up<F: Lane>(
    slice: &Slice,
    inputs: &Inputs<F>,
    state: &mut State<F>,
    waiting: F::Mask,
) {
    let w = state.charge.width();
    match slice.rule {
        Rule::TopUp { stop_above_share, .. } => {
            let done = waiting.and(state.charge.ge(w.splat(stop_above_share)));
            let done = done.or(inputs.warned);
            state.topping = state.topping.and(done.not());
        }
        Rule::Off | Rule::On => state.topping = w.all(false),
    }
}

/// Whether the heater of the battery is on: it is looked at when a slice begins.
#[inline(always)]
pub(super) fn heats<F: Lane>(plan: &Plan, state: &State<F>) -> F::Mask {
    let w = state.charge.width();
    match plan.heater {
        Some(heater) => state.battery_c.lt(w.splat(heater.on_below_c)).and(state.flat.not()),
        None => w.all(false),
    }
}

/// 4. The battery follows the air.
#[inline(always)]
pub(super) fn warm<F: Lane>(plan: &Plan, slice: &Slice, inputs: &Inputs<F>, state: &mut State<F>) {
    let w = state.charge.width();
    if let TemperaturePlan::Follows { lag_h, kept_an_hour_share, offset_c, .. } = plan.temperature {
        let keeps = match inputs.part_h {
            None if slice.hours == 1.0 => w.splat(kept_an_hour_share),
            None => w.splat(kept_share(lag_h, slice.hours)),
            Some(part_h) => kept_share(lag_h, part_h),
        };
        let rise_c = plan.heater.map_or(0.0, |heater| heater.rise_c);
        let warmer_c = F::select(heats(plan, state), w.splat(rise_c), w.splat(0.0));
        let goal_c = inputs.air_c + w.splat(offset_c) + warmer_c;
        let next_c = goal_c + (state.battery_c - goal_c) * keeps;
        state.battery_c = match inputs.part_h {
            None => next_c,
            Some(part_h) => F::select(w.splat(0.0).lt(part_h), next_c, state.battery_c),
        };
    }
}

/// Tank below which an engine stops, litres.
const DRY_L: f64 = 1e-4;

/// The generator stops: full, back on the mains, not allowed, or out of fuel; and starts again once its
/// tank is refilled.
#[inline(always)]
pub(super) fn tend_engine<F: Lane>(
    plan: &Plan,
    slice: &Slice,
    inputs: &Inputs<F>,
    state: &mut State<F>,
    waiting: F::Mask,
) {
    let w = state.charge.width();
    let Some(engine) = plan.engine else { return };
    let zero = w.splat(0.0);
    let full = state.charge.ge(w.splat(engine.stop_above_share));
    let unwanted = full.or(inputs.grid).or(w.all(!slice.engine_allowed));
    let dry = state.engine.and(state.tank_l.le(w.splat(DRY_L)));
    let more = w.splat(DRY_L).lt(state.cans_l);
    let stops = waiting.and(unwanted.or(dry));
    let begins = waiting.and(dry).and(more).and(unwanted.not());
    state.engine = state.engine.and(stops.not());
    state.refilling = state.refilling.or(begins).and(waiting.and(unwanted).not());
    state.refill_left_h = F::select(begins, w.splat(engine.pause_h), state.refill_left_h);
    let ready =
        waiting.and(state.refilling).and(state.refill_left_h.le(zero)).and(w.all(slice.attended));
    let filled_l = state.cans_l.least(w.splat(engine.tank_l) - state.tank_l);
    state.tank_l = F::select(ready, state.tank_l + filled_l, state.tank_l);
    state.cans_l = F::select(ready, state.cans_l - filled_l, state.cans_l);
    state.engine = state.engine.or(ready);
    state.refilling = state.refilling.and(ready.not());
}
