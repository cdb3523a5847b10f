//! 3.1 What the loads ask for, and whether the supply is there.

use super::Inputs;
use super::index;
use super::look::heats;
use crate::numbers::lane::{Lane, Mask};
use crate::plan::{Carrier, Plan, Rule, Slice, SupplyPlan};
use crate::simulate::state::{State, tier_in_force};

/// Loads as the bus feels them.
#[derive(Clone, Copy)]
pub(super) struct Demand<F: Lane> {
    pub(super) profile: F,
    pub(super) rung: F,
    /// Constant current, A.
    pub(super) current_a: F,
    /// Constant power with the controllers' own, W.
    pub(super) power_w: F,
    pub(super) own_draw_w: F,
    pub(super) charging_left_a: F,
}

/// What the supply is doing.
pub(super) struct SupplyNow<F: Lane> {
    /// The supply is on, on the grid.
    pub(super) grid: F::Mask,
    /// And charges.
    pub(super) grid_charging: F::Mask,
    /// The supply is on, on the engine.
    pub(super) engine: F::Mask,
}

#[inline(always)]
pub(super) fn supply_now<F: Lane>(
    plan: &Plan,
    slice: &Slice,
    inputs: &Inputs<F>,
    state: &State<F>,
) -> SupplyNow<F> {
    let Some(SupplyPlan { source, rule_switches_charger, .. }) = plan.supply else {
        let no = F::all(false);
        return SupplyNow { grid: no, grid_charging: no, engine: no };
    };
    let fed = if slice.is_silent(source) { F::all(false) } else { inputs.grid };
    let wanted = match slice.rule {
        Rule::Off => F::all(false),
        Rule::On => F::all(true),
        Rule::TopUp { .. } => state.topping,
    };
    let grid_charging = fed.and(wanted.or(inputs.warned));
    let grid = if rule_switches_charger { fed } else { grid_charging };
    // A silenced supply gives nothing; the engine idles on.
    let engine = if slice.is_silent(source) { F::all(false) } else { state.engine };
    SupplyNow { grid, grid_charging, engine }
}

/// 3.1 Profile and rung in force.
pub(super) fn demand_now<F: Lane>(
    plan: &Plan,
    slice: &Slice,
    inputs: &Inputs<F>,
    state: &State<F>,
    supply: &SupplyNow<F>,
) -> Demand<F> {
    let zero = F::splat(0.0);
    let tier = tier_in_force(plan, state, inputs.grid);
    let carries = plan.supply.is_some_and(|supply| supply.carries_groups);
    let carriers = F::all(carries);
    let carrier = F::select(supply.engine.and(carriers), index(Carrier::Engine as usize), zero);
    let carrier = F::select(supply.grid.and(carriers), index(Carrier::Grid as usize), carrier);
    let profile = (index::<F>(slice.set * plan.tiers.count) + tier) * F::splat(3.0) + carrier;
    let first = profile.look_up(|at| index(plan.profiles[at].first_rung));
    let open = profile.look_up(|at| index(plan.profiles[at].open_rung));
    let rung = F::select(state.open, open, first + state.level).least(open);
    let heater_w = plan.heater.map_or(0.0, |heater| heater.draw_w);
    let own_draw_w = F::select(state.flat, zero, F::splat(plan.own_draw_w))
        + F::select(heats(plan, state), F::splat(heater_w), zero);
    Demand {
        profile,
        rung,
        current_a: rung.look_up(|at| plan.rungs[at].current_a),
        power_w: rung.look_up(|at| plan.rungs[at].power_w) + own_draw_w,
        own_draw_w,
        charging_left_a: profile.look_up(|at| plan.profiles[at].charging_left_a),
    }
}
