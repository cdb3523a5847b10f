//! A scenario checked and compiled into dense tables.
//!
//! Lives here: the tables that the step walks through ([`Plan`]), the check of a scenario for
//! sense and its compilation. Does not live here: the state of a station at an instant, which
//! belongs to simulate. A plan cannot hold a wrong station: every index in it is good.

pub mod check;
pub mod compile;
pub mod slice;

use chrono::{DateTime, FixedOffset};

use crate::scenario::Named;
use crate::scenario::basis::Basis;
use crate::station::heads::Heads;
use crate::station::battery::OneWell;
use crate::station::load_set::{GroupRung, Rung};
use crate::warning::Warning;
pub use slice::{Rule, Slice};

/// Most sources of a station.
pub const MOST_SOURCES: usize = 6;

/// A station and its hours, ready to be simulated.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Names for the book.
    pub heads: Heads,
    /// Name of the strategy in force.
    pub strategy: String,
    /// The battery.
    pub battery: OneWell,
    /// How the battery's temperature follows the air.
    pub temperature: TemperaturePlan,
    /// Sources in the order of [`Heads::sources`].
    pub sources: Vec<SourcePlan>,
    /// The supply, if there is one.
    pub supply: Option<SupplyPlan>,
    /// What the controllers draw themselves, W.
    pub own_draw_w: f64,
    /// The latch of the loads.
    pub latch: LatchPlan,
    /// Shedding.
    pub tiers: TierPlan,
    /// All rungs of all ladders, one ladder after the other.
    pub rungs: Vec<Rung>,
    /// By `(load set * tiers + tier) * 2 + carried`.
    pub profiles: Vec<Profile>,
    /// Slices in time; those of the settling days first.
    pub slices: Vec<Slice>,
    /// Power of the arrays of each controller, by slice then source, W.
    pub available_w: Vec<f64>,
    /// Steps in time.
    pub steps: Vec<StepPlan>,
    /// How many steps settle before the span begins.
    pub settling_steps: usize,
    /// Charge at the very beginning.
    pub start_charge_share: f64,
    /// Numbers of the scenario by basis.
    pub basis: Named<Basis>,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

/// Facts of one step for the book.
#[derive(Debug, Clone, PartialEq)]
pub struct StepPlan {
    /// Beginning on the local clock.
    pub start: DateTime<FixedOffset>,
    /// Length, h.
    pub hours: f64,
    /// Share between sunrise and sunset.
    pub daylight_share: f64,
    /// Global irradiance on the level, W/m2.
    pub ghi_w_m2: Option<f64>,
    /// Air temperature, deg C.
    pub air_c: f64,
}

/// How the battery's temperature follows the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TemperaturePlan {
    /// The same all the time, deg C.
    Fixed(f64),
    /// Behind a lag (h), warmer by an offset (K), from a first value (deg C).
    Follows {
        /// Time constant, h.
        lag_h: f64,
        /// How much warmer than the air the place is, K.
        offset_c: f64,
        /// Temperature when the run begins, deg C.
        first_c: f64,
    },
}

/// One source on the battery terminals.
#[derive(Debug, Clone, PartialEq)]
pub struct SourcePlan {
    /// Limit of its current, A; for the mains under changeover the profile says it.
    pub limit_a: f64,
    /// Bulk set point, V.
    pub bulk_v: f64,
    /// Float set point, V; equal to bulk when there is none.
    pub float_v: f64,
    /// Own current that ends bulk, A; negative when nothing does.
    pub tail_a: f64,
    /// Volts on float below which bulk begins again, V; 0 when nothing does.
    pub rebulk_v: f64,
    /// Bus side over panel side; 1 for the mains (its plug side is in [`SupplyPlan`]).
    pub efficiency_share: f64,
}

/// The supply at the plug.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SupplyPlan {
    /// Its place among the sources.
    pub source: usize,
    /// Output over plug.
    pub efficiency_share: f64,
    /// Plug power without load, W.
    pub no_load_w: f64,
    /// Whether a rule switches charging alone.
    pub rule_switches_charger: bool,
    /// Whether marked groups are carried by it.
    pub carries_groups: bool,
}

/// The latch that takes the loads off the battery: the disconnect, or the battery's own board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LatchPlan {
    /// Volts, charging included, at which it closes, V.
    pub close_v: f64,
    /// How long it stays open at the least, h.
    pub min_open_h: f64,
    /// Whether it waits for a hand.
    pub by_hand: bool,
    /// How long a device that dropped out of its window waits before it tries again, h.
    pub retry_h: f64,
}

/// Shedding.
#[derive(Debug, Clone, PartialEq)]
pub struct TierPlan {
    /// How many tiers.
    pub count: usize,
    /// Charge below which tier i + 1 begins.
    pub down_below_share: Vec<f64>,
    /// Charge above which tier i comes back.
    pub up_above_share: Vec<f64>,
    /// The fullest tier allowed without mains.
    pub without_mains: usize,
}

/// What one tier of one load set asks of battery and supply.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// First rung of its ladder.
    pub first_rung: usize,
    /// Last rung: everything off.
    pub open_rung: usize,
    /// Demand from the battery at nominal volts, W.
    pub demand_w: f64,
    /// Whether an essential load is among it.
    pub essential: bool,
    /// Current that the supply has left for charging, mean over the operators' states, A.
    pub charging_left_a: f64,
    /// Power that the supply gives to the groups it carries, W.
    pub carried_bus_w: f64,
    /// Of that, lost in their wires, W.
    pub carried_wiring_w: f64,
    /// Power delivered to each carried group, W.
    pub carried_groups_w: Vec<f64>,
    /// What the top tier would draw beyond this one, at nominal volts, W.
    pub shed_w: f64,
}

/// The part of a rung that outlet group `group` takes.
impl Plan {
    /// Terms of one group on one rung.
    #[must_use]
    pub fn group_rung(&self, rung: usize, group: usize) -> GroupRung {
        self.rungs.get(rung).and_then(|rung| rung.groups.get(group)).copied().unwrap_or_default()
    }

    /// Place of a profile.
    #[must_use]
    pub fn profile_index(&self, set: usize, tier: usize, carried: bool) -> usize {
        (set * self.tiers.count + tier) * 2 + usize::from(carried)
    }
}
