//! The step in pieces, each compiled by itself (see [`Piece`]): one function of all of them takes the
//! compiler many times as long. What they do is next to their names.

use super::account::{Account, settle_account};
use super::course::{Ahead, Course};
use super::demand::Demand;
use super::free::FreeBus;
use super::hold::hold;
use super::offers::{Offer, Threshold, place_thresholds};
use super::wells::{self, Held, Middle, Wells, place_regimes, short};
use crate::numbers::lane::{Lane, Piece};
use crate::plan::{Plan, Slice};
use crate::simulate::phase::Book;
use crate::simulate::state::State;
use crate::station::battery::one_well::SecondWell;

/// [`place_thresholds`]. Gives the resistance that a charging current meets, ohm.
pub(super) struct Thresholds<'a, F: Lane> {
    pub(super) plan: &'a Plan,
    pub(super) state: &'a State<F>,
    pub(super) demand: &'a Demand<F>,
    pub(super) charge_limit_a: F,
    pub(super) self_discharge_a: F,
    pub(super) offers: &'a mut [Offer<F>],
    pub(super) into: &'a mut [Threshold<F>],
}

impl<F: Lane> Piece for Thresholds<'_, F> {
    type Output = F;

    #[inline(always)]
    fn done(self) -> F {
        let Self { plan, state, demand, charge_limit_a, self_discharge_a, offers, into } = self;
        place_thresholds(plan, state, demand, charge_limit_a, self_discharge_a, offers, into);
        charge_limit_a.like(plan.battery.resistance_ohm)
    }
}

/// The same of a battery with two wells: [`place_regimes`].
pub(super) struct TwoWellRegimes<'a, F: Lane> {
    pub(super) second: &'a SecondWell,
    pub(super) most_h: F,
    pub(super) of: Thresholds<'a, F>,
}

impl<F: Lane> Piece for TwoWellRegimes<'_, F> {
    type Output = F;

    #[inline(always)]
    fn done(self) -> F {
        let Thresholds { plan, state, demand, charge_limit_a, self_discharge_a, offers, into } =
            self.of;
        let unknown = Middle::unknown(charge_limit_a.width());
        let hours = short(self.most_h);
        let wells = Wells::over(plan, self.second, state, self_discharge_a, hours, &unknown);
        place_regimes(plan, &wells, demand, charge_limit_a, offers, into);
        wells.charge_ohm
    }
}

/// [`FreeBus::at`].
pub(super) struct FreeNow<'a, F: Lane> {
    pub(super) plan: &'a Plan,
    pub(super) state: &'a State<F>,
    pub(super) demand: &'a Demand<F>,
    pub(super) offers: &'a [Offer<F>],
    pub(super) charge_limit_a: F,
    pub(super) self_discharge_a: F,
    pub(super) charge_ohm: F,
}

impl<F: Lane> Piece for FreeNow<'_, F> {
    type Output = FreeBus<F>;

    #[inline(always)]
    fn done(self) -> FreeBus<F> {
        FreeBus::at(
            self.plan,
            self.state,
            self.demand,
            self.offers,
            self.charge_limit_a,
            self.self_discharge_a,
            self.charge_ohm,
        )
    }
}

/// [`FreeBus::course`].
pub(super) struct FreeCourse<'a, F: Lane> {
    pub(super) bus: &'a FreeBus<F>,
    pub(super) plan: &'a Plan,
    pub(super) state: &'a State<F>,
    pub(super) demand: &'a Demand<F>,
    pub(super) offers: &'a [Offer<F>],
    pub(super) thresholds: &'a [Threshold<F>],
    pub(super) ahead: &'a Ahead<F>,
}

impl<F: Lane> Piece for FreeCourse<'_, F> {
    type Output = Course<F>;

    #[inline(always)]
    fn done(self) -> Course<F> {
        let Self { bus, plan, state, demand, offers, thresholds, ahead } = self;
        bus.course(plan, state, demand, offers, thresholds, ahead)
    }
}

/// [`hold`].
pub(super) struct HeldCourse<'a, F: Lane> {
    pub(super) plan: &'a Plan,
    pub(super) state: &'a State<F>,
    pub(super) offers: &'a [Offer<F>],
    pub(super) thresholds: &'a [Threshold<F>],
    pub(super) held_v: F,
    pub(super) ahead: &'a Ahead<F>,
}

impl<F: Lane> Piece for HeldCourse<'_, F> {
    type Output = Course<F>;

    #[inline(always)]
    fn done(self) -> Course<F> {
        hold(self.plan, self.state, self.offers, self.thresholds, self.held_v, self.ahead)
    }
}

/// [`wells::course`].
pub(super) struct TwoWellCourse<'a, F: Lane> {
    pub(super) second: &'a SecondWell,
    pub(super) free: FreeCourse<'a, F>,
    pub(super) held: Held<F>,
    pub(super) charge_limit_a: F,
}

impl<F: Lane> Piece for TwoWellCourse<'_, F> {
    type Output = Course<F>;

    #[inline(always)]
    fn done(self) -> Course<F> {
        let FreeCourse { bus, plan, state, demand, offers, ahead, .. } = self.free;
        let (held, limit_a) = (self.held, self.charge_limit_a);
        wells::course(plan, self.second, state, demand, offers, bus, held, limit_a, ahead)
    }
}

/// [`settle_account`], and the book takes it down. Gives the fuel that was burnt, litres.
pub(super) struct Booking<'a, F: Lane, B> {
    pub(super) plan: &'a Plan,
    pub(super) slice: &'a Slice,
    pub(super) state: &'a State<F>,
    pub(super) account: &'a Account<'a, F>,
    pub(super) book: &'a mut B,
}

impl<F: Lane, B: Book<F>> Piece for Booking<'_, F, B> {
    type Output = F;

    #[inline(always)]
    fn done(self) -> F {
        let phase = settle_account(self.plan, self.state, self.account);
        if self.book.takes() {
            self.book.phase(self.plan, self.slice, &phase);
        }
        phase.fuel_l
    }
}
