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
    /// 1 where the battery feels the keying.
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
        let pick = |yes: F, no: F| F::select(mask, yes, no);
        Self {
            hours: pick(self.hours, other.hours),
            mean_v: pick(self.mean_v, other.mean_v),
            first_v: pick(self.first_v, other.first_v),
            last_v: pick(self.last_v, other.last_v),
            to_share: pick(self.to_share, other.to_share),
            charged_ah: pick(self.charged_ah, other.charged_ah),
            square_a2h: pick(self.square_a2h, other.square_a2h),
            surface_wh: pick(self.surface_wh, other.surface_wh),
            leaked_ah: pick(self.leaked_ah, other.leaked_ah),
            to_at_hand: pick(self.to_at_hand, other.to_at_hand),
            exchanged_ah: pick(self.exchanged_ah, other.exchanged_ah),
            resistance_ohm: pick(self.resistance_ohm, other.resistance_ohm),
            gain: pick(self.gain, other.gain),
            spread: pick(self.spread, other.spread),
            served_share: pick(self.served_share, other.served_share),
        }
    }
}
