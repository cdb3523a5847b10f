//! What draws current, how it is wired, and what is switched off first.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Named;
use super::basis::BasisOf;

/// Outlets behind one fuse.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OutletGroup {
    /// What the group may draw, A.
    pub limit_a: f64,
    /// Whether a supply that joins by changeover carries it.
    #[serde(default)]
    pub on_supply: bool,
    /// Its lead; no resistance when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wire: Option<Wire>,
    /// The fuse at the beginning of that lead, or `"none"`; not stated when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fuse: Option<Fused>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// A lead with its fuse.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lead {
    /// The lead itself; no resistance when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wire: Option<Wire>,
    /// Its fuse, or `"none"`; not stated when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fuse: Option<Fused>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// The lead of a pack; its fuse is the `pack_fuse` of the battery.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PackLead {
    /// The lead itself.
    pub wire: Wire,
}

/// A two-conductor copper lead. Give `awg` or `mm2`, not both.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Wire {
    /// American wire gauge; 0 is 1/0, -1 is 2/0, -3 is 4/0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub awg: Option<i32>,
    /// Copper area, mm2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mm2: Option<f64>,
    /// Length one way, m; the current flows there and back.
    pub one_way_m: f64,
    /// Temperature of the copper, deg C.
    #[serde(default = "warm")]
    pub conductor_c: f64,
    /// Connectors in the loop.
    #[serde(default)]
    pub connectors: u32,
    /// Resistance of one connector, ohm.
    #[serde(default = "usual_connector")]
    pub connector_ohm: f64,
    /// Temperature that its insulation is made for, deg C; its ampacity is not examined when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub insulation_c: Option<f64>,
    /// Conductors that carry current side by side in its bundle, its own two included; it is taken to
    /// lie alone when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bundled: Option<u32>,
    /// Warmest that the air around it gets, deg C; 30, as in tables of ampacity, when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub surroundings_c: Option<f64>,
}

/// What somebody has said of a fuse.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Fused {
    /// There is one.
    Fuse(Fuse),
    /// Somebody has looked, and there is none.
    Nothing(NoFuse),
}

impl Fused {
    /// The fuse, where there is one.
    #[must_use]
    pub fn fuse(&self) -> Option<&Fuse> {
        match self {
            Self::Fuse(fuse) => Some(fuse),
            Self::Nothing(_) => None,
        }
    }
}

/// No fuse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(extend("type" = "string"))]
pub enum NoFuse {
    /// Somebody has looked, and there is none.
    None,
}

/// A fuse or breaker, examined by `check` and not by the simulation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fuse {
    /// The current that it bears for good, A.
    pub rated_a: f64,
    /// The largest current that it can break, A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interrupt_a: Option<f64>,
    /// The direct volts that it is made for, V.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rated_v: Option<f64>,
    /// Length of lead before it, m: from the battery terminals, for the lead of a charger too; of an
    /// outlet group from the end of the main feed; of an array from the panels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from_source_m: Option<f64>,
    /// Whether that length lies in a sheath or a box.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub sheathed: bool,
}

fn warm() -> f64 {
    40.0
}
/// 1 milliohm: common practice, no source.
fn usual_connector() -> f64 {
    0.001
}

/// What draws current.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Load {
    /// The outlet group it is plugged into.
    pub group: String,
    /// What it draws.
    pub draw: Draw,
    /// Share of its time on in which it transmits.
    #[serde(default)]
    pub transmit_share: f64,
    /// Who keys it: an operator keys one set at a time. Its own operator when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub operator: Option<String>,
    /// How long one transmission usually lasts, s.
    #[serde(default = "a_minute")]
    pub transmission_s: f64,
    /// Volts at its terminals between which it works: `[lowest, highest]`, V.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub window_v: Option<[f64; 2]>,
    /// Window in which it is on; always when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub when: Option<String>,
    /// The largest fuse that its maker allows before it, A; its manual says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_fuse_a: Option<f64>,
    /// Whether the station counts as off the air without it.
    #[serde(default = "yes")]
    pub essential: bool,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

fn yes() -> bool {
    true
}
fn a_minute() -> f64 {
    60.0
}

/// What a load draws.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Draw {
    /// The same current at any volts.
    Current {
        /// While receiving, or all the time, A.
        receive_a: f64,
        /// While transmitting, A; `receive_a` when absent.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        transmit_a: Option<f64>,
    },
    /// A linear transmitter: current follows the envelope of the signal.
    Envelope {
        /// While receiving, A.
        receive_a: f64,
        /// While transmitting without drive, A.
        quiescent_a: f64,
        /// At full power, full carrier, A.
        full_a: f64,
        /// Peak power it is set to, share of full power.
        #[serde(default = "full")]
        power_share: f64,
        /// What is sent.
        mode: Mode,
    },
    /// The same watts at any volts, behind a converter.
    Power {
        /// What the device takes, W.
        power_w: f64,
        /// Output over input of its converter.
        #[serde(default = "full")]
        converter_efficiency_share: f64,
        /// What the converter takes besides, W.
        #[serde(default)]
        idle_w: f64,
    },
}

fn full() -> f64 {
    1.0
}

impl Draw {
    /// Whether what draws so can transmit: it says with what current.
    #[must_use]
    pub fn transmits(&self) -> bool {
        match self {
            Self::Current { transmit_a, .. } => transmit_a.is_some(),
            Self::Envelope { .. } => true,
            Self::Power { .. } => false,
        }
    }
}

/// What a linear transmitter sends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Mode {
    /// Speech on single sideband without processing.
    VoiceUnprocessed,
    /// Speech on single sideband, heavily processed.
    VoiceProcessed,
    /// Morse by hand.
    Morse,
    /// An unbroken carrier: FM, most data modes.
    Carrier,
}

/// A named load set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tier {
    /// What people call it.
    pub name: String,
    /// Whether the station counts as on the air in it; `odds` counts an hour in one that does not as
    /// off the air.
    #[serde(default = "yes")]
    pub on_air: bool,
    /// What an hour in it is worth to `card`. When absent an hour in a tier is worth ten in the next
    /// one on the air, and nothing in one that is not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub worth_per_h: Option<f64>,
    /// The loads that are on, each with what changes in this tier.
    pub loads: Named<TierLoad>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// What changes for a load in a tier; what is absent stays as the load says.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TierLoad {
    /// Window in which it is on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub when: Option<String>,
    /// Share of its time on in which it transmits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub transmit_share: Option<f64>,
    /// Peak power it is set to, share of full power (envelope loads).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power_share: Option<f64>,
}

/// When to step down to a lower tier and back up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Shedding {
    /// When somebody looks at the charge: `start` (as the span begins), `sunrise`, `sunset`,
    /// `hourly`, or local times `HH:MM`.
    #[serde(default = "sun_events")]
    pub decide_at: Vec<String>,
    /// Charge below which tier 2, 3, ... begins: one value fewer than tiers, falling.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub down_below_share: Vec<f64>,
    /// Charge above which tier 1, 2, ... comes back: one value fewer than tiers, falling.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub up_above_share: Vec<f64>,
    /// An operating card, as `longwatch card` makes it, in place of the two lists above.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub card: Vec<CardRow>,
    /// While the mains is away no tier above this one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tier_without_mains: Option<String>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// One row of an operating card: which tier a charge allows at one kind of decision.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CardRow {
    /// The word of `decide_at` that it is for; for every one when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// From so many hours after the beginning of the span on, until a later row for the same word.
    #[serde(default)]
    pub from_h: f64,
    /// Charge at or above which tier 1, 2, ... is in force: one value fewer than tiers, none rising.
    /// Below the last one it is the last tier.
    pub at_least_share: Vec<f64>,
}

fn sun_events() -> Vec<String> {
    vec!["sunrise".into(), "sunset".into()]
}
