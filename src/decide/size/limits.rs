//! What lies beyond the option lists: whether more panels, or more battery, than anybody has would do.
//!
//! With a battery that no number of panels helps, the nights or the dark days are too long for it;
//! with panels that no battery helps, the loads are too much for wires, fuses or volts. Without a limit
//! means a thousand times the largest step, controllers that pass it all, and a battery that is full
//! when the warm-up days, or the span, begin.

use serde::Serialize;

use super::Trouble;
use super::bench::Bench;
use super::ladder::{Ladders, Place};
use super::rounds::Side;
use super::staircase::Staircase;
use crate::chance::merge::Tally;

/// A station with more of something than anybody has.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Unlimited {
    /// The station whose panels or battery are without limit.
    pub place: Place,
    /// Whether it reaches the target then.
    pub reaches: bool,
    /// Trials that it survives then.
    pub survived: u64,
    /// Of how many.
    pub trials: u64,
}

/// What lies beyond the option lists.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Limits {
    /// The largest battery with which no number of panels reaches the target; absent where every
    /// battery has one that does, be it beyond the list of sizes.
    pub no_panels: Option<Unlimited>,
    /// The largest battery with which it takes more panels than the list of sizes has, though some number
    /// would do.
    pub more_panels: Option<Unlimited>,
    /// The most panels with which no battery reaches it.
    pub no_battery: Option<Unlimited>,
    /// The most panels with which it takes more battery than the list of sizes has, though some would do.
    pub more_battery: Option<Unlimited>,
}

impl Limits {
    /// Looks beyond both option lists of a layer whose smallest stations are known.
    ///
    /// # Errors
    /// When a station cannot be compiled, or the user ends it.
    pub fn of(
        bench: &mut Bench,
        ladders: &Ladders,
        layer: Place,
        stairs: &Staircase,
        target: f64,
    ) -> Result<Self, Trouble> {
        let mut limits = Self::default();
        // Batteries with which the most panels of the list of sizes miss the target.
        let short = stairs.iter().take_while(|least| least.is_none()).count();
        if ladders.array.is_some() && short > 0 {
            let last = ladders.panels.len() - 1;
            let mut ask = |battery: usize| -> Result<Unlimited, Trouble> {
                let place = Place { panels: last, battery, ..layer };
                let station = ladders.with_any_panels(bench.scenario(), place);
                bench.side_of(&station, target).map(|said| unlimited(place, said))
            };
            // The first battery with which some number of panels would do.
            let (mut low, mut high) = (0, short);
            while low < high {
                let middle = usize::midpoint(low, high);
                let said = ask(middle)?;
                if said.reaches {
                    high = middle;
                    limits.more_panels = limits.more_panels.or(Some(said));
                } else {
                    low = middle + 1;
                    limits.no_panels = Some(said);
                }
            }
            if high < short && limits.more_panels.is_none_or(|it| it.place.battery + 1 < short) {
                limits.more_panels = Some(ask(short - 1)?);
            }
        }
        // Panels with which the largest battery of the list of sizes misses the target.
        let least = stairs.last().copied().flatten().unwrap_or(ladders.panels.len());
        if ladders.batteries.len() > 1 && least > 0 {
            let place = Place { panels: least - 1, battery: ladders.batteries.len() - 1, ..layer };
            let station = ladders.with_any_battery(bench.scenario(), place);
            let said = unlimited(place, bench.side_of(&station, target)?);
            if said.reaches {
                limits.more_battery = Some(said);
            } else {
                limits.no_battery = Some(said);
            }
        }
        Ok(limits)
    }
}

fn unlimited(place: Place, (side, tally): (Side, Tally)) -> Unlimited {
    Unlimited {
        place,
        reaches: side == Side::Reaches,
        survived: tally.successes(),
        trials: tally.trials(),
    }
}
