//! 3.3 The bus while no source holds it.
//!
//! The battery's current is steady at the mean volts of the phase: on one straight piece of the
//! curve these are `base + per_amp J` with `J = C + W / V`, a quadratic in V.

use super::course::{Ahead, Course};
use super::demand::Demand;
use super::offers::Offer;
use crate::numbers::lane::{Lane, Mask};
use crate::plan::Plan;
use crate::simulate::state::State;

/// Shortest phase towards a kink of the curve, h.
pub(super) const SHORTEST_H: f64 = 1e-5;

/// The bus while no source holds it.
pub(super) struct FreeBus<F: Lane> {
    pub(super) charging: F::Mask,
    pub(super) discharging: F::Mask,
    /// Sources have more than the loads take and the battery takes none.
    pub(super) blocked: F::Mask,
    pub(super) no_solution: F::Mask,
    /// Volts as the phase begins, V.
    pub(super) first_v: F,
    /// Volts while blocked, V.
    pub(super) block_v: F,
    /// Volts while the battery does nothing, V.
    pub(super) balance_v: F,
    /// Current that sources at their limit give, A.
    pub(super) sources_a: F,
    pub(super) lag_share_a: F,
    pub(super) side_v: F,
    pub(super) gain: F,
    pub(super) offset: F,
    pub(super) slope: F,
    pub(super) low: F,
    pub(super) high: F,
    pub(super) charge_limit_a: F,
    /// Ideal battery, empty: loads take what the sources give.
    pub(super) part_served: F::Mask,
    pub(super) part_share: F,
}

/// Sources at their limit and loads at some volts, as `current + power / V`.
#[derive(Clone, Copy)]
pub(super) struct Sum<F> {
    pub(super) current_a: F,
    pub(super) power_w: F,
}

#[inline(always)]
pub(super) fn sum_at<F: Lane>(sources: &[Offer<F>], demand: &Demand<F>, volts: F) -> Sum<F> {
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
    pub(super) fn at(
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
    pub(super) fn solve(&self, sum: Sum<F>, base_v: F, per_amp_v: F) -> (F, F) {
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
    pub(super) fn course(
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
pub(super) fn away_from_zero<F: Lane>(net_a: F) -> F {
    let tiny = F::splat(1e-12);
    F::select(net_a.magnitude().lt(tiny), F::select(net_a.lt(F::splat(0.0)), -tiny, tiny), net_a)
}
