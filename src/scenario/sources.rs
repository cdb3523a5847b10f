//! What charges: panels, controllers, the mains supply.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Named;
use super::basis::BasisOf;

/// Equal panels that face one way and feed one controller.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Array {
    /// Rated power of one panel at standard test conditions, W.
    pub rated_w: f64,
    /// How many panels.
    pub count: u32,
    /// Slope from level, degrees.
    pub tilt_deg: f64,
    /// Where the front faces, degrees east of north.
    pub azimuth_deg: f64,
    /// The controller it feeds.
    pub controller: String,
    /// Change of power with cell temperature, share of rated per kelvin, below zero.
    #[serde(default = "silicon_power_per_c")]
    pub power_per_c: f64,
    /// Cell temperature at 800 W/m2, 20 deg C air, 1 m/s wind, deg C.
    #[serde(default = "usual_noct")]
    pub noct_c: f64,
    /// Named losses, each a share of what is left after those before it.
    #[serde(default)]
    pub loss_share: Named<f64>,
    /// Window in which the panels stand outside; always when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deployed: Option<String>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// -0.4 % per kelvin: crystalline silicon, common practice, no source.
fn silicon_power_per_c() -> f64 {
    -0.004
}

/// 45 deg C: common practice, no source.
fn usual_noct() -> f64 {
    45.0
}

/// A charge controller.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Controller {
    /// Follows the maximum-power point and converts to the battery's volts.
    Tracking(Tracking),
}

/// A controller that follows the maximum-power point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tracking {
    /// Share of the panels' power that reaches the battery side.
    #[serde(default = "usual_tracking_efficiency")]
    pub efficiency_share: f64,
    /// Limit of its output current, A.
    pub output_limit_a: f64,
    /// What it draws from the battery itself, day and night, W.
    #[serde(default)]
    pub own_draw_w: f64,
    /// Its charging voltages.
    pub charge: Charge,
    /// Window in which it is switched off so that nobody hears it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub silent_in: Option<String>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// 0.96: common practice, no source.
fn usual_tracking_efficiency() -> f64 {
    0.96
}

/// Charging voltages of one source, at the battery terminals.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Charge {
    /// The set point held while charging, V.
    pub bulk_v: f64,
    /// The set point once full, V; `bulk_v` is held for good when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub float_v: Option<f64>,
    /// Own current at the bulk set point below which the source calls the battery full, A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tail_a: Option<f64>,
    /// Volts on float below which bulk begins again, V. A source also begins with bulk whenever it
    /// comes back after having had nothing to give.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rebulk_v: Option<f64>,
}

/// The direct-current supply that the mains feeds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Supply {
    /// The volts it holds at its terminals, V.
    pub rated_v: f64,
    /// Limit of its output current, A.
    pub limit_a: f64,
    /// Direct-current output over mains input.
    pub efficiency_share: f64,
    /// Mains power it takes without load, W.
    #[serde(default)]
    pub no_load_w: f64,
    /// How it joins the battery and the loads.
    pub joins: Joins,
    /// What charges the battery from it; absent: it only carries loads.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charger: Option<Charger>,
    /// Window in which it is switched off so that nobody hears it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub silent_in: Option<String>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// How the supply joins the battery and the loads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Joins {
    /// Outlet groups marked `on_supply` are carried by the supply while it is on; what is left of
    /// its limit charges.
    Changeover,
    /// One more source on the battery terminals; the battery covers what it cannot give.
    Bus,
    /// Loads always on the battery; the supply only charges.
    ChargerOnly,
}

/// The charger behind the supply.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Charger {
    /// Limit of its charging current, A.
    pub limit_a: f64,
    /// Its charging voltages.
    pub charge: Charge,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}
