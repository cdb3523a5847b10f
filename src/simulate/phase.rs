//! What happens within one phase: the flows that a book takes down.

use crate::numbers::lane::{Lane, Mask};
use crate::plan::{MOST_SOURCES, Plan, Slice};

/// A stretch within a slice in which one thing goes on.
#[derive(Debug, Clone, Copy)]
pub struct Phase<F: Lane> {
    /// Length, h; 0 in lanes that wait for others.
    pub hours: F,
    /// Mean volts at the battery terminals, V.
    pub mean_v: F,
    /// Lowest volts in a load state that lasts, V.
    pub lowest_v: F,
    /// Highest mean volts, V.
    pub highest_v: F,
    /// Charge when it began.
    pub from_share: F,
    /// Charge when it ended.
    pub to_share: F,
    /// Charge put in at the terminals (negative: taken out), Ah.
    pub charged_ah: F,
    /// Integral of the square of the mean current, A2 h.
    pub square_a2h: F,
    /// Integral of current times volts of the surface, Wh.
    pub surface_wh: F,
    /// Self-discharge, Ah.
    pub leaked_ah: F,
    /// 1 where the battery feels the transmitting, 0 where a source holds the volts.
    pub spread: F,
    /// Share of the load that is served: 1 but for an ideal battery that is empty.
    pub served_share: F,
    /// Profile in force.
    pub profile: F,
    /// Drop stage in force.
    pub rung: F,
    /// Whether the loads are disconnected.
    pub open: F::Mask,
    /// What opened them last: one of the codes of [`super::causes`].
    pub opened_by: F,
    /// Charge at which it did.
    pub opened_at_share: F,
    /// Whether the BMS is open and waits for somebody to reset it.
    pub asleep: F::Mask,
    /// Whether cold forbids charging.
    pub too_cold: F::Mask,
    /// Whether the supply is on, on the mains.
    pub grid_supply: F::Mask,
    /// Whether the generator runs.
    pub engine: F::Mask,
    /// Whether the supply is on, on the generator.
    pub engine_supply: F::Mask,
    /// Fuel that it burns, litres.
    pub fuel_l: F,
    /// Fill of the well at hand when it began.
    pub from_at_hand: F,
    /// And when it ended.
    pub to_at_hand: F,
    /// Charge that went from the well at hand to the bound one, Ah.
    pub exchanged_ah: F,
    /// Resistance that the mean current meets, ohm.
    pub resistance_ohm: F,
    /// Stored over charged at the terminals.
    pub gain: F,
    /// What controllers drew themselves, W.
    pub standby_w: F,
    /// What the heater of the battery drew, W.
    pub heater_w: F,
    /// Put on the bus by each source, Wh.
    pub used_wh: [F; MOST_SOURCES],
    /// What each source could have put there within its current limit, Wh.
    pub within_limit_wh: [F; MOST_SOURCES],
    /// What each source has on its bus side, W.
    pub offered_w: [F; MOST_SOURCES],
}

impl<F: Lane> Phase<F> {
    /// What it is for one of the trials side by side.
    #[must_use]
    pub fn of_lane(&self, lane: usize) -> Phase<f64> {
        Phase {
            hours: self.hours.lane(lane),
            mean_v: self.mean_v.lane(lane),
            lowest_v: self.lowest_v.lane(lane),
            highest_v: self.highest_v.lane(lane),
            from_share: self.from_share.lane(lane),
            to_share: self.to_share.lane(lane),
            charged_ah: self.charged_ah.lane(lane),
            square_a2h: self.square_a2h.lane(lane),
            surface_wh: self.surface_wh.lane(lane),
            leaked_ah: self.leaked_ah.lane(lane),
            spread: self.spread.lane(lane),
            served_share: self.served_share.lane(lane),
            profile: self.profile.lane(lane),
            rung: self.rung.lane(lane),
            open: self.open.lane(lane),
            opened_by: self.opened_by.lane(lane),
            opened_at_share: self.opened_at_share.lane(lane),
            asleep: self.asleep.lane(lane),
            too_cold: self.too_cold.lane(lane),
            grid_supply: self.grid_supply.lane(lane),
            engine: self.engine.lane(lane),
            engine_supply: self.engine_supply.lane(lane),
            fuel_l: self.fuel_l.lane(lane),
            from_at_hand: self.from_at_hand.lane(lane),
            to_at_hand: self.to_at_hand.lane(lane),
            exchanged_ah: self.exchanged_ah.lane(lane),
            resistance_ohm: self.resistance_ohm.lane(lane),
            gain: self.gain.lane(lane),
            standby_w: self.standby_w.lane(lane),
            heater_w: self.heater_w.lane(lane),
            used_wh: self.used_wh.map(|value| value.lane(lane)),
            within_limit_wh: self.within_limit_wh.map(|value| value.lane(lane)),
            offered_w: self.offered_w.map(|value| value.lane(lane)),
        }
    }
}

/// Takes down what the step does.
pub trait Book<F: Lane> {
    /// One phase of a slice.
    fn phase(&mut self, plan: &Plan, slice: &Slice, phase: &Phase<F>);

    /// Whether phases are taken down just now: what is not is not computed either.
    #[inline(always)]
    fn takes(&self) -> bool {
        true
    }

    /// A slice took more phases than there can be and is given up: a fault of the program.
    fn gave_up(&mut self, plan: &Plan, slice: &Slice) {
        let _ = (plan, slice);
    }
}
