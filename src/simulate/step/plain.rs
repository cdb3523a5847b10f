//! A phase in which nothing happens, where that is certain beforehand.
//!
//! Most hours of most trials go by like this: the bus is free, sources give their limit or nothing,
//! and no threshold is near. Then all that the long way finds out does not matter but for the mean
//! current of the phase. So that current is taken first, by the same formulas, as if nothing
//! happened, and held against wide bounds. In a lane that stays within them the long way would come to
//! the same bits; where all that wait do, it is not gone. A single run always goes it, so each test
//! that holds lanes against it, or a trial against its replay, holds the short way against the long
//! one.
//!
//! Why the bounds are enough: while the volts that the current makes are small beside those of the
//! bus, what the battery takes rises faster with the volts than what sources and loads leave for
//! it. So there is one meeting point, the current of any moment is near the mean one, and a source
//! whose set point lies above the volts from beginning to end has a charge below its `full_below`,
//! one whose set point lies below them a charge above its `off_above`. The curve, the drop sequence of loads,
//! an empty battery and a full one are looked at as far as the largest current goes, and a tenth more.

use super::bus::{Sum, root, sum_at};
use super::course::{Ahead, Course};
use super::demand::Demand;
use super::line::{
    Direction, Line, ahead_of, away_from_zero, kink_above, kink_below, mean_line, reachable,
};
use super::offers::Offer;
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::Plan;
use crate::simulate::state::State;
use crate::station::battery::OneWell;
use crate::station::battery::curve::Piece;

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
/// Charge that is about to be passed, share of what is gone through.
const PASSES_SHARE: f64 = 1.0 + 1e-9;

/// How a phase goes by in which nothing happens.
pub(super) struct Passed<F: Lane> {
    pub(super) hours: F,
    pub(super) to_share: F,
    /// Steady current and mean volts, and what they go along.
    steady: (F, F),
    line: Line<F>,
}

impl<F: Lane> Passed<F> {
    /// All of its course.
    #[inline(always)]
    pub(super) fn course(&self, battery: &OneWell, s: F) -> Course<F> {
        self.line.course(battery, s, self.to_share, self.steady, self.hours)
    }
}

/// What [`PlainPhase::done`] needs to know.
pub(super) struct PlainPhase<'a, F: Lane> {
    pub(super) plan: &'a Plan,
    pub(super) state: &'a State<F>,
    pub(super) demand: &'a Demand<F>,
    pub(super) offers: &'a mut [Offer<F>],
    pub(super) charge_limit_a: F,
    pub(super) waiting: F::Mask,
    pub(super) ahead: &'a Ahead<F>,
}

impl<F: Lane> crate::numbers::lane::Piece for PlainPhase<'_, F> {
    type Output = Option<Passed<F>>;

    /// How the phase goes by if it is certain in all lanes that wait that nothing happens: it lasts as
    /// long as it may, or to a kink of the curve.
    #[inline(always)]
    fn done(self) -> Option<Passed<F>> {
        let Self { plan, state, demand, offers, charge_limit_a, waiting, ahead } = self;
        let w = state.charge.width();
        let battery = &plan.battery;
        let zero = w.splat(0.0);
        let s = state.charge;

        // As if each source gave its limit or nothing, by the volts at rest.
        let at_rest = battery.curve.piece(s);
        let rest_v = at_rest.offset + at_rest.slope * s;
        for offer in &mut *offers {
            if offer.shape.is_some() {
                return None;
            }
            offer.full = rest_v.lt(offer.set_v);
            offer.off = offer.full.not();
        }
        let sum = sum_at(offers, demand, rest_v);
        let charging = zero.lt(sum.current_a * rest_v + sum.power_w);
        // By night no lane charges: then nothing waits for the answer.
        let charges = charging.any();
        let side = if charges {
            Direction::of(battery, w, charging, charging.not())
        } else {
            Direction::discharging(battery, w)
        };
        let of = Free {
            plan,
            state,
            waiting,
            offers: &*offers,
            charge_limit_a,
            ahead,
            sum,
            charging,
            charges,
            side,
            rest_v,
        };
        let steady = of.on(&at_rest)?;
        if steady.kink {
            return of.near_a_kink(&at_rest, steady);
        }
        Some(Passed {
            hours: ahead.most_h,
            to_share: steady.to_share,
            steady: (steady.charge_a, steady.mean_v),
            line: of.line(&at_rest),
        })
    }
}

/// A free bus whose sources give their limit or nothing.
struct Free<'a, F: Lane> {
    plan: &'a Plan,
    state: &'a State<F>,
    waiting: F::Mask,
    offers: &'a [Offer<F>],
    charge_limit_a: F,
    ahead: &'a Ahead<F>,
    sum: Sum<F>,
    charging: F::Mask,
    /// Whether any lane does.
    charges: bool,
    side: Direction<F>,
    rest_v: F,
}

/// A steady current on one piece of the curve for as long as the phase may last.
struct Steady<F: Lane> {
    to_share: F,
    charge_a: F,
    mean_v: F,
    /// A kink of the curve may lie on the way.
    kink: bool,
}

impl<F: Lane> Free<'_, F> {
    /// The piece as the battery feels it.
    #[inline(always)]
    fn line(&self, piece: &Piece<F>) -> Line<F> {
        let Direction { lag_share_a, gain, .. } = self.side;
        let leak_a = self.ahead.self_discharge_a;
        Line { offset: piece.offset, slope: piece.slope, lag_share_a, gain, leak_a }
    }

    /// Up where the battery takes, down where it gives.
    #[inline(always)]
    fn signed(&self, size: F) -> F {
        if self.charges { F::select(self.charging, size, -size) } else { -size }
    }

    /// A steady current on this piece, where it is sure to last in all lanes that wait, but for kinks
    /// of the curve.
    #[inline(always)]
    fn on(&self, piece: &Piece<F>) -> Option<Steady<F>> {
        let Self { plan, state, waiting, offers, charging, rest_v, .. } = *self;
        let Direction { lag_share_a, side_v, gain } = self.side;
        let w = state.charge.width();
        let battery = &plan.battery;
        let (zero, near_v) = (w.splat(0.0), w.splat(NEAR_V));
        let per_ah = w.splat(1.0 / battery.capacity_ah);
        let s = state.charge;
        let (most_h, leak_a) = (self.ahead.most_h, self.ahead.self_discharge_a);
        let own = w.splat(battery.resistance_ohm) + piece.slope * lag_share_a;
        let steady_v = piece.offset + side_v;
        let straight = (steady_v, piece.slope);
        let (base_v, per_amp_v) = mean_line(battery, straight, own, gain, (s, leak_a), most_h);
        let mean = root(self.sum, base_v, per_amp_v);
        // Where this is sure it is no current of nothing.
        let to_share = s + (gain * mean.charge_a - leak_a) * most_h * per_ah;

        // Bounds of current, charge and volts: where the phase may begin, and how far it may go.
        let charge_a = mean.charge_a;
        let bent_a = (charge_a - self.sum.current_a).magnitude();
        let drift_a = self.signed(bent_a * w.splat(DRIFT_SHARE));
        let (most_a, least_a) = (charge_a + drift_a, charge_a - drift_a);
        let way_ah = (gain * most_a - leak_a) * most_h;
        let far = s + way_ah * w.splat(FURTHER / battery.capacity_ah);
        let far = far.held_between(piece.low, piece.high);
        let begin_v = steady_v + piece.slope * s + own * least_a;
        let end_v = steady_v + piece.slope * far + own * most_a;
        let (mut lowest_v, mut highest_v) = (end_v, begin_v);
        if self.charges {
            lowest_v = F::select(charging, begin_v, end_v);
            highest_v = F::select(charging, end_v, begin_v);
        }

        // The upper root, far from where it breaks down; the battery takes or gives, as it was taken to.
        let size_a = self.signed(charge_a);
        let upright = (per_amp_v * (bent_a + size_a)).lt(w.splat(MOST_SAG_SHARE) * mean.mean_v);
        let edge = far + self.signed(w.splat(NEAR_SHARE));
        let mut within = self.ahead.empty_share.lt(edge);
        if self.charges {
            let fills = (leak_a + leak_a)
                .lt(gain * charge_a)
                .and((size_a + bent_a).lt(self.charge_limit_a))
                .and(edge.lt(self.ahead.stop_share.least(w.splat(1.0))));
            within = charging.and(fills).or(charging.not().and(within));
        }
        let mut sure = upright
            .and(w.splat(LEAST_A).lt(size_a))
            .and(within)
            .and(state.flat.not())
            .and((state.terms.next_below_v + near_v).most(near_v).lt(lowest_v));
        if !battery.serves_when_empty {
            let limit_a = w.splat(battery.discharge_limit_a);
            let beyond_a = state.terms.peak_current_a - limit_a;
            sure = sure.and((beyond_a * lowest_v + state.terms.peak_power_w).lt(zero));
        }
        if waiting.and(sure.not()).any() {
            return None;
        }
        let half_gap = w.splat(battery.half_gap_v);
        let (below_v, above_v) = (lowest_v - near_v, highest_v + near_v);
        for offer in offers {
            let mut stays = offer.off.and(offer.set_v.lt(below_v)).and(offer.tails.not());
            if offer.full.any() {
                let mut gives = offer.full.and(above_v.lt(offer.set_v));
                if !offer.weatherless {
                    let low_w = offer.limit_a * below_v.least(rest_v - half_gap);
                    let high_w = offer.limit_a * above_v.most(rest_v + half_gap);
                    gives = gives.and(offer.power_w.lt(low_w).or(high_w.lt(offer.power_w)));
                }
                stays = stays.or(gives);
            }
            sure = sure.and(offer.live.not().or(stays));
        }
        if waiting.and(sure.not()).any() {
            return None;
        }
        // The surface goes ahead of the charge.
        let edge = edge + most_a * lag_share_a;
        let kink = waiting.and(edge.lt(piece.low).or(piece.high.le(edge))).any();
        Some(Steady { to_share, charge_a, mean_v: mean.mean_v, kink })
    }

    /// The same where a kink of the curve may be on the way, or just behind: then the current with
    /// which the phase begins decides, as on the long way.
    #[inline(always)]
    fn near_a_kink(&self, at_rest: &Piece<F>, steady: Steady<F>) -> Option<Passed<F>> {
        let Self { plan, state, waiting, charging, rest_v, .. } = *self;
        let Direction { lag_share_a, side_v, gain } = self.side;
        let w = state.charge.width();
        let battery = &plan.battery;
        let (zero, half) = (w.splat(0.0), w.splat(0.5));
        let per_ah = w.splat(1.0 / battery.capacity_ah);
        let s = state.charge;
        let (most_h, leak_a) = (self.ahead.most_h, self.ahead.self_discharge_a);
        let half_gap = w.splat(battery.half_gap_v);
        let mut guess_v = rest_v - half_gap;
        if self.charges {
            guess_v = F::select(charging, rest_v + half_gap, guess_v);
        }
        let guess_a = self.sum.at(guess_v);
        let piece = battery.curve.piece(ahead_of(s, guess_a, lag_share_a, gain, leak_a));
        // Mostly the same one: it was only near.
        let other = piece.low.differs(at_rest.low).any();
        let steady = if other { self.on(&piece)? } else { steady };

        let own = w.splat(battery.resistance_ohm) + piece.slope * lag_share_a;
        let steady_v = piece.offset + side_v;
        let first = root(self.sum, piece.offset + piece.slope * s + side_v, own);
        let first_a = first.charge_a;
        let begins = ahead_of(s, first_a, lag_share_a, gain, leak_a);
        let astray = begins.lt(piece.low).or(begins.ge(piece.high)).or(first.none);
        let first_net_a = away_from_zero(gain * first_a - leak_a);
        let lag = first_a * lag_share_a;
        let mut target = kink_below(piece.low, s, lag, first_net_a, per_ah);
        if self.charges {
            let above = kink_above(piece.high, s, lag, first_net_a, per_ah);
            target = F::select(charging, above, target);
        }
        // Ends of the curve are no kinks.
        let target = reachable(target);
        let to_target_ah = (target - s) * w.splat(battery.capacity_ah);
        let within = (to_target_ah / first_net_a).le(most_h);
        let there = root(self.sum, steady_v + piece.slope * (s + target) * half, own);
        let to_target_h = to_target_ah / away_from_zero(gain * there.charge_a - leak_a);
        let in_time = zero.lt(to_target_h).and(to_target_h.le(most_h));
        // Where the mean current reaches it and the first does not, or the other way round.
        let mean_ah = (steady.to_share - s) * w.splat(battery.capacity_ah);
        let passes = to_target_ah.magnitude().lt(mean_ah.magnitude() * w.splat(PASSES_SHARE));
        let unclear =
            astray.or(within.and(in_time.not().or(there.none))).or(within.not().and(passes));
        if waiting.and(unclear).any() {
            return None;
        }
        let charge_a = F::select(within, there.charge_a, steady.charge_a);
        let mean_v = F::select(within, there.mean_v, steady.mean_v);
        Some(Passed {
            hours: F::select(within, to_target_h, most_h),
            to_share: F::select(within, target, steady.to_share),
            steady: (charge_a, mean_v),
            line: self.line(&piece),
        })
    }
}
