//! 3.1 What the loads ask for, and whether the supply is there.

use super::Inputs;
use super::index;
use super::look::heats;
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::{Carrier, Plan, Rule, Slice, SupplyPlan};
use crate::simulate::state::{State, tier_in_force};

/// Loads as the bus feels them.
#[derive(Clone, Copy)]
pub(super) struct Demand<F: Lane> {
    /// Constant current, A.
    pub(super) current_a: F,
    /// Constant power with the own draws of controllers and heater, W.
    pub(super) power_w: F,
    /// What controllers draw themselves, W.
    pub(super) standby_w: F,
    /// What the heater of the battery draws, W.
    pub(super) heater_w: F,
}

/// What the supply is doing.
#[derive(Clone, Copy)]
pub(super) struct SupplyNow<F: Lane> {
    /// The supply is on, on the mains.
    pub(super) grid: F::Mask,
    /// And charges.
    pub(super) grid_charging: F::Mask,
    /// The supply is on, on the generator.
    pub(super) engine: F::Mask,
}

#[inline(always)]
pub(super) fn supply_now<F: Lane>(
    plan: &Plan,
    slice: &Slice,
    inputs: &Inputs<F>,
    state: &State<F>,
) -> SupplyNow<F> {
    let w = state.charge.width();
    let Some(SupplyPlan { source, rule_switches_charger, .. }) = plan.supply else {
        let no = w.all(false);
        return SupplyNow { grid: no, grid_charging: no, engine: no };
    };
    let fed = if slice.is_silent(source) { w.all(false) } else { inputs.grid };
    let wanted = match slice.rule {
        Rule::Off => w.all(false),
        Rule::On => w.all(true),
        Rule::TopUp { .. } => state.topping,
    };
    let grid_charging = fed.and(wanted.or(inputs.warned));
    let grid = if rule_switches_charger { fed } else { grid_charging };
    // A supply that is switched off gives nothing; the generator idles on.
    let engine = if slice.is_silent(source) { w.all(false) } else { state.engine };
    SupplyNow { grid, grid_charging, engine }
}

/// 3.1 Profile and drop stage in force.
#[inline(always)]
pub(super) fn demand_now<F: Lane>(
    plan: &Plan,
    slice: &Slice,
    inputs: &Inputs<F>,
    state: &mut State<F>,
    supply: &SupplyNow<F>,
    sheds: bool,
) -> Demand<F> {
    let w = state.charge.width();
    let zero = w.splat(0.0);
    let tier = tier_in_force(plan, state, inputs.grid);
    let mut profile = index(w, slice.set * plan.tiers.count * 3) + tier * w.splat(3.0);
    if plan.supply.is_some_and(|supply| supply.carries_groups) {
        let carrier = F::select(supply.engine, index(w, Carrier::Engine as usize), zero);
        let carrier = F::select(supply.grid, index(w, Carrier::Grid as usize), carrier);
        profile = profile + carrier;
    }
    state.terms.take_profile(plan, profile);
    let terms = &state.terms;
    let rung = if sheds {
        F::select(state.open, terms.open_rung, terms.first_rung + state.level)
            .least(terms.open_rung)
    } else {
        terms.first_rung
    };
    state.terms.take_rung(plan, rung);
    let standby_w = F::select(state.flat, zero, w.splat(plan.standby_w));
    let heater_w = plan
        .heater
        .map_or(zero, |heater| F::select(heats(plan, state), w.splat(heater.draw_w), zero));
    Demand {
        current_a: state.terms.current_a,
        power_w: state.terms.power_w + (standby_w + heater_w),
        standby_w,
        heater_w,
    }
}
