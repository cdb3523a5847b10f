//! What a station remembers from one slice to the next, for one trial or many.

use crate::numbers::lane::Lane;
use crate::plan::{MOST_SOURCES, Plan, TemperaturePlan};

/// What a station remembers.
#[derive(Debug, Clone, Copy)]
pub struct State<F: Lane> {
    /// Charge, share of rated, aged capacity.
    pub charge: F,
    /// Whether a source is in bulk.
    pub bulk: [F::Mask; MOST_SOURCES],
    /// Whether a source had something to give.
    pub had: [F::Mask; MOST_SOURCES],
    /// Whether the loads are disconnected.
    pub open: F::Mask,
    /// Whether the battery gives nothing at all, not even what controllers draw: its board is open
    /// or it is empty. Ends when a source comes back.
    pub flat: F::Mask,
    /// How long they stay so at the least, h.
    pub open_left_h: F,
    /// How many rungs down the ladder devices have dropped out.
    pub level: F,
    /// How long until they try again, h.
    pub retry_left_h: F,
    /// Whether a top-up is running.
    pub topping: F::Mask,
    /// Fill of the well at hand of a lead-acid battery; otherwise the charge.
    pub at_hand: F,
    /// Whether the engine runs.
    pub engine: F::Mask,
    /// Fuel in its tank, litres.
    pub tank_l: F,
    /// Fuel in cans, litres.
    pub cans_l: F,
    /// How long it still stands to be refilled, h.
    pub refill_left_h: F,
    /// Whether it is to run again after refilling.
    pub refilling: F::Mask,
    /// Tier by the charge, the fullest being 0.
    pub tier: F,
    /// Battery temperature, deg C.
    pub battery_c: F,
    /// Whether cold forbids charging.
    pub too_cold: F::Mask,
}

impl<F: Lane> State<F> {
    /// At rest, latches closed, top tier, chargers in bulk.
    #[must_use]
    pub fn at_start(plan: &Plan) -> Self {
        let first_c = match plan.temperature {
            TemperaturePlan::Fixed(battery_c) => battery_c,
            TemperaturePlan::Follows { first_c, .. } => first_c,
        };
        let too_cold = plan.battery.charge_inhibit_c.is_some_and(|(below_c, _)| first_c < below_c);
        Self {
            charge: F::splat(plan.start_charge_share),
            bulk: [F::all(true); MOST_SOURCES],
            had: [F::all(true); MOST_SOURCES],
            open: F::all(false),
            flat: F::all(false),
            open_left_h: F::splat(0.0),
            level: F::splat(0.0),
            retry_left_h: F::splat(0.0),
            topping: F::all(false),
            at_hand: F::splat(plan.start_charge_share),
            engine: F::all(false),
            tank_l: F::splat(plan.engine.map_or(0.0, |engine| engine.tank_l)),
            cans_l: F::splat(plan.engine.map_or(0.0, |engine| engine.fuel_l - engine.tank_l)),
            refill_left_h: F::splat(0.0),
            refilling: F::all(false),
            tier: F::splat(0.0),
            battery_c: F::splat(first_c),
            too_cold: F::all(too_cold),
        }
    }
}

/// The tier in force: that of the charge, or the fullest that is allowed without mains.
#[allow(clippy::cast_precision_loss)]
#[inline(always)]
pub fn tier_in_force<F: Lane>(plan: &Plan, state: &State<F>, grid: F::Mask) -> F {
    let without_mains = F::splat(plan.tiers.without_mains as f64);
    state.tier.most(F::select(grid, F::splat(0.0), without_mains))
}
