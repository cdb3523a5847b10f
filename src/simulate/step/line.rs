//! A battery on one straight piece of its curve: what a steady current does there, and where the piece
//! ends.

use super::course::Course;
use crate::numbers::lane::{Lane, Width};
use crate::station::battery::OneWell;

/// Shortest phase towards a kink of the curve, h.
const SHORTEST_H: f64 = 1e-5;
/// How far ahead of the surface the piece of the curve is looked up, share.
const NUDGE_SHARE: f64 = 2e-6;

/// What depends on whether the battery takes or gives.
pub(super) struct Direction<F> {
    pub(super) lag_share_a: F,
    pub(super) side_v: F,
    pub(super) gain: F,
}

impl<F: Lane> Direction<F> {
    #[inline(always)]
    pub(super) fn of(
        battery: &OneWell,
        w: F::Width,
        charging: F::Mask,
        discharging: F::Mask,
    ) -> Self {
        let half_gap = w.splat(battery.half_gap_v);
        let lag_h =
            F::select(charging, w.splat(battery.lag_charge_h), w.splat(battery.lag_discharge_h));
        Self {
            lag_share_a: lag_h * w.splat(1.0 / battery.capacity_ah),
            side_v: F::select(charging, half_gap, F::select(discharging, -half_gap, w.splat(0.0))),
            gain: F::select(
                charging,
                w.splat(battery.charge_efficiency_share),
                w.splat(1.0 / battery.discharge_efficiency_share),
            ),
        }
    }

    /// The same where all of them give.
    #[inline(always)]
    pub(super) fn discharging(battery: &OneWell, w: F::Width) -> Self {
        Self {
            lag_share_a: w.splat(battery.lag_discharge_h) * w.splat(1.0 / battery.capacity_ah),
            side_v: -w.splat(battery.half_gap_v),
            gain: w.splat(1.0 / battery.discharge_efficiency_share),
        }
    }
}

/// The mean volts of so many hours as a straight line of the steady current in them: at no current,
/// and per ampere. On a piece `steady + slope s` of the curve, from a charge and with a self-discharge.
#[inline(always)]
pub(super) fn mean_line<F: Lane>(
    battery: &OneWell,
    (steady_v, slope): (F, F),
    own: F,
    gain: F,
    (s, leak_a): (F, F),
    hours: F,
) -> (F, F) {
    let w = s.width();
    let half_share = hours * w.splat(0.5) * w.splat(1.0 / battery.capacity_ah);
    (steady_v + slope * (s - leak_a * half_share), own + gain * slope * half_share)
}

/// Where the surface stands with a current, and a hair further the way that it goes.
#[inline(always)]
pub(super) fn ahead_of<F: Lane>(s: F, charge_a: F, lag_share_a: F, gain: F, leak_a: F) -> F {
    let w = s.width();
    let upwards = leak_a.lt(gain * charge_a);
    let surface = s + charge_a * lag_share_a;
    surface + F::select(upwards, w.splat(NUDGE_SHARE), w.splat(-NUDGE_SHARE))
}

/// Charge at which the surface, `lag` before the charge, reaches the upper end of its piece of the
/// curve; a little way off at least.
#[inline(always)]
pub(super) fn kink_above<F: Lane>(high: F, s: F, lag: F, net_a: F, per_ah: F) -> F {
    (high - lag).most(s + net_a * s.like(SHORTEST_H) * per_ah)
}

/// The same at the lower end.
#[inline(always)]
pub(super) fn kink_below<F: Lane>(low: F, s: F, lag: F, net_a: F, per_ah: F) -> F {
    (low - lag).least(s + net_a * s.like(SHORTEST_H) * per_ah)
}

/// The lower end of the charge that is still ahead: what the cold locks, then nothing left; minus
/// infinity for an empty battery.
#[inline(always)]
pub(super) fn lower_end<F: Lane>(s: F, empty_share: F) -> F {
    let w = s.width();
    let zero = w.splat(0.0);
    let nothing = F::select(zero.lt(s), zero, w.splat(f64::NEG_INFINITY));
    F::select(empty_share.lt(s), empty_share, nothing)
}

/// A straight piece of the curve under a battery that takes or gives.
pub(super) struct Line<F> {
    pub(super) offset: F,
    pub(super) slope: F,
    pub(super) lag_share_a: F,
    pub(super) gain: F,
    pub(super) leak_a: F,
}

impl<F: Lane> Line<F> {
    /// How a phase goes on with a steady current at these mean volts.
    #[inline(always)]
    pub(super) fn course(
        &self,
        battery: &OneWell,
        s: F,
        to_share: F,
        (charge_a, mean_v): (F, F),
        hours: F,
    ) -> Course<F> {
        let half = s.like(0.5);
        let middle = (s + to_share) * half;
        let surface_v = self.offset + self.slope * (middle + charge_a * self.lag_share_a);
        let swing_v = self.slope * (to_share - s) * half;
        let (current, volts) = ((charge_a, mean_v), (surface_v, swing_v));
        Course {
            resistance_ohm: s.like(battery.resistance_ohm),
            gain: self.gain,
            ..Course::steady(current, volts, to_share, self.leak_a, hours)
        }
    }
}

/// A charge that a phase may head for: far off where there is none.
#[inline(always)]
pub(super) fn reachable<F: Lane>(target: F) -> F {
    let far = target.like(1e6);
    F::select(target.magnitude().lt(far), target, far)
}

/// A current of nothing would make an endless phase.
#[inline(always)]
pub(super) fn away_from_zero<F: Lane>(net_a: F) -> F {
    let w = net_a.width();
    let tiny = w.splat(1e-12);
    F::select(net_a.magnitude().lt(tiny), F::select(net_a.lt(w.splat(0.0)), -tiny, tiny), net_a)
}
