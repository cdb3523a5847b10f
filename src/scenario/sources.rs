//! What charges: panels, controllers, the mains supply.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Named;
use super::basis::BasisOf;
use super::loads::{Fused, Lead};

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
    pub pmax_per_c: f64,
    /// Cell temperature at 800 W/m2, 20 deg C air, 1 m/s wind, deg C.
    #[serde(default = "usual_noct")]
    pub noct_c: f64,
    /// Named losses, each a share of what is left after those before it.
    #[serde(default)]
    pub loss_share: Named<f64>,
    /// Window in which the panels stand outside; always when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deployed: Option<String>,
    /// Window in which they are stowed, as in a gale; never when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stowed: Option<String>,
    /// How many rows of panels stand one above the other: snow that has half slid off leaves the
    /// upper of two rows free.
    #[serde(default = "one_row", skip_serializing_if = "is_one_row")]
    pub rows_up_slope: u32,
    /// Its lead to the controller; examined by `check`, its loss stands in `loss_share`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lead: Option<Lead>,
    /// The fuse of each string, where several are in parallel, or `"none"`; examined by `check`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub string_fuse: Option<Fused>,
    /// Points of the panel's curve; a switching controller needs them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub datasheet: Option<PanelSheet>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

fn one_row() -> u32 {
    1
}
#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_one_row(rows: &u32) -> bool {
    *rows == 1
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
    Mppt(Mppt),
    /// Connects the panels straight to the battery and interrupts: panels at battery volts.
    Pwm(Pwm),
}

/// A controller that connects the panels to the battery and interrupts at the set point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pwm {
    /// Limit of its current, A.
    pub output_limit_a: f64,
    /// Volts between panel and battery: its own and those of the panel leads, V.
    #[serde(default = "usual_drop")]
    pub drop_v: f64,
    /// What it draws from the battery itself, day and night, W.
    #[serde(default)]
    pub standby_w: f64,
    /// Its charging voltages.
    pub set_points: SetPoints,
    /// Highest volts that its panel side takes, V.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub input_limit_v: Option<f64>,
    /// Its lead to the battery, with the fuse at the battery; examined by `check`, its loss is not
    /// simulated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lead: Option<Lead>,
    /// Window in which it is switched off so that nobody hears it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub off_in: Option<String>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// 0.5 V: common practice, no source.
fn usual_drop() -> f64 {
    0.5
}

impl Controller {
    /// Its kind, as the file names it.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Mppt(_) => "mppt",
            Self::Pwm(_) => "pwm",
        }
    }

    /// Its charging voltages.
    #[must_use]
    pub fn set_points(&self) -> &SetPoints {
        match self {
            Self::Mppt(it) => &it.set_points,
            Self::Pwm(it) => &it.set_points,
        }
    }

    /// Limit of its current, A.
    #[must_use]
    pub fn output_limit_a(&self) -> f64 {
        match self {
            Self::Mppt(it) => it.output_limit_a,
            Self::Pwm(it) => it.output_limit_a,
        }
    }

    /// What it draws itself, W.
    #[must_use]
    pub fn standby_w(&self) -> f64 {
        match self {
            Self::Mppt(it) => it.standby_w,
            Self::Pwm(it) => it.standby_w,
        }
    }

    /// Highest volts that its panel side takes, V.
    #[must_use]
    pub fn input_limit_v(&self) -> Option<f64> {
        match self {
            Self::Mppt(it) => it.input_limit_v,
            Self::Pwm(it) => it.input_limit_v,
        }
    }

    /// Where its numbers come from.
    #[must_use]
    pub fn basis(&self) -> &BasisOf {
        match self {
            Self::Mppt(it) => &it.basis,
            Self::Pwm(it) => &it.basis,
        }
    }

    /// Its lead to the battery.
    #[must_use]
    pub fn lead(&self) -> Option<&Lead> {
        match self {
            Self::Mppt(it) => it.lead.as_ref(),
            Self::Pwm(it) => it.lead.as_ref(),
        }
    }

    /// Window in which it is switched off.
    #[must_use]
    pub fn off_in(&self) -> Option<&String> {
        match self {
            Self::Mppt(it) => it.off_in.as_ref(),
            Self::Pwm(it) => it.off_in.as_ref(),
        }
    }
}

/// Four points of a panel's curve at standard test conditions.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PanelSheet {
    /// Short-circuit current, A.
    pub isc_a: f64,
    /// Open-circuit volts, V.
    pub voc_v: f64,
    /// Current at the maximum-power point, A.
    pub imp_a: f64,
    /// Volts at the maximum-power point, V.
    pub vmp_v: f64,
    /// Panels in series.
    #[serde(default = "one_panel")]
    pub in_series: u32,
    /// Change of the open-circuit volts, share per kelvin, below zero.
    #[serde(default = "silicon_voc_per_c")]
    pub voc_per_c: f64,
    /// Change of the short-circuit current, share per kelvin.
    #[serde(default = "silicon_isc_per_c")]
    pub isc_per_c: f64,
    /// Largest fuse that its label allows in series with a panel (IEC 61730), A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub series_fuse_a: Option<f64>,
}

fn one_panel() -> u32 {
    1
}
/// -0.32 % per kelvin: crystalline silicon, common practice, no source.
fn silicon_voc_per_c() -> f64 {
    -0.0032
}
/// +0.05 % per kelvin: crystalline silicon, common practice, no source.
fn silicon_isc_per_c() -> f64 {
    0.0005
}

/// A controller that follows the maximum-power point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Mppt {
    /// Share of the panels' power that reaches the battery side.
    #[serde(default = "usual_tracking_efficiency")]
    pub efficiency_share: f64,
    /// Limit of its output current, A.
    pub output_limit_a: f64,
    /// What it draws from the battery itself, day and night, W.
    #[serde(default)]
    pub standby_w: f64,
    /// Its charging voltages.
    pub set_points: SetPoints,
    /// Highest volts that its panel side takes, V.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub input_limit_v: Option<f64>,
    /// Its lead to the battery, with the fuse at the battery; examined by `check`, its loss is not
    /// simulated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lead: Option<Lead>,
    /// Window in which it is switched off so that nobody hears it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub off_in: Option<String>,
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
pub struct SetPoints {
    /// The set point held while charging, V.
    pub absorption_v: f64,
    /// The set point once full, V; `absorption_v` is held for good when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub float_v: Option<f64>,
    /// Own current at the bulk set point below which the source calls the battery full, A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tail_a: Option<f64>,
    /// Volts on float below which bulk begins again, V. A source also begins with bulk whenever it
    /// comes back after having had nothing to give.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub recharge_below_v: Option<f64>,
    /// Change of its set points with battery temperature around 25 deg C, V per kelvin, below zero;
    /// none when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub compensation_v_per_k: Option<f64>,
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
    /// Its lead to battery and loads, with the fuse at the battery; examined by `check`, its loss is not
    /// simulated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lead: Option<Lead>,
    /// Window in which it is switched off so that nobody hears it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub off_in: Option<String>,
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
    /// Outlet groups marked `on_supply` are supplied by the supply while it is on; what is left of
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
    pub set_points: SetPoints,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// An engine that feeds the supply while the mains is away.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Generator {
    /// Continuous rated output at sea level, W.
    pub rated_w: f64,
    /// Fuel at hand when the span begins, litres.
    pub fuel_l: f64,
    /// What it burns.
    pub fuel_line: FuelLine,
    /// When it may start and when it stops.
    pub rule: EngineRule,
    /// Window in which it may run; any hour when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allowed: Option<String>,
    /// Chance that it does not start when asked; `run` lets it start if this is below 0.5.
    #[serde(default)]
    pub fails_to_start_chance: f64,
    /// Litres that its tank holds; all the fuel when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tank_l: Option<f64>,
    /// How long it stands to cool and be refilled when the tank is empty, min.
    #[serde(default = "usual_refuel_pause")]
    pub refuel_pause_min: f64,
    /// Loss of output per 300 m above the sea, share.
    #[serde(default = "usual_derate")]
    pub derate_share_per_300_m: f64,
    /// Other loads on it while it runs (kettle, lights), W.
    #[serde(default)]
    pub other_w: f64,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// 20 min: cooling down before refuelling, common practice, no source.
fn usual_refuel_pause() -> f64 {
    20.0
}
/// 3.5 % per 300 m: naturally aspirated motors, common practice, no source.
fn usual_derate() -> f64 {
    0.035
}

/// Litres an hour: `per_rated_kw_l_h x rated kW + per_kwh_l x output kW`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FuelLine {
    /// Litres an hour per rated kilowatt while it turns.
    pub per_rated_kw_l_h: f64,
    /// Litres per kilowatt-hour that it gives.
    pub per_kwh_l: f64,
}

/// When an engine starts and stops.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EngineRule {
    /// Charge, looked at on the hour in attended hours, below which it is started.
    pub start_below_share: f64,
    /// Charge at which it is stopped.
    pub stop_above_share: f64,
}

/// A running vehicle that charges through a lead.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Vehicle {
    /// Limit of its charging current, A.
    pub limit_a: f64,
    /// Its charging voltages at the battery.
    pub set_points: SetPoints,
    /// Window in which it is connected and idling.
    pub connected: String,
    /// Fuel that it idles away, litres an hour.
    #[serde(default = "usual_idle")]
    pub idle_l_h: f64,
    /// Its lead to the battery, with the fuse at the battery; examined by `check`, its loss is not
    /// simulated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lead: Option<Lead>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// 1 litre an hour: common practice, no source.
fn usual_idle() -> f64 {
    1.0
}
