//! What a station remembers from one slice to the next, for one trial or many.

use crate::numbers::lane::{Lane, Mask, Places, Width};
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
    /// Whether the battery gives nothing at all, not even what controllers draw: its BMS is open
    /// or it is empty. Ends when a source comes back.
    pub flat: F::Mask,
    /// What opened them last: one of the codes of [`super::causes`]; 0 before that.
    pub opened_by: F,
    /// Charge at which it did.
    pub opened_at_share: F,
    /// How long they stay so at least, h.
    pub open_left_h: F,
    /// How many drop stages down the drop sequence devices have dropped out.
    pub level: F,
    /// How long until they try again, h.
    pub retry_left_h: F,
    /// Whether a top-up is running.
    pub topping: F::Mask,
    /// Fill of the well at hand of a lead-acid battery; otherwise the charge.
    pub at_hand: F,
    /// Whether the generator runs.
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
    /// What the loads ask for, as it was looked up last.
    pub terms: Terms<F>,
}

/// Entries of the tables of a plan for the profile and the drop stage in force: looked up only when one of
/// them changes.
#[derive(Debug, Clone, Copy)]
pub struct Terms<F: Lane> {
    /// Profile in force; -1 before the first look.
    pub profile: F,
    /// Drop stage in force; -1 before the first look.
    pub rung: F,
    /// First drop stage of the profile.
    pub first_rung: F,
    /// Its last: everything off.
    pub open_rung: F,
    /// Current that the supply has left for charging, A.
    pub charging_left_a: F,
    /// Power that the supply gives to the groups it carries, W.
    pub carried_w: F,
    /// Constant current of the drop stage, A.
    pub current_a: F,
    /// Constant power of the drop stage, W.
    pub power_w: F,
    /// Volts at which the next drop stage is reached, V.
    pub next_below_v: F,
    /// Whether that one is the open latch.
    pub next_opens: F::Mask,
    /// Constant current of the highest state at its peak, A.
    pub peak_current_a: F,
    /// Constant power of that state, W.
    pub peak_power_w: F,
    /// Constant current of the highest state that lasts, A.
    pub lasting_current_a: F,
    /// Constant power of that state, W.
    pub lasting_power_w: F,
}

impl<F: Lane> Terms<F> {
    /// Before the first look.
    #[inline(always)]
    pub(super) fn unknown(w: F::Width) -> Self {
        let zero = w.splat(0.0);
        Self {
            profile: w.splat(-1.0),
            rung: w.splat(-1.0),
            first_rung: zero,
            open_rung: zero,
            charging_left_a: zero,
            carried_w: zero,
            current_a: zero,
            power_w: zero,
            next_below_v: zero,
            next_opens: w.all(false),
            peak_current_a: zero,
            peak_power_w: zero,
            lasting_current_a: zero,
            lasting_power_w: zero,
        }
    }

    /// The terms of a profile, looked up if another one was in force.
    #[inline(always)]
    pub(super) fn take_profile(&mut self, plan: &Plan, profile: F) {
        if !self.profile.differs(profile).any() {
            return;
        }
        let of = &plan.profiles;
        let at = Places::of(profile);
        self.profile = profile;
        self.first_rung = at.look_up(|at| place_of(of[at].first_rung));
        self.open_rung = at.look_up(|at| place_of(of[at].open_rung));
        self.charging_left_a = at.look_up(|at| of[at].charging_left_a);
        self.carried_w = at.look_up(|at| of[at].carried_bus_w);
    }

    /// The terms of a drop stage, looked up if another one was in force.
    #[inline(always)]
    pub(super) fn take_rung(&mut self, plan: &Plan, rung: F) {
        if !self.rung.differs(rung).any() {
            return;
        }
        let of = &plan.rungs;
        let at = Places::of(rung);
        self.rung = rung;
        self.current_a = at.look_up(|at| of[at].current_a);
        self.power_w = at.look_up(|at| of[at].power_w);
        self.next_below_v = at.look_up(|at| of[at].next_below_v);
        let opens = at.look_up(|at| if of[at].next_opens { 1.0 } else { 0.0 });
        self.next_opens = rung.like(0.5).lt(opens);
        self.peak_current_a = at.look_up(|at| of[at].peak_current_a);
        self.peak_power_w = at.look_up(|at| of[at].peak_power_w);
        self.lasting_current_a = at.look_up(|at| of[at].lasting_current_a);
        self.lasting_power_w = at.look_up(|at| of[at].lasting_power_w);
    }
}

/// A place in a table as a number that lanes can hold.
#[allow(clippy::cast_precision_loss)]
#[inline(always)]
pub(super) fn place_of(place: usize) -> f64 {
    place as f64
}

impl<F: Lane> State<F> {
    /// At rest, latches closed, top tier, chargers in bulk.
    #[must_use]
    #[inline(always)]
    pub fn at_start(plan: &Plan, w: F::Width) -> Self {
        let first_c = match plan.temperature {
            TemperaturePlan::Fixed(battery_c) => battery_c,
            TemperaturePlan::Follows { first_c, .. } => first_c,
        };
        let too_cold = plan.battery.charge_inhibit_c.is_some_and(|(below_c, _)| first_c < below_c);
        Self {
            charge: w.splat(plan.start_charge_share),
            bulk: [w.all(true); MOST_SOURCES],
            had: [w.all(true); MOST_SOURCES],
            open: w.all(false),
            flat: w.all(false),
            opened_by: w.splat(0.0),
            opened_at_share: w.splat(0.0),
            open_left_h: w.splat(0.0),
            level: w.splat(0.0),
            retry_left_h: w.splat(0.0),
            topping: w.all(false),
            at_hand: w.splat(plan.start_charge_share),
            engine: w.all(false),
            tank_l: w.splat(plan.engine.map_or(0.0, |engine| engine.tank_l)),
            cans_l: w.splat(plan.engine.map_or(0.0, |engine| engine.fuel_l - engine.tank_l)),
            refill_left_h: w.splat(0.0),
            refilling: w.all(false),
            tier: w.splat(place_of(plan.tiers.first)),
            battery_c: w.splat(first_c),
            too_cold: w.all(too_cold),
            terms: Terms::unknown(w),
        }
    }
}

/// The tier in force: that of the charge, or the fullest that is allowed without mains.
#[allow(clippy::cast_precision_loss)]
#[inline(always)]
pub fn tier_in_force<F: Lane>(plan: &Plan, state: &State<F>, grid: F::Mask) -> F {
    let w = state.tier.width();
    let without_mains = w.splat(plan.tiers.without_mains as f64);
    state.tier.most(F::select(grid, w.splat(0.0), without_mains))
}
