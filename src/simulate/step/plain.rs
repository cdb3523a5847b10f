//! A phase in which nothing happens, where that is certain beforehand.
//!
//! Most hours of most trials go by like this: the bus is free, sources give their limit or nothing,
//! and no threshold is near. Then all that the long way finds out does not matter but for the mean
//! current of the phase. So that current is taken first, by the same formulas, as if nothing happened
//! ([`FreeBus::course`] says what may), and held against wide bounds; if the phase stays within them
//! in every lane that waits, the long way would come to the same bits and is not gone. One that does
//! not sends all of them the long way. A single run always goes it, which is how the tests know.

use super::bus::{root, sum_at};
use super::course::Ahead;
use super::demand::Demand;
use super::free::{Side, away_from_zero, mean_line};
use super::offers::Offer;
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::Plan;
use crate::simulate::state::State;

/// A current is at no moment further from the mean than so much of what goes with one over the
/// volts, as long as those change by less than [`MOST_SAG_SHARE`].
const DRIFT_SHARE: f64 = 0.25;
/// Volts that the current makes, the drift of the curve among them, over the volts of the bus: below
/// this the upper root is far from where it breaks down.
const MOST_SAG_SHARE: f64 = 0.1;
/// So much further than the largest current goes the bounds lie.
const FURTHER: f64 = 1.1;
/// How far from a kink of the curve, and from the ends of the charge, share.
const NEAR_SHARE: f64 = 1e-5;
/// How far from the volts at which something happens, V.
const NEAR_V: f64 = 1e-3;
/// Smaller currents go the long way, A.
const LEAST_A: f64 = 1e-6;
/// How far a power is from a limit of current, share.
const NEAR_LIMIT_SHARE: f64 = 1e-9;

/// The charge at the end of a phase that lasts as long as it may, if it is certain that nothing
/// happens in it in the lanes that wait.
#[inline(always)]
pub(super) fn plain<F: Lane>(
    plan: &Plan,
    state: &State<F>,
    demand: &Demand<F>,
    offers: &mut [Offer<F>],
    charge_limit_a: F,
    waiting: F::Mask,
    ahead: &Ahead<F>,
) -> Option<F> {
    let w = state.charge.width();
    let battery = &plan.battery;
    let (zero, near_v) = (w.splat(0.0), w.splat(NEAR_V));
    let per_ah = w.splat(1.0 / battery.capacity_ah);
    let s = state.charge;
    let (most_h, leak_a) = (ahead.most_h, ahead.self_discharge_a);

    // As if each source gave its limit or nothing, by the volts at rest.
    let piece = battery.curve.piece(s);
    let rest_v = piece.offset + piece.slope * s;
    for offer in &mut *offers {
        if !offer.present {
            continue;
        }
        if offer.curved {
            return None;
        }
        offer.full = rest_v.lt(offer.set_v);
        offer.off = offer.full.not();
    }
    let sum = sum_at(offers, demand, rest_v);
    let charging = zero.lt(sum.current_a * rest_v + sum.power_w);
    let Side { lag_share_a, side_v, gain } = Side::of(battery, w, charging, charging.not());
    let own = w.splat(battery.resistance_ohm) + piece.slope * lag_share_a;
    let steady_v = piece.offset + side_v;
    let (base_v, per_amp_v) =
        mean_line(battery, (steady_v, piece.slope), own, gain, (s, leak_a), most_h);
    let mean = root(sum, base_v, per_amp_v);
    let net_a = away_from_zero(gain * mean.charge_a - leak_a);
    let to_share = s + net_a * most_h * per_ah;

    // Bounds of current, charge and volts.
    let size_a = mean.charge_a.magnitude();
    let bent_a = (mean.charge_a - sum.current_a).magnitude();
    let drift_a = bent_a * w.splat(DRIFT_SHARE);
    let (most_a, least_a) = (size_a + drift_a, (size_a - drift_a).most(zero));
    let way_share = (gain * most_a + leak_a) * most_h * w.splat(FURTHER / battery.capacity_ah);
    let far = F::select(charging, s + way_share, s - way_share);
    let lag = most_a * lag_share_a;
    let (begin_v, end_v) = (steady_v + piece.slope * s, steady_v + piece.slope * far);
    let (least_v, most_v) = (own * least_a, own * most_a);
    let lowest_v = F::select(charging, begin_v + least_v, end_v - most_v);
    let highest_v = F::select(charging, end_v + most_v, begin_v - least_v);

    let sags = w.splat(MOST_SAG_SHARE) * mean.mean_v;
    let steady = (per_amp_v * bent_a).lt(sags).and((per_amp_v * size_a).lt(sags));
    let sound = steady.and(mean.none.not()).and(w.splat(LEAST_A).lt(size_a));
    let near = w.splat(NEAR_SHARE);
    let fills = zero
        .lt(mean.charge_a)
        .and((leak_a + leak_a).lt(gain * mean.charge_a))
        .and((size_a + bent_a).lt(charge_limit_a))
        .and((far + lag + near).lt(piece.high))
        .and((far + near).lt(ahead.stop_share.least(w.splat(1.0))));
    let drains = mean
        .charge_a
        .lt(zero)
        .and(piece.low.lt(far - lag - near))
        .and(ahead.empty_share.lt(far - near));
    let goes = charging.and(fills).or(charging.not().and(drains));
    let stands = state.open.or(state.flat).or(zero.lt(state.level)).or(lowest_v.le((state
        .terms
        .next_below_v
        + near_v)
        .most(near_v)));
    let mut nothing = sound.and(goes).and(stands.not());
    if !battery.serves_when_empty {
        let limit_a = w.splat(battery.discharge_limit_a);
        let beyond_a = state.terms.peak_current_a - limit_a;
        nothing = nothing.and((beyond_a * lowest_v + state.terms.peak_power_w).lt(zero));
    }
    let half_gap = w.splat(battery.half_gap_v);
    for place in 0..offers.len() {
        let offer = &offers[place];
        if !offer.present {
            continue;
        }
        let mut gives = offer.full.and((highest_v + near_v).lt(offer.set_v));
        if !offer.weatherless {
            let low_w = offer.limit_a * lowest_v.least(rest_v - half_gap);
            let high_w = offer.limit_a * highest_v.most(rest_v + half_gap);
            let by_power = offer.power_w.lt(low_w * w.splat(1.0 - NEAR_LIMIT_SHARE));
            let by_current = (high_w * w.splat(1.0 + NEAR_LIMIT_SHARE)).lt(offer.power_w);
            gives = gives.and(by_power.or(by_current));
        }
        let mut rests = offer.off.and((offer.set_v + near_v).lt(lowest_v));
        if plan.sources[place].tail_a >= 0.0 {
            rests = rests.and(state.bulk[place].not());
        }
        nothing = nothing.and(offer.live.not().or(gives).or(rests));
    }
    if waiting.and(nothing.not()).any() { None } else { Some(to_share) }
}
