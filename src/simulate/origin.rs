//! Where served energy came from, for one trial or many.
//!
//! What sources give at a moment serves the loads first and equally; what the battery gives is a
//! mix, drawn in proportion. What is in the battery when the span begins counts as stored before,
//! whatever it came from. Trust: a convention, exact in its sums.

use super::phase::Phase;
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::{MOST_SOURCES, Plan};
use crate::station::heads::Origin;

/// Sun, mains, generator, vehicle, stored before.
pub const ORIGINS: usize = 5;

/// What the charge in the battery came from, shares.
#[derive(Debug, Clone, Copy)]
pub struct Mix<F: Lane>([F; ORIGINS]);

fn place_of(origin: Origin) -> usize {
    match origin {
        Origin::Sun => 0,
        Origin::Mains => 1,
        Origin::Generator => 2,
        Origin::Vehicle => 3,
    }
}

/// Whether the generator, not the mains, stands behind what the supply carries.
#[must_use]
#[inline(always)]
pub fn carried_by_engine<F: Lane>(phase: &Phase<F>) -> F::Mask {
    phase.engine_supply.and(phase.grid_supply.not())
}

impl<F: Lane> Mix<F> {
    /// All of it from before.
    #[must_use]
    #[inline(always)]
    pub fn stored_before(w: F::Width) -> Self {
        let mut shares = [w.splat(0.0); ORIGINS];
        shares[ORIGINS - 1] = w.splat(1.0);
        Self(shares)
    }

    /// Energy served on the bus in a phase by its origin, Wh; what goes into the battery is mixed
    /// in. `load_wh` is what the bus bore: loads, their wires, what controllers draw; `mean_v` the
    /// phase's mean volts, or any in lanes that wait.
    #[must_use]
    #[allow(clippy::needless_range_loop)] // closures are not inlined into lanes
    #[inline(always)]
    pub fn take(
        &mut self,
        plan: &Plan,
        phase: &Phase<F>,
        mean_v: F,
        served_wh: F,
        load_wh: F,
    ) -> [F; ORIGINS] {
        let w = served_wh.width();
        let (zero, one) = (w.splat(0.0), w.splat(1.0));
        let mut by_origin = [zero; ORIGINS];
        let mut bus_wh = zero;
        for at in 0..plan.heads.sources.len().min(MOST_SOURCES) {
            let used_wh = phase.used_wh[at];
            let sum = &mut by_origin[place_of(plan.heads.sources[at].origin)];
            *sum = *sum + used_wh;
            bus_wh = bus_wh + used_wh;
        }
        let given = zero.lt(bus_wh);
        let over = F::select(given, bus_wh, one);
        let mut direct = [zero; ORIGINS];
        for at in 0..ORIGINS {
            direct[at] = F::select(given, by_origin[at] / over, zero);
        }
        let from_battery_wh = (-mean_v * phase.charged_ah).most(zero);
        let loaded = zero.lt(load_wh);
        let stored_part =
            F::select(loaded, (from_battery_wh / F::select(loaded, load_wh, one)).least(one), zero);
        let mut parts_wh = [zero; ORIGINS];
        for at in 0..ORIGINS {
            parts_wh[at] =
                served_wh * ((one - stored_part) * direct[at] + stored_part * self.0[at]);
        }
        let gained = phase.to_share - phase.from_share;
        let fills = zero.lt(gained).and(given);
        let to_share = F::select(fills, phase.to_share, one);
        for at in 0..ORIGINS {
            let mixed = (self.0[at] * phase.from_share + direct[at] * gained) / to_share;
            self.0[at] = F::select(fills, mixed, self.0[at]);
        }
        parts_wh
    }
}
