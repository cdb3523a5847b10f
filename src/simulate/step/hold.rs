//! 3.3 A source holds the volts.
//!
//! On a straight piece of slope m of the curve, with the surface at s + J tau / Q, the current is a
//! straight line of the charge, `J = (u - V0 line(s)) / (R + m tau / Q)`, u being the volts less or
//! plus half the gap. So what is above the self-discharge dies away as
//! `exp(-t eta m / (R Q + m tau))`.

use super::course::{Ahead, Course};
use super::line::{Direction, lower_end};
use super::offers::{Offer, Threshold};
use crate::numbers::elementary::{fading_mean, natural_log};
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::Plan;
use crate::simulate::state::State;

/// Charging current, share of capacity an hour, below which a taper counts as done.
pub(super) const AT_REST_PER_H: f64 = 1e-8;

/// 3.3 A source holds `held_v`: on a straight piece of the curve the current is a straight line of
/// the charge, so what is above the self-discharge dies away exponentially.
#[inline(always)]
pub(super) fn hold<F: Lane>(
    plan: &Plan,
    state: &State<F>,
    sources: &[Offer<F>],
    thresholds: &[Threshold<F>],
    held_v: F,
    ahead: &Ahead<F>,
) -> Course<F> {
    let w = state.charge.width();
    let battery = &plan.battery;
    let (zero, one) = (w.splat(0.0), w.splat(1.0));
    let capacity_ah = w.splat(battery.capacity_ah);
    let per_ah = w.splat(1.0 / battery.capacity_ah);
    let resistance = w.splat(battery.resistance_ohm);
    let half_gap = w.splat(battery.half_gap_v);
    let forever = w.splat(f64::INFINITY);
    let s = state.charge;
    let above_v = held_v - battery.rest_v(s);
    let charging = above_v.gt(half_gap);
    let direction = Direction::of(battery, w, charging, charging.not());
    let open_circuit_v = held_v - direction.side_v;
    // Where a discharge into the held bus is done, by the very charge at which it was ended.
    let done = battery.curve.share(open_circuit_v);
    let idle = above_v.magnitude().le(half_gap).or(charging.not().and(s.le(done)));
    let Direction { lag_share_a, gain, .. } = direction;
    let shift = lag_share_a * w.splat(1.0 / battery.resistance_ohm);
    let piece = battery.curve.held_piece(s, open_circuit_v, shift, charging);
    let stiffness = resistance + piece.slope * lag_share_a;
    let per_stiffness = one / stiffness;
    let first_a = (open_circuit_v - piece.offset - piece.slope * s) * per_stiffness;
    let first_a = F::select(charging, first_a.most(zero), first_a.least(zero));
    let per_gain = F::select(
        charging,
        w.splat(1.0 / battery.charge_efficiency_share),
        w.splat(battery.discharge_efficiency_share),
    );
    // An empty battery that is charged with less than its self-discharge stays empty: all that comes
    // in is lost again.
    let stored_a = gain * first_a;
    let sinks = charging.and(s.le(zero)).and(stored_a.le(ahead.self_discharge_a));
    let leak_a = F::select(sinks, stored_a, ahead.self_discharge_a);
    let first_net_a = stored_a - leak_a;
    let per_share_a = gain * piece.slope * per_stiffness;
    let rate = per_share_a * per_ah;
    let up = zero.lt(first_net_a);

    let still = first_net_a.magnitude().le(w.splat(AT_REST_PER_H * battery.capacity_ah)).or(idle);
    let moves = still.not().any();
    let mut hours = ahead.most_h;
    let mut moved = s;
    if moves {
        let mut above = F::select(s.lt(one), one, forever).least(F::select(
            s.lt(ahead.stop_share),
            ahead.stop_share,
            forever,
        ));
        above = above.least(F::select(s.lt(piece.high), piece.high, forever));
        let mut below = lower_end(s, ahead.empty_share);
        below = below.most(F::select(piece.low.lt(s), piece.low, -forever));
        below = below.most(F::select(charging.not().and(done.lt(s)), done, -forever));
        for (offer, at) in sources.iter().zip(thresholds) {
            let next = F::select(offer.live.and(s.lt(at.off_above)), at.off_above, forever);
            above = above.least(next);
            let next = F::select(offer.live.and(at.full_below.lt(s)), at.full_below, -forever);
            below = below.most(next);
            above = above.least(F::select(s.lt(at.tail_share), at.tail_share, forever));
        }
        let target = F::select(up, above, below);
        let target_net_a = first_net_a - per_share_a * (target - s);
        // The target is reached only while the current keeps its sign.
        let ratio = first_net_a / target_net_a;
        let reached = one.lt(ratio).and(ratio.lt(w.splat(1e30)));
        let ends = reached.and(still.not());
        let mut in_time = w.all(false);
        if ends.any() {
            let to_target_h = natural_log(F::select(reached, ratio, one)) / rate;
            in_time = ends.and(to_target_h.le(ahead.most_h));
            hours = F::select(in_time, to_target_h, ahead.most_h);
        }
        let faded_share = first_net_a * hours * fading_mean(rate * hours) * per_ah;
        moved = F::select(in_time, target, s + faded_share);
    }
    let last_net_a = first_net_a - per_share_a * (moved - s);
    // A battery that stands idle loses no more than it holds.
    let lost_share = (leak_a * hours * per_ah).least(s.most(zero));
    let to_share = F::select(idle, s - lost_share, F::select(still, s, moved));
    let net_ah = F::select(still, zero, (to_share - s) * capacity_ah);
    let charged_ah = F::select(idle, zero, (net_ah + leak_a * hours) * per_gain);
    // The current is a straight line of the charge: integral of y^2 dt = integral of y Q ds.
    let net_square = F::select(still, zero, net_ah * (first_net_a + last_net_a) * w.splat(0.5));
    let square_a2h = F::select(
        idle,
        zero,
        (net_square + (leak_a + leak_a) * net_ah + leak_a * leak_a * hours) * (per_gain * per_gain),
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
        leaked_ah: F::select(idle, lost_share * capacity_ah, leak_a * hours),
        to_at_hand: to_share,
        exchanged_ah: zero,
        resistance_ohm: resistance,
        gain,
        spread: zero,
        served_share: one,
    }
}
