//! 3.3 for lead-acid: a short phase of two wells.
//!
//! With a steady stored current I (`station::battery::acid`) the mean of delta over a phase of
//! length t is `delta0 f + (1 - f) I / (c k qm)`, f the mean of `e^(-k t)`. So the mean volts of a
//! phase are `base + per_amp J` whichever way the current goes, the charging side having its own
//! resistance; set points, loads and sources are then one instant of the bus. What moves with the
//! charge (charging resistance, charge efficiency, the piece of the curve) is taken at the middle
//! of the phase, which a first pass from its beginning foretells; phases last five minutes at
//! most. Thresholds are met by a straight line through both ends of the phase.

use super::bus::{Solved, other_limits, root, sum_with};
use super::course::{Ahead, Course};
use super::demand::Demand;
use super::free::FreeBus;
use super::offers::{Offer, Threshold, with_and_without};
use crate::numbers::elementary::{exp_of_minus, fading_mean};
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::Plan;
use crate::simulate::state::State;
use crate::station::battery::one_well::SecondWell;

/// Passes of a phase: one from its beginning, one with its middle, two more to meet a threshold.
const MOST_PASSES: usize = 4;
/// Most corrections of which limit of a source applies.
const MOST_ROUNDS: usize = 8;
/// Longest phase, h.
const LONGEST_H: f64 = 1.0 / 12.0;
/// Shortest phase towards a threshold, h.
const SHORTEST_H: f64 = 1e-4;
/// Charge from which on more and more of the current gasses.
const GASSES_FROM_SHARE: f64 = 0.85;

/// The battery over a phase: mean volts `base + per_amp J`.
#[derive(Clone, Copy)]
pub(super) struct Wells<F: Lane> {
    base_v: F,
    pub(super) charge_ohm: F,
    discharge_ohm: F,
    /// Mean of the surface: `offset + slope (still + per_amp J)`.
    offset: F,
    slope: F,
    still: F,
    per_amp_in: F,
    per_amp_out: F,
    gain_in: F,
    fade: F,
}

/// How far charge and well at hand have come by the middle of a phase.
#[derive(Clone, Copy)]
pub(super) struct Middle<F: Lane> {
    share: F,
    at_hand: F,
}

impl<F: Lane> Middle<F> {
    /// As the phase begins.
    #[inline(always)]
    pub(super) fn unknown(w: F::Width) -> Self {
        Self { share: w.splat(0.0), at_hand: w.splat(0.0) }
    }
}

impl<F: Lane> Wells<F> {
    /// The battery of `state` over `hours`, what moves with the charge as it is in the `middle`.
    #[inline(always)]
    pub(super) fn over(
        plan: &Plan,
        second: &SecondWell,
        state: &State<F>,
        leak_a: F,
        hours: F,
        middle: &Middle<F>,
    ) -> Self {
        let w = state.charge.width();
        let battery = &plan.battery;
        let one = w.splat(1.0);
        let per_ah = w.splat(1.0 / battery.capacity_ah);
        let resistance = w.splat(battery.resistance_ohm);
        let c = second.at_hand_share;
        let s = state.charge;
        let at_hand = state.at_hand;
        let middle_share = s + middle.share;
        let middle_at_hand = at_hand + middle.at_hand;
        let piece = battery.curve.piece(middle_at_hand);
        let rest_v = piece.offset + piece.slope * middle_at_hand;

        let rated_absorption_v = w.splat(second.rated_absorption_v)
            + w.splat(second.absorption_v_per_k) * (state.battery_c - w.splat(25.0));
        let missing = (one - middle_share).most(w.splat(1e-6));
        let accepts_a = w.splat(second.acceptance_per_h * battery.capacity_ah) * missing;
        let charge_ohm = ((rated_absorption_v - rest_v) / accepts_a).most(resistance);
        let gassing = ((middle_share - w.splat(GASSES_FROM_SHARE))
            * w.splat(1.0 / (1.0 - GASSES_FROM_SHARE)))
        .held_between(w.splat(0.0), one);
        let loss = w.splat(battery.charge_efficiency_share - second.full_efficiency_share);
        let gain_in = w.splat(battery.charge_efficiency_share) - loss * gassing;

        let x = w.splat(second.rate_per_h) * hours;
        let fade = fading_mean(x);
        let delta = (at_hand - s) * w.splat(1.0 / (1.0 - c));
        // Mean fill of the well at hand per ampere stored: half of what comes in, and the lead.
        let lead = (one - fade) * w.splat((1.0 - c) / (c * second.rate_per_h));
        let per_stored = (hours * w.splat(0.5) + lead) * per_ah;
        let still = s + w.splat(1.0 - c) * delta * fade - leak_a * per_stored;
        Self {
            base_v: piece.offset + piece.slope * still,
            charge_ohm,
            discharge_ohm: resistance,
            offset: piece.offset,
            slope: piece.slope,
            still,
            per_amp_in: per_stored * gain_in,
            per_amp_out: per_stored,
            gain_in,
            fade,
        }
    }

    /// Volts per ampere on the side of the current.
    #[inline(always)]
    fn per_amp_v(&self, charging: F::Mask) -> F {
        F::select(
            charging,
            self.charge_ohm + self.slope * self.per_amp_in,
            self.discharge_ohm + self.slope * self.per_amp_out,
        )
    }

    /// Charging current at steady volts.
    #[inline(always)]
    fn current_a(&self, volts: F) -> F {
        (volts - self.base_v) / self.per_amp_v(self.base_v.lt(volts))
    }

    /// The bus with its sources at their limits, those that hold too where the mask says so.
    #[inline(always)]
    fn free(
        &self,
        sources: &[Offer<F>],
        demand: &Demand<F>,
        first_v: F,
        holders_too: F::Mask,
    ) -> Solved<F> {
        let w = first_v.width();
        let mut at_v = first_v;
        let mut round = 0;
        loop {
            let sum = sum_with(sources, demand, at_v, holders_too);
            // The side of the current is that at the volts without any.
            let charging = w.splat(0.0).lt(sum.at(self.base_v));
            let solved = root(sum, self.base_v, self.per_amp_v(charging));
            // Again where another limit of a source applies at these volts.
            let other = other_limits(sources, at_v, solved.mean_v);
            round += 1;
            if round == MOST_ROUNDS || !other.any() {
                return solved;
            }
            at_v = F::select(other, solved.mean_v, at_v);
        }
    }

    /// Mean volts at a steady charging current.
    #[inline(always)]
    pub(super) fn volts(&self, charge_a: F) -> F {
        let w = charge_a.width();
        let charging = w.splat(0.0).lt(charge_a);
        self.base_v + self.per_amp_v(charging) * charge_a
    }
}

/// The source that holds the bus.
#[derive(Clone, Copy)]
pub(super) struct Held<F: Lane> {
    pub(super) held: F::Mask,
    pub(super) volts: F,
    /// Charging current with it and those above it at their limit, A.
    pub(super) most_a: F,
}

/// A phase of at most five minutes.
#[inline(always)]
pub(super) fn short<F: Lane>(most_h: F) -> F {
    let w = most_h.width();
    most_h.least(w.splat(LONGEST_H))
}

/// 3.2 for lead-acid: the regime of each source by the volts it would bring about.
#[inline(always)]
pub(super) fn place_regimes<F: Lane>(
    plan: &Plan,
    wells: &Wells<F>,
    demand: &Demand<F>,
    charge_limit_a: F,
    offers: &mut [Offer<F>],
    thresholds: &mut [Threshold<F>],
) {
    let w = charge_limit_a.width();
    let zero = w.splat(0.0);
    for at in 0..offers.len() {
        let source = &plan.sources[offers[at].place];
        let volts = offers[at].set_v;
        let (with_a, without_a) = with_and_without(&*offers, demand, volts, charge_limit_a);
        let mut shared_a = zero;
        for other in &*offers {
            let beside = other.live.and(other.set_v.ge(volts)).and(other.set_v.le(volts));
            shared_a = shared_a + F::select(beside, other.current_at(volts), zero);
        }
        let together_a = wells.current_a(volts) - without_a;
        let own_a = together_a * offers[at].current_at(volts) / shared_a.most(w.splat(1e-9));
        let tail_a = w.splat(source.tail_a);
        let tail_reached = own_a.le(tail_a);
        thresholds[at] = Threshold { with_a, without_a, tail_reached, ..Threshold::unknown(w) };
        let offer = &mut offers[at];
        offer.full = wells.volts(with_a).lt(volts);
        offer.off = volts.lt(wells.volts(without_a));
    }
}

/// One phase; also whether a tail current is reached in it is left to the next look.
#[inline(always)]
#[allow(clippy::too_many_arguments)]
pub(super) fn course<F: Lane>(
    plan: &Plan,
    second: &SecondWell,
    state: &State<F>,
    demand: &Demand<F>,
    sources: &[Offer<F>],
    bus: &FreeBus<F>,
    held: Held<F>,
    charge_limit_a: F,
    ahead: &Ahead<F>,
) -> Course<F> {
    let w = state.charge.width();
    let Held { held, volts: held_v, most_a: held_most_a } = held;
    let zero = w.splat(0.0);
    let s = state.charge;
    let leak_a = ahead.self_discharge_a;
    let board_v = w.splat(plan.battery.board_open_v);
    let next_v = F::select(state.open, board_v, state.terms.next_below_v);
    let watches = state.flat.not().and(bus.blocked.not());
    let closes = state.open.and(w.all(!plan.latch.by_hand));
    let reconnect_v = F::select(closes, w.splat(plan.latch.reconnect_v), w.splat(f64::INFINITY));

    let half = w.splat(0.5);
    let mut hours = short(ahead.most_h);
    let mut middle = Middle::unknown(w);
    let mut best = None;
    for round in 0..MOST_PASSES {
        let wells = Wells::over(plan, second, state, leak_a, hours, &middle);
        // In the middle of the phase a source may be at its limit that held its set point before.
        let held_a = wells.current_a(held_v);
        let beyond = held.and(held_most_a.lt(held_a));
        let holds = held.and(beyond.not());
        let free = wells.free(sources, demand, bus.first_v, beyond);
        let clamped = charge_limit_a.lt(free.charge_a);
        let free_a = F::select(clamped, charge_limit_a, free.charge_a);
        let free_v = F::select(clamped, wells.volts(charge_limit_a), free.mean_v);
        let still = held.not().and(bus.charging.or(bus.discharging).not());
        let charge_a = F::select(still, zero, F::select(holds, held_a, free_a));
        let mean_v = F::select(holds, held_v, F::select(still, bus.still_v, free_v));
        let course =
            finish(plan, second, state, &wells, charge_a, mean_v, hours, leak_a).level_where(holds);
        // Where does a straight line through both ends meet what ends the phase?
        let mut cut = part(s, course.to_share, ahead.stop_share);
        cut = cut.least(part(s, course.to_share, ahead.empty_share));
        cut = cut.least(part(s, course.to_share, w.splat(1.0)));
        cut = cut.least(part(state.at_hand, course.to_at_hand, zero));
        let falls = watches.and(held.not());
        // From the volts by which the latch is judged: they are still on this side of it.
        let begin_v = F::select(holds, held_v, F::select(held, course.first_v, bus.first_v));
        let drop = part(begin_v, course.last_v, next_v);
        cut = cut.least(F::select(falls, drop, w.splat(1.0)));
        cut = cut.least(part(begin_v, course.last_v, reconnect_v));
        let shorter = cut.lt(w.splat(1.0));
        let last = round + 1 == MOST_PASSES || (round > 0 && !shorter.any());
        if round == 0 {
            middle.share = (course.to_share - s) * half;
            middle.at_hand = (course.to_at_hand - state.at_hand) * half;
        }
        best = Some(course);
        if last {
            break;
        }
        // A lane that is not cut goes through the same pass again: the same bits.
        let before_h = hours;
        hours = F::select(shorter, (hours * cut).most(w.splat(SHORTEST_H)).least(hours), hours);
        let kept = F::select(shorter, hours / before_h, w.splat(1.0));
        middle.share = middle.share * kept;
        middle.at_hand = middle.at_hand * kept;
    }
    best.unwrap_or_else(|| {
        let wells = Wells::over(plan, second, state, leak_a, hours, &middle);
        finish(plan, second, state, &wells, zero, bus.still_v, hours, leak_a)
    })
}

/// Part of a straight line from `from` to `to` before it reaches `at`; 1 where it does not.
#[inline(always)]
fn part<F: Lane>(from: F, to: F, at: F) -> F {
    let crosses = at.lt(from).and(to.lt(at)).or(from.lt(at).and(at.lt(to)));
    F::select(crosses, (from - at) / (from - to), from.like(1.0))
}

/// What a steady current does over a phase.
#[inline(always)]
#[allow(clippy::too_many_arguments)]
fn finish<F: Lane>(
    plan: &Plan,
    second: &SecondWell,
    state: &State<F>,
    wells: &Wells<F>,
    charge_a: F,
    mean_v: F,
    hours: F,
    leak_a: F,
) -> Course<F> {
    let w = state.charge.width();
    let (zero, one, half) = (w.splat(0.0), w.splat(1.0), w.splat(0.5));
    let per_ah = w.splat(1.0 / plan.battery.capacity_ah);
    let c = second.at_hand_share;
    let s = state.charge;
    let charging = zero.lt(charge_a);
    let gain = F::select(charging, wells.gain_in, one);
    let x = w.splat(second.rate_per_h) * hours;
    let decay = exp_of_minus(x);
    let delta = (state.at_hand - s) * w.splat(1.0 / (1.0 - c));
    let settles_per_a = per_ah * w.splat(1.0 / (c * second.rate_per_h));
    // Self-discharge takes from the well at hand no more than comes to it.
    let fill_per_a = hours * per_ah + w.splat(1.0 - c) * (one - decay) * settles_per_a;
    let kept = s + w.splat(1.0 - c) * delta * decay + gain * charge_a * fill_per_a;
    let comes_a = (kept / fill_per_a).most(zero);
    let limited = zero.le(kept).and(comes_a.lt(leak_a));
    let leak_a = leak_a.least(comes_a);
    let stored_a = gain * charge_a - leak_a;
    let to_share = s + stored_a * hours * per_ah;
    let settled = stored_a * settles_per_a;
    let to_delta = delta * decay + (one - decay) * settled;
    let mean_delta = delta * wells.fade + (one - wells.fade) * settled;
    let to_at_hand = to_share + w.splat(1.0 - c) * to_delta;
    // It ends at nothing then, and not below it by a rounding: that would be an end again and again.
    let to_at_hand = F::select(limited, to_at_hand.most(zero), to_at_hand);
    let exchanged_ah =
        w.splat(c * (1.0 - c) * second.rate_per_h * plan.battery.capacity_ah) * mean_delta * hours;
    let per_amp = F::select(charging, wells.per_amp_in, wells.per_amp_out);
    let resistance = F::select(charging, wells.charge_ohm, wells.discharge_ohm);
    let surface_v = wells.offset + wells.slope * (wells.still + per_amp * charge_a);
    let swing_v = wells.slope * (to_at_hand - state.at_hand) * half;
    let (current, volts) = ((charge_a, mean_v), (surface_v, swing_v));
    Course {
        to_at_hand,
        exchanged_ah,
        resistance_ohm: resistance,
        gain,
        ..Course::steady(current, volts, to_share, leak_a, hours)
    }
}
