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
    /// A switching controller: its limit changes with the volts.
    pub(super) curved: bool,
    pub(super) limit_a: F,
    /// Current of the panels of a switching controller at `shape_v`, A; without end for others.
    pub(super) shape_a: F,
    pub(super) shape_a_per_v: F,
    pub(super) shape_v: F,
    pub(super) power_w: F,
    pub(super) set_v: F,
    pub(super) live: F::Mask,
    /// At its limit, at these volts.
    pub(super) full: F::Mask,
    /// Nothing, at these volts.
    pub(super) off: F::Mask,
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

/// Those that have something to give, in the order of the sources.
pub(super) type Offers<F, const S: usize> = ArrayVec<Offer<F>, S>;

impl<F: Lane> Offer<F> {
    /// Bulk or float, and no tail reached yet.
    #[inline(always)]
    pub(super) fn tune(&mut self, plan: &Plan, state: &State<F>) {
        let w = state.charge.width();
        let place = self.place;
        let source = &plan.sources[place];
        let warmer_k = state.battery_c - w.splat(25.0);
        self.set_v = F::select(state.bulk[place], w.splat(source.bulk_v), w.splat(source.float_v))
            + w.splat(source.compensation_v_per_k) * warmer_k;
        self.tail_reached = w.all(false);
        self.tail_share = w.splat(f64::INFINITY);
    }

    /// Current of the panels of a switching controller at these volts.
    #[inline(always)]
    fn panels_a(&self, volts: F) -> F {
        self.shape_a + self.shape_a_per_v * (volts - self.shape_v)
    }

    /// Limit of its current at these volts: of a switching controller that of its panels too.
    #[inline(always)]
    pub(super) fn limit_at(&self, volts: F) -> F {
        if !self.curved {
            return self.limit_a;
        }
        self.limit_a.least(self.panels_a(volts).most(volts.like(0.0)))
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
        if !self.curved {
            let current_a = F::select(by_power, zero, limit_a);
            return Sum { current_a, per_v_a: zero, power_w, curved: false };
        }
        let panels_a = self.panels_a(volts);
        let by_panels = panels_a.lt(self.limit_a).and(zero.lt(panels_a));
        let straight_a = self.shape_a - self.shape_a_per_v * self.shape_v;
        let current_a = F::select(by_panels, straight_a, limit_a);
        Sum {
            current_a: F::select(by_power, zero, current_a),
            per_v_a: F::select(by_power, zero, F::select(by_panels, self.shape_a_per_v, zero)),
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
    let rest_v = plan.battery.rest_v(state.at_hand) - w.splat(plan.battery.half_gap_v);
    let mut comes = w.all(false);
    for place in 0..places::<S>(plan) {
        let Some(source) = plan.sources.get(place) else { break };
        let has = match source.kind {
            SourceKind::Mains => supply.grid_charging,
            SourceKind::Engine => supply.engine,
            SourceKind::Vehicle { .. } => w.all(slice.vehicle),
            SourceKind::Tracking | SourceKind::Switching { .. } => {
                w.splat(0.0).lt(inputs.available_w[place])
            }
        };
        let back = has.and(state.had[place].not());
        let sagged = rest_v.lt(w.splat(source.rebulk_v));
        state.bulk[place] = state.bulk[place].or(back).or(sagged);
        state.had[place] = has;
        comes = comes.or(has);
    }
    // What comes wakes an empty battery, unless its board waits for a hand.
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
    let carries = plan.supply.is_some_and(|supply| supply.carries_groups);
    let weatherless = w.splat(WITHOUT_WEATHER_W);
    for place in 0..places::<S>(plan) {
        let Some(source) = plan.sources.get(place) else { break };
        let left_a = if carries { state.terms.charging_left_a } else { w.splat(source.limit_a) };
        let own_a = w.splat(source.limit_a);
        let (power_w, limit_a) = match source.kind {
            SourceKind::Mains => (
                F::select(supply.grid_charging, weatherless, zero),
                F::select(supply.grid_charging, left_a, zero),
            ),
            // What it carries is taken off its power too; the limit has regard to that already.
            SourceKind::Engine => {
                let direct_w = plan.engine.map_or(0.0, |engine| engine.direct_w);
                (
                    F::select(supply.engine, w.splat(direct_w), zero),
                    F::select(supply.engine, left_a, zero),
                )
            }
            SourceKind::Vehicle { .. } => (if slice.vehicle { weatherless } else { zero }, own_a),
            SourceKind::Tracking | SourceKind::Switching { .. } if slice.is_silent(place) => {
                (zero, zero)
            }
            SourceKind::Tracking => {
                (inputs.available_w[place] * w.splat(source.efficiency_share), own_a)
            }
            SourceKind::Switching { .. } => {
                (F::select(zero.lt(inputs.available_w[place]), weatherless, zero), own_a)
            }
        };
        let live = zero.lt(power_w).and(zero.lt(limit_a));
        // One that has nothing in any lane would add zeros.
        if !live.any() {
            continue;
        }
        let curved = matches!(source.kind, SourceKind::Switching { .. });
        let mut offer = Offer {
            place,
            weatherless: matches!(source.kind, SourceKind::Mains | SourceKind::Vehicle { .. }),
            curved,
            limit_a,
            shape_a: if curved { inputs.shape_a[place] } else { zero },
            shape_a_per_v: if curved { inputs.shape_a_per_v[place] } else { zero },
            shape_v: w.splat(SHAPE_V * plan.battery.nominal_v),
            power_w,
            set_v: zero,
            live,
            full: live,
            off: live,
            tail_reached: live,
            tail_share: zero,
            full_below: zero,
            off_above: zero,
            with_a: zero,
            without_a: zero,
        };
        offer.tune(plan, state);
        offers.push(offer);
    }
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
) {
    for at in 0..offers.len() {
        let volts = offers[at].set_v;
        let (with_a, without_a) = with_and_without(&*offers, demand, volts, charge_limit_a);
        let full_below = plan.battery.charge_where(volts, with_a);
        let off_above = plan.battery.charge_where(volts, without_a);
        let s = state.charge;
        let offer = &mut offers[at];
        offer.full_below = full_below;
        offer.off_above = off_above;
        offer.with_a = with_a;
        offer.without_a = without_a;
        // On the boundary the regime is the one that lies ahead.
        offer.full = s.lt(full_below).or(s.le(full_below).and(with_a.le(self_discharge_a)));
        offer.off = s.gt(off_above).or(s.ge(off_above).and(without_a.gt(self_discharge_a)));
    }
}

/// Charge at which the source at `at`, holding `held_v`, gives no more than its tail current.
#[inline(always)]
pub(super) fn tail_charge<F: Lane>(plan: &Plan, sources: &[Offer<F>], at: usize, held_v: F) -> F {
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
    let tail = plan.battery.charge_where(held_v, together_a + offer.without_a);
    F::select(zero.lt(own_a), tail, w.splat(f64::INFINITY))
}
