//! 1 and 4: what somebody looks at on the hour, and what the battery's temperature does.

use super::{Inputs, index};
use crate::numbers::elementary::exp_of_minus;
use crate::numbers::lane::{Lane, Mask};
use crate::plan::{Plan, Rule, Slice, TemperaturePlan};
use crate::simulate::state::State;

/// 1. What somebody looks at on the hour.
#[inline(always)]
pub(super) fn look<F: Lane>(plan: &Plan, slice: &Slice, inputs: &Inputs<F>, state: &mut State<F>) {
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

#[inline(always)]
pub(super) fn at<F: Lane>(value: F, place: usize) -> F::Mask {
    value.le(index(place)).and(value.ge(index(place)))
}

#[inline(always)]
pub(super) fn stop_top_up<F: Lane>(slice: &Slice, state: &mut State<F>, waiting: F::Mask) {
    match slice.rule {
        Rule::TopUp { stop_above_share, .. } => {
            let done = waiting.and(state.charge.ge(F::splat(stop_above_share)));
            state.topping = state.topping.and(done.not());
        }
        Rule::Off | Rule::On => state.topping = F::all(false),
    }
}

/// 4. The battery follows the air.
#[inline(always)]
pub(super) fn warm<F: Lane>(plan: &Plan, slice: &Slice, inputs: &Inputs<F>, state: &mut State<F>) {
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
