//! A scenario checked and compiled into dense tables.
//!
//! Lives here: the tables that the step walks through ([`Plan`]), the check of a scenario for
//! sense and its compilation. Does not live here: the state of a station at an instant, which
//! belongs to simulate. A plan cannot hold a wrong station: every index in it is good.

pub mod check;
pub mod club;
pub mod coldest;
pub mod compile;
pub mod exposure;
pub mod slice;

use chrono::{DateTime, FixedOffset};

use crate::scenario::Named;
use crate::scenario::basis::Basis;
use crate::station::battery::register::Registered;
use crate::station::battery::{OneWell, kept_share};
use crate::station::heads::Heads;
use crate::station::load_set::{GroupRung, Rung};
use crate::warning::Warning;
pub use slice::{Rule, Slice};

/// Most sources of a station.
pub const MOST_SOURCES: usize = 8;

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
    pub standby_w: f64,
    /// The heater of the battery, if there is one.
    pub heater: Option<HeaterPlan>,
    /// The latch of the loads.
    pub latch: LatchPlan,
    /// Shedding.
    pub tiers: TierPlan,
    /// All drop stages of all load sets, one drop sequence after the other.
    pub rungs: Vec<Rung>,
    /// By `(load set * tiers + tier) * 3 + carrier`.
    pub profiles: Vec<Profile>,
    /// Which windows are open in each load set, in the order of the scenario.
    pub open_windows: Vec<Vec<bool>>,
    /// Slices in time; those of the warm-up days first.
    pub slices: Vec<Slice>,
    /// What the arrays offer, by slice then source.
    pub offered: Vec<Offered>,
    /// The generator, if there is one.
    pub engine: Option<EnginePlan>,
    /// Steps in time.
    pub steps: Vec<StepPlan>,
    /// How many steps settle before the span begins.
    pub settling_steps: usize,
    /// Charge at the very beginning.
    pub start_charge_share: f64,
    /// The register of packs; empty when the battery is given otherwise.
    pub packs: Named<Registered>,
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
        /// [`kept_share`] of one hour, as nearly all slices are.
        kept_an_hour_share: f64,
        /// How much warmer than the air the place is, K.
        offset_c: f64,
        /// Temperature when the run begins, deg C.
        first_c: f64,
    },
}

impl TemperaturePlan {
    /// Behind a lag (h), warmer by an offset (K), from a first value (deg C).
    #[must_use]
    pub fn follows(lag_h: f64, offset_c: f64, first_c: f64) -> Self {
        Self::Follows { lag_h, kept_an_hour_share: kept_share(lag_h, 1.0), offset_c, first_c }
    }
}

/// One source on the battery terminals.
#[derive(Debug, Clone, PartialEq)]
pub struct SourcePlan {
    /// Limit of its current, A; for the mains under changeover the profile says it.
    pub limit_a: f64,
    /// Bulk set point, V.
    pub absorption_v: f64,
    /// Float set point, V; equal to bulk when there is none.
    pub float_v: f64,
    /// Own current that ends bulk, A; negative when nothing does.
    pub tail_a: f64,
    /// Volts on float below which bulk begins again, V; 0 when nothing does.
    pub recharge_below_v: f64,
    /// Bus side over panel side; 1 for what has no panels.
    pub efficiency_share: f64,
    /// Change of its set points with battery temperature around 25 deg C, V per kelvin.
    pub compensation_v_per_k: f64,
    /// What it is.
    pub kind: SourceKind,
}

/// What a source is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SourceKind {
    /// Panels at their maximum-power point.
    Mppt,
    /// Panels at battery volts and this drop, V.
    Pwm {
        /// Volts between panel and battery, V.
        drop_v: f64,
    },
    /// The supply on the mains.
    Mains,
    /// The supply on the generator.
    Engine,
    /// A vehicle, with what it burns, litres an hour.
    Vehicle {
        /// Litres an hour while connected.
        idle_l_h: f64,
    },
}

/// What the arrays of a source offer in a slice.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Offered {
    /// At the maximum-power point, W.
    pub available_w: f64,
    /// Current of a switching controller's panels at [`SHAPE_V`] times the battery's rated volts, A.
    pub shape_a: f64,
    /// Its change with battery volts, A per volt.
    pub shape_a_per_v: f64,
}

/// Battery volts over rated volts around which the curve of a switching controller's panels is
/// taken as straight.
pub const SHAPE_V: f64 = 1.04;

/// An engine that feeds the supply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EnginePlan {
    /// Its place among the sources.
    pub source: usize,
    /// What it can give behind the supply, W.
    pub direct_w: f64,
    /// Other loads on it, W.
    pub other_w: f64,
    /// Litres an hour while it turns.
    pub idle_l_h: f64,
    /// Litres per watt-hour that it gives.
    pub per_wh_l: f64,
    /// Fuel at hand when the run begins, litres.
    pub fuel_l: f64,
    /// Litres that its tank holds.
    pub tank_l: f64,
    /// Pause to refill, h.
    pub pause_h: f64,
    /// Charge below which it is started.
    pub start_below_share: f64,
    /// Charge at which it is stopped.
    pub stop_above_share: f64,
    /// Whether it starts when asked.
    pub starts: bool,
}

/// Who carries the marked groups.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carrier {
    /// The battery.
    Battery,
    /// The supply on the mains.
    Grid,
    /// The supply on the generator.
    Engine,
}

/// The supply from the mains.
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
    /// Whether marked groups are supplied by it.
    pub carries_groups: bool,
}

/// The latch that takes the loads off the battery: the disconnect, or its BMS.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LatchPlan {
    /// Volts, charging included, at which it closes, V.
    pub reconnect_v: f64,
    /// How long it stays open at least, h.
    pub min_open_h: f64,
    /// Whether it must be reset by hand.
    pub by_hand: bool,
    /// How long a device that dropped out of its window waits before it tries again, h.
    pub retry_h: f64,
    /// Whether its BMS, once open because the cells are empty, must be reset by hand and
    /// takes no charge until then.
    pub wakes_by_hand: bool,
}

/// A heater in the battery's box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeaterPlan {
    /// What it draws, W.
    pub draw_w: f64,
    /// Battery temperature below which it is on, deg C.
    pub on_below_c: f64,
    /// How much warmer it keeps the place, K.
    pub rise_c: f64,
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
    /// The tier in force at the beginning.
    pub first: usize,
    /// An operating card in place of the lists above: by row the charge at or above which each tier
    /// but the last is in force. A decision says which row it follows.
    pub card: Vec<Vec<f64>>,
}

impl TierPlan {
    /// One tier for good.
    #[must_use]
    pub fn held(count: usize, tier: usize) -> Self {
        Self {
            count,
            down_below_share: Vec::new(),
            up_above_share: Vec::new(),
            without_mains: 0,
            first: tier,
            card: Vec::new(),
        }
    }
}

/// What one tier of one load set asks of battery and supply.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// First drop stage of its drop sequence.
    pub first_rung: usize,
    /// Last drop stage: everything off.
    pub open_rung: usize,
    /// Demand from the battery at rated volts, W.
    pub demand_w: f64,
    /// Current from the battery while nobody transmits, at rated volts, A.
    pub receiving_a: f64,
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
    /// What the top tier would draw beyond this one, at rated volts, W.
    pub shed_w: f64,
}

impl Plan {
    /// Terms of one group on one drop stage.
    #[must_use]
    pub fn group_rung(&self, rung: usize, group: usize) -> GroupRung {
        self.rungs.get(rung).and_then(|rung| rung.groups.get(group)).copied().unwrap_or_default()
    }

    /// Place of a profile.
    #[must_use]
    pub fn profile_index(&self, set: usize, tier: usize, carrier: Carrier) -> usize {
        (set * self.tiers.count + tier) * 3 + carrier as usize
    }
}
