//! The book of trials: only what an [`Outcome`] needs, for one trial or many side by side.
//!
//! What the single run adds up group by group is added here by drop stage, from the same terms, so the
//! two agree to rounding; charges agree to the bit, for the step is the same.

use super::outcome::{Cause, Outcome};
use super::prepare::Prepared;
use super::terms::{InForce, Terms};
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::{Plan, Rule, Slice, SourceKind};
use crate::simulate::origin::{Mix, ORIGINS, carried_by_engine};
use crate::simulate::phase::{Book, Phase};
use crate::simulate::state::{State, tier_in_force};
use crate::simulate::step::Inputs;

/// A dark moment shorter than this is rounding, h: the end of a day that empties the battery
/// exactly.
const MOMENT_H: f64 = 1e-6;
/// Energy below this is rounding, Wh: results count whole micro-watt-hours.
const LEAST_WH: f64 = 1e-6;
/// Charge at which a station counts as charged again (judgement: what is left comes slowly).
pub const CHARGED_SHARE: f64 = 0.95;
/// A battery above this is not low (judgement).
const NOT_LOW_SHARE: f64 = 0.2;
/// Cold that locks less than this share of the capacity is no cause.
const LOCKED_SHARE: f64 = 0.05;
/// Hours before the first hour without power in which cold counts.
const COLD_COUNTS_H: f64 = 24.0;
/// Fuel below this is none, litres.
const DRY_L: f64 = 1e-3;

/// The book of the span.
pub(super) struct LightBook<'a, F: Lane> {
    terms: &'a Terms,
    /// Nothing counts but when it was first off the air.
    only_off_air: bool,
    in_force: InForce<F>,
    mix: Mix<F>,
    /// Since the span's beginning, h.
    elapsed_h: F,
    no_power_h: F,
    /// Off the air other than while transmitting.
    off_at_rest_h: F,
    first_off_air_h: F,
    unserved_wh: F,
    served_wh: F,
    shed_wh: F,
    fuel_l: F,
    plug_wh: F,
    noise_h: F,
    plugged_in_storm_h: F,
    origin_wh: [F; ORIGINS],
    lowest: F,
    lowest_before: F,
    lowest_at_h: F,
    start: F,
    tier_h: Vec<F>,
    /// Of them without power.
    no_power_tier_h: Vec<F>,
    /// Hours without power before the step under way.
    no_power_before_h: F,
    /// The tier in force as the last step ended.
    last_tier: F,
    day_unserved_wh: F,
    days_with_loss: F,
    charges: Vec<F>,
    // Why it failed.
    cold_at_h: F,
    told: F::Mask,
    fuel: F::Mask,
    cold: F::Mask,
    not_low: F::Mask,
    // Charged again.
    grid_was: F::Mask,
    back_h: F,
    recharged_h: F,
}

#[inline(always)]
fn at_volts<F: Lane>(terms: [F; 3], volts: F) -> F {
    terms[0] + terms[1] / volts + terms[2] / (volts * volts)
}

#[inline(always)]
fn pick<M: Mask>(mask: M, yes: M, no: M) -> M {
    mask.and(yes).or(mask.not().and(no))
}

impl<'a, F: Lane> LightBook<'a, F> {
    /// An empty book, of nothing but when it was first off the air if that is all that is wanted.
    #[inline(always)]
    pub(super) fn new(
        w: F::Width,
        terms: &'a Terms,
        plan: &Plan,
        steps: usize,
        only_off_air: bool,
    ) -> Self {
        let zero = w.splat(0.0);
        let no = w.all(false);
        let never = w.splat(f64::INFINITY);
        Self {
            terms,
            only_off_air,
            in_force: InForce::unknown(w),
            mix: Mix::stored_before(w),
            elapsed_h: zero,
            no_power_h: zero,
            off_at_rest_h: zero,
            first_off_air_h: never,
            unserved_wh: zero,
            served_wh: zero,
            shed_wh: zero,
            fuel_l: zero,
            plug_wh: zero,
            noise_h: zero,
            plugged_in_storm_h: zero,
            origin_wh: [zero; ORIGINS],
            lowest: zero,
            lowest_before: zero,
            lowest_at_h: zero,
            start: zero,
            tier_h: vec![zero; plan.heads.tiers_on_air.len()],
            no_power_tier_h: vec![zero; plan.heads.tiers_on_air.len()],
            no_power_before_h: zero,
            last_tier: zero,
            day_unserved_wh: zero,
            days_with_loss: zero,
            charges: Vec::with_capacity(steps),
            cold_at_h: w.splat(f64::NEG_INFINITY),
            told: no,
            fuel: no,
            cold: no,
            not_low: no,
            grid_was: w.all(true),
            back_h: never,
            recharged_h: never,
        }
    }

    /// Hours so far without an essential load.
    #[inline(always)]
    pub(super) fn no_power_h(&self) -> F {
        self.no_power_h
    }

    /// The span begins.
    #[inline(always)]
    pub(super) fn begin_span(&mut self, state: &State<F>) {
        let w = state.charge.width();
        self.lowest = state.charge;
        self.lowest_before = state.charge;
        self.start = state.charge;
        self.cold_at_h = F::select(state.too_cold, w.splat(0.0), self.cold_at_h);
    }

    /// Before a slice of the span or after it: whether the mains has come back. An outage that
    /// begins after the span does not count.
    #[inline(always)]
    pub(super) fn see_grid(&mut self, grid: F::Mask, now_h: F, in_span: bool) {
        let w = now_h.width();
        let comes_back = grid.and(self.grid_was.not());
        let goes = if in_span { grid.not().and(self.grid_was) } else { w.all(false) };
        let never = w.splat(f64::INFINITY);
        self.back_h = F::select(comes_back, now_h, F::select(goes, never, self.back_h));
        self.recharged_h = F::select(comes_back.or(goes), never, self.recharged_h);
        self.grid_was = self.grid_was.and(goes.not()).or(comes_back);
    }

    /// A step is over, in the span or after it: whether it is charged again.
    #[inline(always)]
    pub(super) fn see_charge(&mut self, state: &State<F>, now_h: f64) {
        let w = state.charge.width();
        let never = w.splat(f64::INFINITY);
        let now = w.splat(now_h);
        let waits = self.back_h.lt(never).and(now.lt(self.recharged_h));
        let full = state.charge.ge(w.splat(CHARGED_SHARE));
        self.recharged_h = F::select(waits.and(full), now - self.back_h, self.recharged_h);
        // Once it is charged again the rest of the wait does not matter.
        self.back_h = F::select(waits.and(full), never, self.back_h);
    }

    /// A step of the span begins.
    #[inline(always)]
    pub(super) fn begin_step(&mut self, now_h: f64) {
        let w = self.elapsed_h.width();
        self.elapsed_h = w.splat(now_h);
    }

    /// A slice of the span is over: what the state says about why it lost power.
    #[inline(always)]
    pub(super) fn end_slice(
        &mut self,
        plan: &Plan,
        inputs: &Inputs<F>,
        state: &State<F>,
        now_h: F,
    ) {
        if self.only_off_air {
            return;
        }
        let w = now_h.width();
        self.cold_at_h = F::select(state.too_cold, now_h, self.cold_at_h);
        let went_off = self.first_off_air_h.lt(w.splat(f64::INFINITY)).and(self.told.not());
        if !went_off.any() {
            return;
        }
        self.told = self.told.or(went_off);
        let recently = (now_h - w.splat(COLD_COUNTS_H)).le(self.cold_at_h);
        let locked = plan.battery.empty_share(state.battery_c);
        let holds = w.splat(LOCKED_SHARE).lt(locked).and(w.splat(LOCKED_SHARE).lt(state.charge));
        self.cold = pick(went_off, recently.or(holds), self.cold);
        self.not_low = pick(went_off, w.splat(NOT_LOW_SHARE).lt(state.charge), self.not_low);
        if let Some(engine) = plan.engine {
            let wanted = state.charge.lt(w.splat(engine.start_below_share));
            let dry = (state.tank_l + state.cans_l).le(w.splat(DRY_L));
            let fails = dry.or(inputs.engine_starts.not());
            let fuel = wanted.and(fails).and(inputs.grid.not()).and(state.engine.not());
            self.fuel = pick(went_off, fuel, self.fuel);
        }
    }

    /// A slice of the span is over, `storm_h` of it in a storm: whether the supply was switched on.
    #[inline(always)]
    pub(super) fn see_plug(
        &mut self,
        plan: &Plan,
        slice: &Slice,
        inputs: &Inputs<F>,
        state: &State<F>,
        storm_h: F,
    ) {
        let w = storm_h.width();
        let Some(supply) = plan.supply else { return };
        let by_rule = match slice.rule {
            Rule::Off => w.all(false),
            Rule::On => w.all(true),
            Rule::TopUp { .. } => state.topping,
        };
        let plugged = by_rule.or(inputs.warned).or(w.all(supply.rule_switches_charger));
        let hours = F::select(plugged, storm_h, w.splat(0.0));
        self.plugged_in_storm_h = self.plugged_in_storm_h + hours;
    }

    /// A step of the span is over; `grid` in its last slice.
    #[inline(always)]
    pub(super) fn end_step(
        &mut self,
        plan: &Plan,
        state: &State<F>,
        grid: F::Mask,
        (now_h, step_h): (f64, f64),
        day_ends: bool,
    ) {
        let w = state.charge.width();
        let tier = tier_in_force(plan, state, grid);
        let zero = w.splat(0.0);
        let no_power_h = self.no_power_h - self.no_power_before_h;
        self.no_power_before_h = self.no_power_h;
        self.last_tier = tier;
        let both = self.tier_h.iter_mut().zip(&mut self.no_power_tier_h);
        for (at, (hours, without_h)) in both.enumerate() {
            #[allow(clippy::cast_precision_loss)]
            let here = w.splat(at as f64);
            let in_force = tier.le(here).and(here.le(tier));
            let step_h = F::select(in_force, w.splat(step_h), zero);
            *hours = *hours + step_h;
            *without_h = *without_h + F::select(in_force, no_power_h, zero);
            // A tier in which nobody sends: off the air, if not dark.
            if !plan.heads.tiers_on_air[at] {
                let began = w.splat(now_h) - step_h;
                let first = in_force.and(began.lt(self.first_off_air_h));
                self.first_off_air_h = F::select(first, began, self.first_off_air_h);
                self.off_at_rest_h = self.off_at_rest_h + step_h;
            }
        }
        self.charges.push(state.charge);
        let lower = self.lowest.lt(self.lowest_before);
        self.lowest_at_h = F::select(lower, w.splat(now_h), self.lowest_at_h);
        self.lowest_before = self.lowest;
        if day_ends {
            let lost = w.splat(LEAST_WH).lt(self.day_unserved_wh);
            self.days_with_loss = self.days_with_loss + F::select(lost, w.splat(1.0), w.splat(0.0));
            self.day_unserved_wh = w.splat(0.0);
        }
    }

    /// Whether every lane has been off the air.
    #[inline(always)]
    pub(super) fn all_off_air(&self) -> bool {
        let w = self.first_off_air_h.width();
        !w.splat(f64::INFINITY).le(self.first_off_air_h).any()
    }

    /// When a lane was first off the air, h since the span's beginning; infinite if never.
    #[inline(always)]
    pub(super) fn first_off_air_h(&self, lane: usize) -> f64 {
        self.first_off_air_h.lane(lane)
    }

    /// Writes down the outcome of one lane.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub(super) fn tell(&self, prepared: &Prepared, lane: usize, trial: u64, into: &mut Outcome) {
        let of = |value: F| value.lane(lane);
        let holds = |mask: F::Mask| mask.lane(lane);
        let known = |value: F| Some(of(value)).filter(|hours| hours.is_finite());
        into.trial = trial;
        into.no_power_h = of(self.no_power_h);
        into.days_with_loss = of(self.days_with_loss) as u32;
        into.unserved_wh = of(self.unserved_wh);
        into.served_wh = of(self.served_wh);
        into.load_wh = into.served_wh + into.unserved_wh;
        into.shed_wh = of(self.shed_wh);
        into.first_off_air_h = known(self.first_off_air_h);
        into.lowest_charge_share = of(self.lowest);
        into.lowest_at_h = of(self.lowest_at_h);
        into.start_charge_share = of(self.start);
        into.end_charge_share = self.charges.last().map_or(of(self.start), |charge| of(*charge));
        into.tier_h.clear();
        into.tier_h.extend(self.tier_h.iter().map(|hours| of(*hours)));
        into.no_power_tier_h.clear();
        into.no_power_tier_h.extend(self.no_power_tier_h.iter().map(|hours| of(*hours)));
        into.origin_wh = self.origin_wh.map(of);
        into.fuel_l = of(self.fuel_l);
        into.mains_plug_wh = of(self.plug_wh);
        into.noise_h = of(self.noise_h);
        into.plugged_in_storm_h = of(self.plugged_in_storm_h);
        into.recharge_h = known(self.recharged_h);
        into.charge_share.clear();
        into.charge_share.extend(self.charges.iter().map(|charge| of(*charge)));
        into.cause = into.first_off_air_h.map(|_| {
            if holds(self.fuel) {
                Cause::Fuel
            } else if holds(self.cold) {
                Cause::Cold
            } else if of(self.off_at_rest_h) < MOMENT_H && holds(self.not_low) {
                Cause::Keying
            } else if into.start_charge_share < prepared.low_start_share {
                Cause::LowAtStart
            } else {
                Cause::DarkRun
            }
        });
    }
}

/// How long a trial was off the air so far, h.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct OffAir {
    no_power_h: f64,
    at_rest_h: f64,
    first_h: f64,
}

impl OffAir {
    /// Whether there is more of it than there was.
    pub(super) fn is_more_than(&self, before: &Self) -> bool {
        self.no_power_h > before.no_power_h || self.at_rest_h > before.at_rest_h
    }
}

/// What a club does between the steps of one trial.
impl LightBook<'_, f64> {
    /// What the charge in the battery came from goes along with a pack.
    pub(super) fn exchange_mix(&mut self, mix: &mut Mix<f64>) {
        std::mem::swap(&mut self.mix, mix);
    }

    pub(super) fn off_air(&self) -> OffAir {
        OffAir {
            no_power_h: self.no_power_h,
            at_rest_h: self.off_at_rest_h,
            first_h: self.first_off_air_h,
        }
    }

    /// The first minutes of a step that is over, in which packs were swapped, do not count as off the
    /// air; what was not served in them stays so. Gives how long they were dark, h.
    pub(super) fn excuse(&mut self, before: OffAir, began_h: f64, handover_h: f64) -> f64 {
        let no_power_h = self.no_power_h - before.no_power_h;
        let excused_h = no_power_h.min(handover_h);
        if excused_h < MOMENT_H {
            return 0.0;
        }
        let left_h = no_power_h - excused_h;
        let told_h = self.no_power_h;
        self.no_power_h =
            if left_h < MOMENT_H { before.no_power_h } else { before.no_power_h + left_h };
        self.no_power_before_h = self.no_power_h;
        let last_tier = self.last_tier;
        for (at, without_h) in self.no_power_tier_h.iter_mut().enumerate() {
            #[allow(clippy::cast_precision_loss)]
            let here = at as f64;
            if last_tier <= here && here <= last_tier {
                *without_h = (*without_h - (told_h - self.no_power_h)).max(0.0);
            }
        }
        self.off_at_rest_h = (self.off_at_rest_h - excused_h).max(before.at_rest_h);
        if before.first_h.is_infinite() {
            let later = left_h >= MOMENT_H || self.off_at_rest_h > before.at_rest_h + MOMENT_H;
            self.first_off_air_h = if later { began_h + excused_h } else { f64::INFINITY };
            self.told = self.told && later;
        }
        excused_h
    }
}

impl<F: Lane> Book<F> for LightBook<'_, F> {
    #[allow(clippy::needless_range_loop)] // closures are not inlined into lanes
    #[inline(always)]
    fn phase(&mut self, plan: &Plan, _slice: &Slice, phase: &Phase<F>) {
        let w = phase.hours.width();
        let (zero, one) = (w.splat(0.0), w.splat(1.0));
        let hours = phase.hours;
        let runs = zero.lt(hours);
        let volts = F::select(runs, phase.mean_v, one);
        let served_share = F::select(runs, phase.served_share, one);
        self.in_force.take(self.terms, phase.rung, phase.profile);
        if !self.only_off_air {
            self.energy(plan, phase, volts, served_share);
        }

        // Time.
        let now = &self.in_force;
        let fails = served_share.lt(one).and(w.splat(0.5).lt(now.essential));
        let dark_share = F::select(fails, one, now.dark_share);
        let no_power_h = dark_share * hours;
        let dark = w.splat(MOMENT_H).lt(no_power_h);
        self.no_power_h = self.no_power_h + F::select(dark, no_power_h, zero);
        let at_rest = dark.and(one.le(dark_share));
        self.off_at_rest_h = self.off_at_rest_h + F::select(at_rest, no_power_h, zero);
        let first = dark.and(self.elapsed_h.lt(self.first_off_air_h));
        self.first_off_air_h = F::select(first, self.elapsed_h, self.first_off_air_h);
        self.elapsed_h = self.elapsed_h + hours;
        self.lowest = F::select(runs, self.lowest.least(phase.to_share), self.lowest);
    }
}

impl<F: Lane> LightBook<'_, F> {
    /// Energy, by origin, and fuel of one phase.
    #[inline(always)]
    fn energy(&mut self, plan: &Plan, phase: &Phase<F>, volts: F, served_share: F) {
        let w = phase.hours.width();
        let (zero, one) = (w.splat(0.0), w.splat(1.0));
        let hours = phase.hours;
        let runs = zero.lt(hours);
        let now = &self.in_force;

        // Loads on the battery, and those that the supply carries.
        let felt = phase.spread * w.splat(plan.battery.resistance_ohm);
        let bus_w = now.current_a * volts + now.power_w
            - F::select(runs, felt, zero) * at_volts(now.covariance, volts);
        let bus_wh = bus_w * hours;
        let full_wh = bus_wh - at_volts(now.wiring_w, volts) * hours;
        let served_wh = full_wh * served_share;
        let unserved_wh = now.unserved_w * hours + full_wh * (one - served_share);
        let own_wh = F::select(runs, (phase.standby_w + phase.heater_w) * hours, zero);
        let carried_wh = now.carried_w * hours;
        self.served_wh = self.served_wh + served_wh + carried_wh;
        self.unserved_wh = self.unserved_wh + unserved_wh;
        self.day_unserved_wh = self.day_unserved_wh + unserved_wh;
        self.shed_wh = self.shed_wh + now.shed_w * hours;

        // Origins.
        let load_wh = bus_wh * served_share + own_wh;
        let parts_wh = self.mix.take(plan, phase, volts, served_wh, load_wh);
        for (sum, part_wh) in self.origin_wh.iter_mut().zip(parts_wh) {
            *sum = *sum + part_wh;
        }
        let by_engine = carried_by_engine(phase);
        self.origin_wh[1] = self.origin_wh[1] + F::select(by_engine, zero, carried_wh);
        self.origin_wh[2] = self.origin_wh[2] + F::select(by_engine, carried_wh, zero);
        if let Some(supply) = plan.supply {
            let given_wh = now.carried_bus_w * hours + phase.used_wh[supply.source];
            let plug_wh = given_wh * w.splat(1.0 / supply.efficiency_share)
                + w.splat(supply.no_load_w) * hours;
            let on = phase.grid_supply.and(runs);
            self.plug_wh = self.plug_wh + F::select(on, plug_wh, zero);
        }
        self.fuel_l = self.fuel_l + F::select(runs, phase.fuel_l, zero);
        let mut noisy = phase.grid_supply.or(phase.engine);
        for (at, source) in plan.sources.iter().enumerate() {
            if let SourceKind::Vehicle { idle_l_h } = source.kind {
                let live = runs.and(zero.lt(phase.offered_w[at]));
                self.fuel_l = self.fuel_l + F::select(live, w.splat(idle_l_h) * hours, zero);
                noisy = noisy.or(live);
            }
        }
        self.noise_h = self.noise_h + F::select(noisy.and(runs), hours, zero);
    }
}
