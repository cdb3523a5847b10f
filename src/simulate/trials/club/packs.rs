//! Where each pack is, and what goes along with it.
//!
//! A pack is in one place at a time: its [`Place`] says in which. While it is in a station or on the
//! charging point its charge is that of the walk there; otherwise it is kept here, and falls by
//! self-discharge through the same step as everything else.

use super::super::walk::Walk;
use crate::numbers::lane::Single;
use crate::plan::MOST_SOURCES;
use crate::simulate::origin::Mix;
use crate::simulate::state::State;

/// Where a pack is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// In a station.
    Station(usize),
    /// On the charging point.
    Point,
    /// At the charging point, charged, or waiting since a step.
    Store {
        /// The step in which it came.
        since: usize,
    },
    /// On its way to a station, or back from one.
    Carried {
        /// Station that it is for; back to the charging point when none.
        to: Option<usize>,
        /// The step in which it arrives.
        arrives: usize,
    },
    /// Its owner did not come.
    Absent,
}

/// The part of a station's state that is the battery's.
#[derive(Debug, Clone, Copy)]
pub struct BatteryState {
    /// Charge.
    pub charge: f64,
    /// Fill of the well at hand of lead-acid; the charge otherwise.
    pub at_hand: f64,
    /// Its temperature, deg C.
    pub battery_c: f64,
    /// Whether cold forbids charging.
    pub too_cold: bool,
    /// Whether its BMS is open or it is empty.
    pub flat: bool,
}

impl BatteryState {
    /// That of the battery in a state.
    #[must_use]
    pub fn of(state: &State<f64>) -> Self {
        Self {
            charge: state.charge,
            at_hand: state.at_hand,
            battery_c: state.battery_c,
            too_cold: state.too_cold,
            flat: state.flat,
        }
    }

    /// Puts the battery into a state.
    pub fn put_into(&self, state: &mut State<f64>) {
        state.charge = self.charge;
        state.at_hand = self.at_hand;
        state.battery_c = self.battery_c;
        state.too_cold = self.too_cold;
        state.flat = self.flat;
    }
}

/// More drop stages than any drop sequence has: everything is off.
const ALL_OFF: f64 = 1e6;

/// Somebody has put another battery on: chargers begin in bulk, the loads are connected again by hand
/// once the handover is over.
pub fn put_on(battery: &BatteryState, handover_h: f64, state: &mut State<f64>) {
    battery.put_into(state);
    state.bulk = [true; MOST_SOURCES];
    state.open = false;
    state.open_left_h = 0.0;
    state.topping = false;
    // As devices that dropped out: all are off, and are tried again when it is over.
    state.level = if handover_h > 0.0 { ALL_OFF } else { 0.0 };
    state.retry_left_h = handover_h;
}

/// A pack in a trial.
pub(super) struct Pack {
    pub(super) place: Place,
    /// Good while it is in no walk.
    pub(super) battery: BatteryState,
    mix: Mix<f64>,
}

impl Pack {
    pub(super) fn new(place: Place, charge: f64, battery_c: f64, too_cold: bool) -> Self {
        Self {
            place,
            battery: BatteryState { charge, at_hand: charge, battery_c, too_cold, flat: false },
            mix: Mix::stored_before(Single),
        }
    }

    /// Goes from here into a walk.
    pub(super) fn enter(&mut self, walk: &mut Walk<'_, Single>, handover_h: f64) {
        put_on(&self.battery, handover_h, &mut walk.state);
        walk.book().exchange_mix(&mut self.mix);
    }

    /// Comes out of a walk.
    pub(super) fn leave(&mut self, walk: &mut Walk<'_, Single>) {
        self.battery = BatteryState::of(&walk.state);
        walk.book().exchange_mix(&mut self.mix);
    }
}
