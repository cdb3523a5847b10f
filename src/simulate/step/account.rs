//! 3.5 Who gave what.
//!
//! One rule for every regime: what the bus needs is filled from the highest set point down, equal
//! set points sharing by what they can give.

use super::course::Course;
use super::demand::Demand;
use super::events::asleep;
use super::offers::Offer;
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::{MOST_SOURCES, Plan};
use crate::simulate::phase::Phase;
use crate::simulate::state::State;

/// What [`settle_account`] needs to know.
pub(super) struct Account<'a, F: Lane> {
    pub(super) demand: &'a Demand<F>,
    pub(super) sources: &'a [Offer<F>],
    pub(super) course: &'a Course<F>,
    pub(super) hours: F,
    pub(super) held_v: F,
    pub(super) block_v: F,
    pub(super) blocked: F::Mask,
    pub(super) grid_supply: F::Mask,
    pub(super) engine: F::Mask,
    pub(super) engine_supply: F::Mask,
}

/// 3.5 Who gave what. One rule for every regime: what the bus needs is filled from the highest set
/// point down, equal set points sharing by what they can give.
#[inline(always)]
pub(super) fn settle_account<F: Lane>(
    plan: &Plan,
    state: &State<F>,
    account: &Account<'_, F>,
) -> Phase<F> {
    let w = state.charge.width();
    let zero = w.splat(0.0);
    let Account { demand, sources, course, hours, .. } = account;
    let hours = *hours;
    let runs = zero.lt(hours);
    let volts = course.mean_v;
    let served = course.served_share;
    let load_wh = (demand.current_a * volts + demand.power_w) * served * hours;
    let charged_ah = F::select(runs, course.charged_ah, zero);
    let need_wh = volts * charged_ah + load_wh;

    let holds = zero.lt(account.held_v);
    let floor_v =
        F::select(holds, account.held_v, F::select(account.blocked, account.block_v, zero));
    let mut phase = Phase {
        hours,
        mean_v: volts,
        lowest_v: zero,
        highest_v: course.first_v.most(course.last_v),
        from_share: state.charge,
        to_share: F::select(runs, course.to_share, state.charge),
        charged_ah,
        square_a2h: F::select(runs, course.square_a2h, zero),
        surface_wh: F::select(runs, course.surface_wh, zero),
        leaked_ah: F::select(runs, course.leaked_ah, zero),
        spread: course.spread,
        served_share: served,
        profile: state.terms.profile,
        rung: state.terms.rung,
        open: state.open,
        opened_by: state.opened_by,
        opened_at_share: state.opened_at_share,
        asleep: asleep(plan, state),
        too_cold: state.too_cold,
        grid_supply: account.grid_supply,
        engine: account.engine,
        engine_supply: account.engine_supply,
        fuel_l: zero,
        from_at_hand: state.at_hand,
        to_at_hand: F::select(runs, course.to_at_hand, state.at_hand),
        exchanged_ah: F::select(runs, course.exchanged_ah, zero),
        resistance_ohm: course.resistance_ohm,
        gain: course.gain,
        standby_w: demand.standby_w * served,
        heater_w: demand.heater_w * served,
        used_wh: [zero; MOST_SOURCES],
        within_limit_wh: [zero; MOST_SOURCES],
        offered_w: [zero; MOST_SOURCES],
    };
    let within_wh = &mut phase.within_limit_wh;
    for offer in *sources {
        let place = offer.place;
        phase.offered_w[place] = F::select(offer.live, offer.power_w, zero);
        within_wh[place] = F::select(offer.live, offer.power_at(volts) * hours, zero);
    }
    let mut spare_wh = zero;
    for offer in *sources {
        let place = offer.place;
        let (mut above_wh, mut beside_wh) = (zero, zero);
        for other in *sources {
            let gives = other.live.and(other.off.not()).and(other.set_v.ge(floor_v));
            let can_wh = F::select(gives, within_wh[other.place], zero);
            above_wh = above_wh + F::select(other.set_v.gt(offer.set_v), can_wh, zero);
            let same = other.set_v.ge(offer.set_v).and(other.set_v.le(offer.set_v));
            beside_wh = beside_wh + F::select(same, can_wh, zero);
        }
        // Lanes that wait carry nothing that is a number.
        let gives = runs.and(offer.live).and(offer.off.not()).and(offer.set_v.ge(floor_v));
        let part_wh = (need_wh - above_wh).held_between(zero, beside_wh);
        let share = within_wh[place] / F::select(zero.lt(beside_wh), beside_wh, w.splat(1.0));
        let used_wh = F::select(gives.and(zero.lt(beside_wh)), part_wh * share, zero);
        phase.used_wh[place] = used_wh;
        spare_wh = spare_wh + F::select(gives, within_wh[place] - used_wh, zero);
    }

    // Volts in the highest state that lasts: what sources can still give is given first.
    let own_w = demand.standby_w + demand.heater_w;
    let mean_a = demand.current_a + (demand.power_w - own_w) / volts;
    let lasting_a = state.terms.lasting_current_a + state.terms.lasting_power_w / volts;
    let spare_a = spare_wh.most(zero) / (volts * hours.most(w.splat(1e-9)));
    let beyond_a = (lasting_a - mean_a - spare_a).most(zero);
    phase.lowest_v =
        course.first_v.least(course.last_v) - beyond_a * w.splat(plan.battery.resistance_ohm);
    phase.fuel_l = fuel_l(plan, state, account, &phase.used_wh);
    phase
}

/// Fuel that the generator burns: while it turns, and for what it gives.
#[inline(always)]
fn fuel_l<F: Lane>(
    plan: &Plan,
    state: &State<F>,
    account: &Account<'_, F>,
    used_wh: &[F; MOST_SOURCES],
) -> F {
    let w = account.hours.width();
    let zero = w.splat(0.0);
    let (Some(it), Some(supply)) = (plan.engine, plan.supply) else { return zero };
    let hours = account.hours;
    let carried_w = state.terms.carried_w;
    let direct_wh = used_wh[it.source] + carried_w * hours;
    let no_load_w = F::select(account.engine_supply, w.splat(supply.no_load_w), zero);
    let plug_wh = direct_wh * w.splat(1.0 / supply.efficiency_share)
        + (no_load_w + w.splat(it.other_w)) * hours;
    let burnt_l = w.splat(it.idle_l_h) * hours + w.splat(it.per_wh_l) * plug_wh;
    F::select(account.engine, burnt_l, zero)
}
