//! How a phase goes on, and what may end it.

use crate::numbers::lane::Lane;

/// How a phase goes on.
#[derive(Clone, Copy)]
pub(super) struct Course<F: Lane> {
    pub(super) hours: F,
    pub(super) mean_v: F,
    pub(super) first_v: F,
    pub(super) last_v: F,
    pub(super) to_share: F,
    pub(super) charged_ah: F,
    pub(super) square_a2h: F,
    pub(super) surface_wh: F,
    pub(super) leaked_ah: F,
    pub(super) to_at_hand: F,
    pub(super) exchanged_ah: F,
    pub(super) resistance_ohm: F,
    pub(super) gain: F,
    /// 1 where the battery feels the transmitting.
    pub(super) spread: F,
    pub(super) served_share: F,
}

/// What may end a phase besides the bus.
pub(super) struct Ahead<F: Lane> {
    pub(super) most_h: F,
    pub(super) stop_share: F,
    pub(super) empty_share: F,
    pub(super) self_discharge_a: F,
}

impl<F: Lane> Course<F> {
    /// A steady current at these mean volts, the surface in the middle at `surface_v`, which swings by
    /// so much either way; of a battery without a second well.
    #[inline(always)]
    pub(super) fn steady(
        (charge_a, mean_v): (F, F),
        (surface_v, swing_v): (F, F),
        to_share: F,
        leak_a: F,
        hours: F,
    ) -> Self {
        let (zero, one) = (hours.like(0.0), hours.like(1.0));
        let charged_ah = charge_a * hours;
        Self {
            hours,
            mean_v,
            first_v: mean_v - swing_v,
            last_v: mean_v + swing_v,
            to_share,
            charged_ah,
            square_a2h: charge_a * charged_ah,
            surface_wh: surface_v * charged_ah,
            leaked_ah: leak_a * hours,
            to_at_hand: to_share,
            exchanged_ah: zero,
            resistance_ohm: zero,
            gain: one,
            spread: one,
            served_share: one,
        }
    }

    /// The same with level volts where a source holds them.
    #[inline(always)]
    pub(super) fn level_where(self, held: F::Mask) -> Self {
        Self {
            first_v: F::select(held, self.mean_v, self.first_v),
            last_v: F::select(held, self.mean_v, self.last_v),
            ..self
        }
    }

    #[inline(always)]
    pub(super) fn where_else(&self, mask: F::Mask, other: &Self) -> Self {
        Self {
            hours: F::select(mask, self.hours, other.hours),
            mean_v: F::select(mask, self.mean_v, other.mean_v),
            first_v: F::select(mask, self.first_v, other.first_v),
            last_v: F::select(mask, self.last_v, other.last_v),
            to_share: F::select(mask, self.to_share, other.to_share),
            charged_ah: F::select(mask, self.charged_ah, other.charged_ah),
            square_a2h: F::select(mask, self.square_a2h, other.square_a2h),
            surface_wh: F::select(mask, self.surface_wh, other.surface_wh),
            leaked_ah: F::select(mask, self.leaked_ah, other.leaked_ah),
            to_at_hand: F::select(mask, self.to_at_hand, other.to_at_hand),
            exchanged_ah: F::select(mask, self.exchanged_ah, other.exchanged_ah),
            resistance_ohm: F::select(mask, self.resistance_ohm, other.resistance_ohm),
            gain: F::select(mask, self.gain, other.gain),
            spread: F::select(mask, self.spread, other.spread),
            served_share: F::select(mask, self.served_share, other.served_share),
        }
    }
}
