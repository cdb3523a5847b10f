//! 3.3 The bus in one instant: what sources at their limit and loads come to, and the volts at which
//! the battery takes it.

use super::demand::Demand;
use super::offers::Offer;
use crate::numbers::lane::{Lane, Mask, Width};

/// Sources at their limit and loads: `current + per_v V + power / V`.
#[derive(Clone, Copy)]
pub(super) struct Sum<F> {
    pub(super) current_a: F,
    pub(super) per_v_a: F,
    pub(super) power_w: F,
    /// Whether there is a part that goes with the volts.
    pub(super) curved: bool,
}

impl<F: Lane> Sum<F> {
    /// The lowest volts from `low_v` on at which nothing is left: `G V^2 + C V + W = 0`; without
    /// end when there are none.
    #[inline(always)]
    pub(super) fn zero_above(&self, low_v: F) -> F {
        let w = low_v.width();
        let zero = w.splat(0.0);
        let Self { current_a, per_v_a, power_w, .. } = *self;
        let square = current_a * current_a - w.splat(4.0) * per_v_a * power_w;
        let root_a = square.most(zero).sqrt();
        let signed_a = F::select(current_a.lt(zero), -root_a, root_a);
        let half_a = (current_a + signed_a) * w.splat(-0.5);
        let forever = w.splat(f64::INFINITY);
        let (near_v, far_v) = (power_w / half_a, half_a / per_v_a);
        let near_v = F::select(near_v.ge(low_v).and(square.ge(zero)), near_v, forever);
        near_v.least(F::select(far_v.ge(low_v).and(square.ge(zero)), far_v, forever))
    }

    #[inline(always)]
    pub(super) fn at(&self, volts: F) -> F {
        let steady_a =
            if self.curved { self.current_a + self.per_v_a * volts } else { self.current_a };
        steady_a + self.power_w / volts
    }
}

/// The sum with each source on the branch that holds at `volts`.
#[inline(always)]
pub(super) fn sum_at<F: Lane>(sources: &[Offer<F>], demand: &Demand<F>, volts: F) -> Sum<F> {
    let w = volts.width();
    sum_with(sources, demand, volts, w.all(false))
}

/// The same, sources that hold a set point at their limit too where the mask says so.
#[inline(always)]
pub(super) fn sum_with<F: Lane>(
    sources: &[Offer<F>],
    demand: &Demand<F>,
    volts: F,
    holders_too: F::Mask,
) -> Sum<F> {
    let w = volts.width();
    let zero = w.splat(0.0);
    let mut sum = Sum {
        current_a: zero - demand.current_a,
        per_v_a: zero,
        power_w: zero - demand.power_w,
        curved: false,
    };
    for offer in sources {
        let gives = offer.live.and(offer.full.or(holders_too.and(offer.off.not())));
        // It would add zeros.
        if !gives.any() {
            continue;
        }
        let branch = offer.branch_at(volts);
        sum.current_a = sum.current_a + F::select(gives, branch.current_a, zero);
        if offer.shape.is_some() {
            sum.curved = true;
            sum.per_v_a = sum.per_v_a + F::select(gives, branch.per_v_a, zero);
        }
        if !offer.weatherless {
            sum.power_w = sum.power_w + F::select(gives, branch.power_w, zero);
        }
    }
    sum
}

/// Volts and charging current of the bus, or that there are none.
#[derive(Clone, Copy)]
pub(super) struct Solved<F: Lane> {
    pub(super) charge_a: F,
    pub(super) mean_v: F,
    pub(super) none: F::Mask,
}

/// The upper root of `V = base + per_amp (C + G V + W / V)`; none when the loads ask for more than
/// can pass.
#[inline(always)]
pub(super) fn root<F: Lane>(sum: Sum<F>, base_v: F, per_amp_v: F) -> Solved<F> {
    let w = base_v.width();
    let zero = w.splat(0.0);
    let mut straight = base_v + per_amp_v * sum.current_a;
    let mut pull = per_amp_v * sum.power_w;
    if sum.curved {
        // Panels give less as the volts rise: G <= 0, and this is one or more.
        let stiff = w.splat(1.0) - per_amp_v * sum.per_v_a;
        straight = straight / stiff;
        pull = pull / stiff;
    }
    let square = straight * straight + w.splat(4.0) * pull;
    let volts = (straight + square.most(zero).sqrt()) * w.splat(0.5);
    let mean_v = volts.most(w.splat(1e-3));
    Solved { charge_a: sum.at(mean_v), mean_v, none: square.lt(zero).or(volts.le(zero)) }
}

/// Whether a source is on another branch at one of two volts than at the other.
#[inline(always)]
pub(super) fn other_limits<F: Lane>(sources: &[Offer<F>], volts: F, other_v: F) -> F::Mask {
    let w = volts.width();
    let mut differ = w.all(false);
    for offer in sources {
        // Without weather and without a curve there is one branch.
        if offer.weatherless {
            continue;
        }
        let gives = offer.live.and(offer.off.not());
        let (here, there) = (offer.branch_at(volts), offer.branch_at(other_v));
        let differs = here
            .current_a
            .lt(there.current_a)
            .or(there.current_a.lt(here.current_a))
            .or(here.power_w.lt(there.power_w))
            .or(there.power_w.lt(here.power_w));
        differ = differ.or(gives.and(differs));
    }
    differ
}
