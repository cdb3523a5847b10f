//! 3.3 The bus while no source holds it.
//!
//! The battery's current is steady at the mean volts of the phase: on one straight piece of the
//! curve these are `base + per_amp J` with `J = C + W / V`, a quadratic in V.

use super::bus::{Solved, Sum, other_limits, root, sum_at};
use super::course::{Ahead, Course};
use super::demand::Demand;
use super::line::{
    Direction, Line, ahead_of, away_from_zero, kink_above, kink_below, lower_end, mean_line,
    reachable,
};
use super::offers::{Offer, Threshold};
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::Plan;
use crate::simulate::state::State;
use crate::station::battery::curve::Piece;

/// How far the surface may are next to the piece it was solved on, share.
const ASTRAY_SHARE: f64 = 1e-3;
/// A phase in which the volts would break down if it were longer, h.
const BRIEF_H: f64 = 1e-3;
/// Volts that no bus has.
const HIGHEST_V: f64 = 1e3;
/// Most corrections of the mean current of a phase: which limit of a source applies, and whether a
/// threshold is reached in time. Two settle all but sources within a hair of both limits.
const MOST_CORRECTIONS: usize = 8;

/// The bus while no source holds it.
pub(super) struct FreeBus<F: Lane> {
    pub(super) charging: F::Mask,
    pub(super) discharging: F::Mask,
    /// Sources have more than the loads take and the battery takes none.
    pub(super) blocked: F::Mask,
    pub(super) no_solution: F::Mask,
    /// Charging current as the phase begins, A.
    pub(super) first_a: F,
    /// Volts as the phase begins, V.
    pub(super) first_v: F,
    /// Volts while blocked, V.
    pub(super) block_v: F,
    /// Volts while the battery does nothing, blocked or not, V.
    pub(super) still_v: F,
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

impl<F: Lane> FreeBus<F> {
    #[inline(always)]
    pub(super) fn at(
        plan: &Plan,
        state: &State<F>,
        demand: &Demand<F>,
        sources: &[Offer<F>],
        charge_limit_a: F,
        self_discharge_a: F,
        charge_ohm: F,
    ) -> Self {
        let w = state.charge.width();
        let battery = &plan.battery;
        let zero = w.splat(0.0);
        // The surface of a lead-acid battery is its well at hand; others have none of their own.
        let s = state.at_hand;
        let half_gap = w.splat(battery.half_gap_v);
        let rest_v = battery.rest_v(state.at_hand);
        let (high_v, low_v) = (rest_v + half_gap, rest_v - half_gap);
        let up_a = sum_at(sources, demand, high_v).at(high_v);
        let down_a = sum_at(sources, demand, low_v).at(low_v);
        let surplus = zero.lt(up_a);
        let blocked = surplus.and(charge_limit_a.le(zero));
        let charging = surplus.and(blocked.not());
        let discharging = surplus.not().and(down_a.lt(zero));
        let guess_a =
            F::select(charging, up_a.least(charge_limit_a), F::select(discharging, down_a, zero));
        let Direction { lag_share_a, side_v, gain } =
            Direction::of(battery, w, charging, discharging);
        let resistance = F::select(charging, charge_ohm, w.splat(battery.resistance_ohm));
        // The piece of the curve on which the surface stands depends on the current and the other
        // way round: from the side of the smaller current a few rounds settle it.
        let mut guess = guess_a;
        let mut settled = Solved { charge_a: guess_a, mean_v: rest_v, none: w.all(false) };
        let moves = charging.or(discharging);
        let mut other = moves;
        let mut piece = None;
        for _ in 0..MOST_CORRECTIONS {
            if !other.any() {
                break;
            }
            let surface = s + guess * lag_share_a;
            let ahead = ahead_of(s, guess, lag_share_a, gain, self_discharge_a);
            let next = match piece {
                None => battery.curve.piece(ahead),
                Some(piece) => {
                    let piece: Piece<F> = piece;
                    other = ahead.lt(piece.low).or(ahead.ge(piece.high));
                    if !other.any() {
                        break;
                    }
                    battery.curve.piece(ahead).where_else(other, &piece)
                }
            };
            piece = Some(next);
            let guess_v = next.offset + next.slope * surface + guess * resistance + side_v;
            let better = root(
                sum_at(sources, demand, guess_v.most(w.splat(1e-3))),
                next.offset + next.slope * s + side_v,
                resistance + next.slope * lag_share_a,
            );
            let clamped = charge_limit_a.lt(better.charge_a);
            let limit_v = next.offset
                + next.slope * (s + charge_limit_a * lag_share_a)
                + charge_limit_a * resistance
                + side_v;
            let better_a = F::select(clamped, charge_limit_a, better.charge_a);
            let better_v = F::select(clamped, limit_v, better.mean_v);
            // Only where the piece is another one: a lane does not depend on those beside it.
            settled.charge_a = F::select(other, better_a, settled.charge_a);
            settled.mean_v = F::select(other, better_v, settled.mean_v);
            settled.none = other.and(better.none).or(other.not().and(settled.none));
            guess = F::select(
                charging,
                settled.charge_a.most(zero),
                F::select(discharging, settled.charge_a.least(zero), zero),
            );
        }
        // Where nothing moves no piece is asked for.
        let piece = match piece {
            Some(piece) => piece,
            None => Piece::first(w, &battery.curve),
        };
        let surface = s + settled.charge_a * lag_share_a;
        let astray = surface
            .lt(piece.low - w.splat(ASTRAY_SHARE))
            .or((piece.high + w.splat(ASTRAY_SHARE)).lt(surface));
        let (moving_a, moving_v) = (settled.charge_a, settled.mean_v);

        // Balanced: sources give what loads take, the battery stands by within its gap.
        let mut even_v = rest_v;
        let mut even = w.all(false);
        if moves.not().any() {
            let mut at_v = rest_v;
            for _ in 0..MOST_CORRECTIONS {
                let none_v = sum_at(sources, demand, at_v).zero_above(low_v);
                even = none_v.lt(w.splat(HIGHEST_V));
                even_v = none_v.least(w.splat(HIGHEST_V));
                let other = other_limits(sources, at_v, even_v);
                if !other.any() {
                    break;
                }
                at_v = F::select(other, even_v, at_v);
            }
        }
        let balance_v =
            F::select(even, F::select(even, even_v, rest_v).held_between(low_v, high_v), rest_v);

        // Blocked: the highest set point at which the sources there and above carry the loads.
        let mut block_v = zero;
        if blocked.any() {
            for offer in sources {
                let load_a = demand.current_a + demand.power_w / offer.set_v;
                let mut with_a = zero - load_a;
                for other in sources {
                    let counts = other.live.and(other.set_v.ge(offer.set_v));
                    with_a = with_a + F::select(counts, other.current_at(offer.set_v), zero);
                }
                let carries = offer.live.and(offer.full).and(with_a.ge(zero));
                block_v = F::select(carries, block_v.most(offer.set_v), block_v);
            }
            block_v = F::select(
                zero.lt(block_v),
                block_v,
                even_v.held_between(high_v, w.splat(HIGHEST_V)),
            );
        }

        let still_v = F::select(blocked, block_v, balance_v);
        let first_v = F::select(moves, moving_v, still_v);
        let first_a = F::select(
            charging,
            moving_a.most(zero),
            F::select(discharging, moving_a.least(zero), zero),
        );
        let mut sources_a = zero;
        for offer in sources {
            let gives = offer.live.and(offer.full);
            sources_a = sources_a + F::select(gives, offer.current_at(first_v), zero);
        }
        let no_solution = discharging.and(settled.none.or(astray));
        let mut empty = w.all(false);
        let mut part_share = w.splat(1.0);
        if battery.serves_when_empty {
            empty = state.charge.le(zero).and(discharging);
            let net = sum_at(sources, demand, rest_v);
            let wanted_w = (demand.current_a * rest_v + demand.power_w).most(w.splat(1e-12));
            let given_w = (wanted_w + net.at(rest_v) * rest_v).most(zero);
            part_share = (given_w / wanted_w).least(w.splat(1.0));
        }
        Self {
            charging,
            discharging: discharging.and(empty.not()),
            blocked,
            no_solution,
            first_a,
            first_v,
            block_v,
            still_v,
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
            part_share,
        }
    }

    /// Mean volts `base + per_amp J` with `J = sum.current + sum.power / V`: the upper root.
    #[inline(always)]
    fn solve(&self, sum: Sum<F>, base_v: F, per_amp_v: F) -> Solved<F> {
        let free = root(sum, base_v, per_amp_v);
        let clamped = self.charge_limit_a.lt(free.charge_a);
        Solved {
            charge_a: F::select(clamped, self.charge_limit_a, free.charge_a),
            mean_v: F::select(clamped, base_v + per_amp_v * self.charge_limit_a, free.mean_v),
            none: free.none.and(clamped.not()),
        }
    }

    /// 3.3 A steady current until the nearest threshold.
    #[inline(always)]
    pub(super) fn course(
        &self,
        plan: &Plan,
        state: &State<F>,
        demand: &Demand<F>,
        sources: &[Offer<F>],
        thresholds: &[Threshold<F>],
        ahead: &Ahead<F>,
    ) -> Course<F> {
        let w = state.charge.width();
        let battery = &plan.battery;
        let (zero, one, half) = (w.splat(0.0), w.splat(1.0), w.splat(0.5));
        let forever = w.splat(f64::INFINITY);
        let capacity_ah = w.splat(battery.capacity_ah);
        let per_ah = w.splat(1.0 / battery.capacity_ah);
        let resistance = w.splat(battery.resistance_ohm);
        let s = state.charge;
        let leak_a = ahead.self_discharge_a;
        let first_a = self.first_a;
        // An empty battery that is charged with less than its self-discharge stays empty.
        let sinks = self.charging.and(s.le(zero)).and((self.gain * first_a).le(leak_a));
        let moves = self.charging.or(self.discharging).and(sinks.not());
        let steady_v = self.offset + self.side_v;
        let own = resistance + self.slope * self.lag_share_a;

        // At rest: balanced, blocked, or an empty ideal battery.
        let rest_v = F::select(self.blocked, self.block_v, self.balance_v);
        let rest_share = s - leak_a * ahead.most_h * per_ah;
        let rest_share = F::select(self.part_served, s, rest_share.most(zero));
        let mut resting = Course {
            hours: ahead.most_h,
            mean_v: rest_v,
            first_v: rest_v,
            last_v: rest_v,
            to_share: rest_share,
            charged_ah: zero,
            square_a2h: zero,
            surface_wh: zero,
            leaked_ah: (s - rest_share) * capacity_ah,
            to_at_hand: rest_share,
            exchanged_ah: zero,
            resistance_ohm: resistance,
            gain: self.gain,
            spread: F::select(self.blocked.or(self.part_served), zero, one),
            served_share: F::select(self.part_served, self.part_share, one),
        };
        if sinks.any() {
            // All that comes in is lost again: charge, current and volts stay as they are.
            let surface_v = self.offset + self.slope * (s + first_a * self.lag_share_a);
            let (current, volts) = ((first_a, self.first_v), (surface_v, zero));
            let lost_a = self.gain * first_a;
            let sinking = Course {
                resistance_ohm: resistance,
                gain: self.gain,
                ..Course::steady(current, volts, s, lost_a, ahead.most_h)
            };
            resting = sinking.where_else(sinks, &resting);
        }
        if !moves.any() {
            return resting;
        }

        // Which threshold comes first at the current with which the phase begins?
        let first_net_a = away_from_zero(self.gain * first_a - leak_a);
        let up = zero.lt(first_net_a);
        let lag = first_a * self.lag_share_a;
        let mut above = F::select(s.lt(one), one, forever);
        above = above.least(F::select(s.lt(ahead.stop_share), ahead.stop_share, forever));
        above = above.least(kink_above(self.high, s, lag, first_net_a, per_ah));
        let mut below = lower_end(s, ahead.empty_share);
        below = below.most(kink_below(self.low, s, lag, first_net_a, per_ah));
        for (offer, at) in sources.iter().zip(thresholds) {
            let next = F::select(offer.live.and(s.lt(at.full_below)), at.full_below, forever);
            above = above.least(next);
            let next = F::select(offer.live.and(at.off_above.lt(s)), at.off_above, -forever);
            below = below.most(next);
        }
        // Charge at which the bus has some volts at this current: (volts - start) / slope - lag.
        let per_volt = one / self.slope;
        let start_v = first_a * resistance + steady_v;
        if !plan.latch.by_hand && state.open.any() {
            let close_share = (w.splat(plan.latch.reconnect_v) - start_v) * per_volt - lag;
            let may_close = state.open.and(s.lt(close_share));
            above = above.least(F::select(may_close, close_share, forever));
        }
        let next_v = F::select(state.open, w.splat(battery.board_open_v), state.terms.next_below_v);
        let drop_share = (next_v - start_v) * per_volt - lag;
        let may_drop = state.flat.not().and(drop_share.lt(s));
        below = below.most(F::select(may_drop, drop_share, -forever));
        let target = F::select(up, above, below);
        let target = reachable(target);
        let to_target_ah = (target - s) * capacity_ah;
        let reach_h = to_target_ah / first_net_a;
        // Where there is no threshold ahead, the target lies on the other side.
        let mut within = reach_h.ge(zero).and(reach_h.le(ahead.most_h)).and(moves);

        // The mean current of the phase, to the end of the time or to the threshold.
        let base_there_v = steady_v + self.slope * (s + target) * half;
        let mut most_h = ahead.most_h;
        let straight = (steady_v, self.slope);
        let (mut base_v, mut per_amp_v) =
            mean_line(battery, straight, own, self.gain, (s, leak_a), most_h);
        let mut at_v =
            F::select(within, base_there_v + own * first_a, base_v + per_amp_v * first_a);
        let (mut charge_a, mut mean_v, mut to_target_h) = (zero, zero, zero);
        let mut again = moves;
        for round in 0..MOST_CORRECTIONS {
            if round > 0 {
                (base_v, per_amp_v) =
                    mean_line(battery, straight, own, self.gain, (s, leak_a), most_h);
            }
            let better = self.solve(
                sum_at(sources, demand, at_v),
                F::select(within, base_there_v, base_v),
                F::select(within, own, per_amp_v),
            );
            let net_a = away_from_zero(self.gain * better.charge_a - leak_a);
            charge_a = F::select(again, better.charge_a, charge_a);
            mean_v = F::select(again, better.mean_v, mean_v);
            to_target_h = F::select(again, to_target_ah / net_a, to_target_h);
            // Again where a limit applies after all, where the threshold is not reached in time,
            // and, more briefly, where the volts would break down on the way.
            let missed = within.and(most_h.lt(to_target_h).or(to_target_h.le(zero)));
            let passes = within.not().and(zero.lt(to_target_h)).and(to_target_h.lt(most_h));
            let breaks = again.and(better.none);
            let turns = missed.or(passes).or(breaks);
            again = moves.and(turns.or(other_limits(sources, at_v, mean_v)));
            if !again.any() {
                break;
            }
            within = within.or(passes).and(missed.or(breaks).not());
            most_h = F::select(missed, most_h.least(reach_h * w.splat(0.7)), most_h);
            most_h = F::select(breaks, most_h.least(w.splat(BRIEF_H)), most_h);
            at_v = F::select(breaks, self.first_v, F::select(again, mean_v, at_v));
        }
        // A threshold that a better current never reaches ends nothing.
        within = within.and(zero.lt(to_target_h)).and(to_target_h.le(most_h));
        let line = Line {
            offset: self.offset,
            slope: self.slope,
            lag_share_a: self.lag_share_a,
            gain: self.gain,
            leak_a,
        };
        let hours = F::select(within, to_target_h, most_h);
        let net_a = away_from_zero(self.gain * charge_a - leak_a);
        let to_share = F::select(within, target, s + net_a * hours * per_ah);
        let moving = line.course(battery, s, to_share, (charge_a, mean_v), hours);
        if moves.not().any() { moving.where_else(moves, &resting) } else { moving }
    }
}
