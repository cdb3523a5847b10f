//! 2 and 3.2: what each source has, and the charges between which it holds its set point.

use arrayvec::ArrayVec;

use super::bus::Sum;
use super::demand::{Demand, SupplyNow};
use super::{Inputs, places};
use crate::numbers::lane::{Lane, Mask, Width};
use crate::plan::{Plan, SHAPE_V, Slice, SourceKind};
use crate::simulate::state::State;

/// A supply has no weather: power that its current limit always stays below, W.
pub(super) const WITHOUT_WEATHER_W: f64 = 1e12;

/// A source within the slice.
#[derive(Clone, Copy)]
pub(super) struct Offer<F: Lane> {
    /// Of which source.
    pub(super) place: usize,
    /// A supply: its current limit alone counts.
    pub(super) weatherless: bool,
    /// A switching controller's panels: its limit changes with the volts.
    pub(super) shape: Option<Shape<F>>,
    pub(super) limit_a: F,
    pub(super) power_w: F,
    pub(super) set_v: F,
    pub(super) live: F::Mask,
    /// At its limit, at these volts.
    pub(super) full: F::Mask,
    /// Nothing, at these volts.
    pub(super) off: F::Mask,
    /// In bulk, which a tail current ends.
    pub(super) tails: F::Mask,
}

/// The panels of a switching controller: current at some volts, A, and its change with them.
#[derive(Clone, Copy)]
pub(super) struct Shape<F> {
    current_a: F,
    a_per_v: F,
    at_v: F,
}

impl<F: Lane> Shape<F> {
    #[inline(always)]
    fn current_at(&self, volts: F) -> F {
        self.current_a + self.a_per_v * (volts - self.at_v)
    }
}

/// The charges between which a source holds its set point.
#[derive(Clone, Copy)]
pub(super) struct Threshold<F: Lane> {
    pub(super) full_below: F,
    pub(super) off_above: F,
    /// Lead-acid: holding its set point it gives no more than its tail current.
    pub(super) tail_reached: F::Mask,
    /// Otherwise: charge at which it gives no more than that; without end where that ends nothing.
    pub(super) tail_share: F,
    /// Charging current with the sources at and above it at their limit, A.
    pub(super) with_a: F,
    /// Charging current with the sources above it alone, A.
    pub(super) without_a: F,
}

impl<F: Lane> Threshold<F> {
    /// Before it is placed.
    #[inline(always)]
    pub(super) fn unknown(w: F::Width) -> Self {
        let zero = w.splat(0.0);
        Self {
            full_below: zero,
            off_above: zero,
            tail_reached: w.all(false),
            tail_share: w.splat(f64::INFINITY),
            with_a: zero,
            without_a: zero,
        }
    }
}

/// Those that have something to give, in the order of the sources.
pub(super) type Offers<F, const S: usize> = ArrayVec<Offer<F>, S>;

impl<F: Lane> Offer<F> {
    /// Bulk or float.
    #[inline(always)]
    pub(super) fn tune(&mut self, plan: &Plan, state: &State<F>) {
        (self.set_v, self.tails) = tuned(plan, state, self.place);
    }

    /// Limit of its current at these volts: of a switching controller that of its panels too.
    #[inline(always)]
    pub(super) fn limit_at(&self, volts: F) -> F {
        match &self.shape {
            None => self.limit_a,
            Some(shape) => self.limit_a.least(shape.current_at(volts).most(volts.like(0.0))),
        }
    }

    /// What it gives at its limit near these volts, as `current + per_v V + power / V`.
    #[inline(always)]
    pub(super) fn branch_at(&self, volts: F) -> Sum<F> {
        let zero = volts.like(0.0);
        let limit_a = self.limit_at(volts);
        if self.weatherless {
            return Sum { current_a: limit_a, per_v_a: zero, power_w: zero, curved: false };
        }
        let by_power = self.power_w.lt(limit_a * volts);
        let power_w = F::select(by_power, self.power_w, zero);
        let Some(shape) = &self.shape else {
            let current_a = F::select(by_power, zero, limit_a);
            return Sum { current_a, per_v_a: zero, power_w, curved: false };
        };
        let panels_a = shape.current_at(volts);
        let by_panels = panels_a.lt(self.limit_a).and(zero.lt(panels_a));
        let straight_a = shape.current_a - shape.a_per_v * shape.at_v;
        let current_a = F::select(by_panels, straight_a, limit_a);
        Sum {
            current_a: F::select(by_power, zero, current_a),
            per_v_a: F::select(by_power, zero, F::select(by_panels, shape.a_per_v, zero)),
            power_w,
            curved: true,
        }
    }

    #[inline(always)]
    pub(super) fn current_at(&self, volts: F) -> F {
        let limit_a = self.limit_at(volts);
        if self.weatherless { limit_a } else { limit_a.least(self.power_w / volts) }
    }

    /// The most power that it gives at these volts.
    #[inline(always)]
    pub(super) fn power_at(&self, volts: F) -> F {
        let within_w = self.limit_at(volts) * volts;
        if self.weatherless { within_w } else { within_w.least(self.power_w) }
    }
}

/// 2. A source that comes back, and one whose float has sagged, begins with bulk.
#[inline(always)]
pub(super) fn begin_bulk<F: Lane, const S: usize>(
    plan: &Plan,
    slice: &Slice,
    inputs: &Inputs<F>,
    supply: &SupplyNow<F>,
    state: &mut State<F>,
) {
    let w = state.charge.width();
    let mut comes = w.all(false);
    for place in 0..places::<S>(plan) {
        let Some(source) = plan.sources.get(place) else { break };
        let has = match source.kind {
            SourceKind::Mains => supply.grid_charging,
            SourceKind::Engine => supply.engine,
            SourceKind::Vehicle { .. } => w.all(slice.vehicle),
            SourceKind::Mppt | SourceKind::Pwm { .. } => w.splat(0.0).lt(inputs.available_w[place]),
        };
        let back = has.and(state.had[place].not());
        state.bulk[place] = state.bulk[place].or(back);
        if source.recharge_below_v > 0.0 {
            let rest_v = plan.battery.rest_v(state.at_hand) - w.splat(plan.battery.half_gap_v);
            state.bulk[place] = state.bulk[place].or(rest_v.lt(w.splat(source.recharge_below_v)));
        }
        state.had[place] = has;
        comes = comes.or(has);
    }
    // What comes wakes an empty battery, unless its BMS must be reset by hand.
    if !plan.latch.wakes_by_hand || (slice.looks && slice.attended) {
        state.flat = state.flat.and(comes.not());
    }
}

/// 3.2 What each source has, before it is known what it gives.
#[allow(clippy::needless_range_loop)] // closures are not inlined into lanes
#[inline(always)]
pub(super) fn offers_now<F: Lane, const S: usize>(
    plan: &Plan,
    slice: &Slice,
    inputs: &Inputs<F>,
    state: &State<F>,
    supply: &SupplyNow<F>,
    offers: &mut Offers<F, S>,
) {
    let w = state.charge.width();
    let zero = w.splat(0.0);
    offers.clear();
    let carries = plan.supply.as_ref().is_some_and(|supply| supply.carries_groups);
    for place in 0..places::<S>(plan) {
        let Some(source) = plan.sources.get(place) else { break };
        let own_a = w.splat(source.limit_a);
        let left_a = if carries { state.terms.charging_left_a } else { own_a };
        // One that has nothing in any lane would add zeros.
        let (has, power_w, limit_a, weatherless, shape);
        match source.kind {
            SourceKind::Mains => {
                has = supply.grid_charging;
                (power_w, limit_a) = (w.splat(WITHOUT_WEATHER_W), left_a);
                (weatherless, shape) = (true, None);
            }
            // What it carries is taken off its power too; the limit has regard to that already.
            SourceKind::Engine => {
                has = supply.engine;
                let direct_w = plan.engine.as_ref().map_or(0.0, |engine| engine.direct_w);
                (power_w, limit_a) = (w.splat(direct_w), left_a);
                (weatherless, shape) = (false, None);
            }
            SourceKind::Vehicle { .. } => {
                has = w.all(slice.vehicle);
                (power_w, limit_a) = (w.splat(WITHOUT_WEATHER_W), own_a);
                (weatherless, shape) = (true, None);
            }
            SourceKind::Mppt => {
                has = lit(slice, inputs, place);
                power_w = inputs.available_w[place] * w.splat(source.efficiency_share);
                limit_a = own_a;
                (weatherless, shape) = (false, None);
            }
            SourceKind::Pwm { .. } => {
                has = lit(slice, inputs, place);
                (power_w, limit_a) = (w.splat(WITHOUT_WEATHER_W), own_a);
                weatherless = false;
                shape = Some(Shape {
                    current_a: inputs.shape_a[place],
                    a_per_v: inputs.shape_a_per_v[place],
                    at_v: w.splat(SHAPE_V * plan.battery.nominal_v),
                });
            }
        }
        if !has.any() {
            continue;
        }
        let live = has.and(zero.lt(power_w)).and(zero.lt(limit_a));
        if !live.any() {
            continue;
        }
        let (set_v, tails) = tuned(plan, state, place);
        offers.push(Offer {
            place,
            weatherless,
            shape,
            limit_a,
            power_w,
            set_v,
            live,
            full: live,
            off: live,
            tails,
        });
    }
}

/// Whether the panels of a source have light, unless it is switched off.
#[inline(always)]
fn lit<F: Lane>(slice: &Slice, inputs: &Inputs<F>, place: usize) -> F::Mask {
    let available_w = inputs.available_w[place];
    let w = available_w.width();
    if slice.is_silent(place) { w.all(false) } else { w.splat(0.0).lt(available_w) }
}

/// Set point of a source, in bulk or on float, and whether it is in bulk that a tail current ends.
#[inline(always)]
fn tuned<F: Lane>(plan: &Plan, state: &State<F>, place: usize) -> (F, F::Mask) {
    let w = state.charge.width();
    let source = &plan.sources[place];
    let bulk = state.bulk[place];
    let warmer_k = state.battery_c - w.splat(25.0);
    let set_v = F::select(bulk, w.splat(source.absorption_v), w.splat(source.float_v))
        + w.splat(source.compensation_v_per_k) * warmer_k;
    (set_v, if source.tail_a >= 0.0 { bulk } else { w.all(false) })
}

/// Charging current at `volts`, as far as the battery may take it: A_k with the sources that have
/// this set point or a higher one at their limit, and B_k with the higher ones alone.
#[inline(always)]
pub(super) fn with_and_without<F: Lane>(
    offers: &[Offer<F>],
    demand: &Demand<F>,
    volts: F,
    charge_limit_a: F,
) -> (F, F) {
    let w = volts.width();
    let zero = w.splat(0.0);
    let load_a = demand.current_a + demand.power_w / volts;
    let (mut with_a, mut without_a) = (zero - load_a, zero - load_a);
    for offer in offers {
        let current_a = F::select(offer.live, offer.current_at(volts), zero);
        with_a = with_a + F::select(offer.set_v.ge(volts), current_a, zero);
        without_a = without_a + F::select(offer.set_v.gt(volts), current_a, zero);
    }
    (with_a.least(charge_limit_a), without_a.least(charge_limit_a))
}

/// 3.2 `full_k`, `off_k` and the regime of each source.
#[inline(always)]
pub(super) fn place_thresholds<F: Lane>(
    plan: &Plan,
    state: &State<F>,
    demand: &Demand<F>,
    charge_limit_a: F,
    self_discharge_a: F,
    offers: &mut [Offer<F>],
    thresholds: &mut [Threshold<F>],
) {
    for at in 0..offers.len() {
        let volts = offers[at].set_v;
        let (with_a, without_a) = with_and_without(&*offers, demand, volts, charge_limit_a);
        let full_below = plan.battery.charge_where(volts, with_a);
        let off_above = plan.battery.charge_where(volts, without_a);
        let s = state.charge;
        thresholds[at] = Threshold {
            full_below,
            off_above,
            with_a,
            without_a,
            ..Threshold::unknown(volts.width())
        };
        let offer = &mut offers[at];
        // On the boundary the regime is the one that lies ahead.
        offer.full = s.lt(full_below).or(s.le(full_below).and(with_a.le(self_discharge_a)));
        offer.off = s.gt(off_above).or(s.ge(off_above).and(without_a.gt(self_discharge_a)));
    }
}

/// Charge at which the source at `at`, holding `held_v`, gives no more than its tail current.
#[inline(always)]
pub(super) fn tail_charge<F: Lane>(
    plan: &Plan,
    sources: &[Offer<F>],
    at: usize,
    without_a: F,
    held_v: F,
) -> F {
    let w = held_v.width();
    let zero = w.splat(0.0);
    let offer = &sources[at];
    let own_a = offer.current_at(held_v);
    let mut shared_a = zero;
    for other in sources {
        let shares = other.live.and(other.full.not()).and(other.off.not());
        shared_a = shared_a + F::select(shares, other.current_at(held_v), zero);
    }
    let together_a = w.splat(plan.sources[offer.place].tail_a) * shared_a / own_a;
    let tail = plan.battery.charge_where(held_v, together_a + without_a);
    F::select(zero.lt(own_a), tail, w.splat(f64::INFINITY))
}
