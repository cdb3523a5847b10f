//! The battery as typed.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Named;
use super::basis::{BasisOf, chrono_date::Date};
use super::loads::{Fused, PackLead};

/// One battery of one chemistry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Battery {
    /// Lithium iron phosphate cells behind a management board (BMS).
    LithiumIronPhosphate(LithiumIronPhosphate),
    /// Lead-acid cells: flooded, AGM or gel.
    LeadAcid(LeadAcid),
    /// Watt-hours with stated efficiencies, for hand checks.
    Ideal(Ideal),
}

/// Lithium iron phosphate cells behind a management board (BMS).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LithiumIronPhosphate {
    /// Cells in series; 4 make a 12.8 V battery.
    pub cells_in_series: u32,
    /// Equal strings side by side.
    #[serde(default = "one")]
    pub strings: u32,
    /// Rated capacity of one string, Ah; not beside `packs`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capacity_ah: Option<f64>,
    /// The register of packs, each a string; instead of `strings` and `capacity_ah`.
    #[serde(default, skip_serializing_if = "Named::is_empty")]
    pub packs: Named<Pack>,
    /// What age has left of it, share; of packs, of those that nobody has measured.
    #[serde(default = "unity")]
    pub age_capacity_share: f64,
    /// Leads, contacts and board of one string, ohm.
    #[serde(default = "usual_pack_resistance")]
    pub pack_resistance_ohm: f64,
    /// Charging current of one string at which the BMS holds, A.
    pub charge_limit_a: f64,
    /// Discharge current of one string above which the BMS opens, A.
    pub discharge_limit_a: f64,
    /// Cell volts at which the BMS opens, V.
    #[serde(default = "usual_cutoff")]
    pub cell_cutoff_v: f64,
    /// Cell volts, charging included, at which it closes again, V.
    #[serde(default = "usual_again")]
    pub cell_reconnect_v: f64,
    /// Cell volts at which the BMS opens while charging, V.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cell_overvoltage_v: Option<f64>,
    /// Current of one string into a short circuit, A; when absent `check` takes what is usual for its
    /// kind and capacity.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub short_circuit_a: Option<f64>,
    /// The fuse of each pack or string, where several are in parallel, or `"none"`; not stated when
    /// absent. Examined by `check`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack_fuse: Option<Fused>,
    /// The lead of each pack or string to where they join; not stated when absent. Examined by `check`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack_lead: Option<PackLead>,
    /// Self-discharge at 20 deg C, share of rated capacity a month of 30 days.
    #[serde(default = "usual_self_discharge")]
    pub self_discharge_share_month: f64,
    /// Temperature of the cells.
    #[serde(default)]
    pub temperature: Temperature,
    /// No charging in the cold.
    #[serde(default)]
    pub charge_inhibit: ChargeInhibit,
    /// What wakes its BMS once it has opened because the cells were empty.
    #[serde(default)]
    pub cutoff_reset: CutoffReset,
    /// A heater that keeps the cells warm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heater: Option<Heater>,
    /// Share of capacity that can be drawn at a cell temperature: points, straight lines between,
    /// level outside; all of it at any temperature when absent.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub usable_share_at_c: Vec<UsableAt>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// What can be drawn at a temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UsableAt {
    /// Cell temperature, deg C.
    pub cell_c: f64,
    /// Share of capacity.
    pub usable_share: f64,
}

impl Ideal {
    /// A battery that holds nothing.
    #[must_use]
    pub fn empty() -> Self {
        Self {
            capacity_wh: 1e-6,
            empty_v: 12.0,
            full_v: 13.0,
            charge_efficiency_share: 1.0,
            discharge_efficiency_share: 1.0,
            charge_limit_a: None,
            self_discharge_share_month: 0.0,
            notes: None,
            basis: BasisOf::new(),
        }
    }
}

fn one() -> u32 {
    1
}
fn unity() -> f64 {
    1.0
}
/// 10 milliohm: the middle of 5 to 15, common practice, no source.
fn usual_pack_resistance() -> f64 {
    0.010
}
/// 2.5 V: usual cut-off of this chemistry's datasheets.
fn usual_cutoff() -> f64 {
    2.5
}
/// 3.0 V: common practice, no source.
fn usual_again() -> f64 {
    3.0
}
/// 3 % a month: datasheets of small packs.
fn usual_self_discharge() -> f64 {
    0.03
}

/// Temperature of the cells.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Temperature {
    /// The same all the time, deg C.
    FixedC(f64),
    /// Follows the air behind a lag.
    FollowsAir {
        /// Time constant, h.
        lag_h: f64,
        /// How much warmer than the air the place is, K.
        #[serde(default)]
        offset_c: f64,
    },
}

impl Default for Temperature {
    fn default() -> Self {
        Self::FixedC(20.0)
    }
}

/// No charging in the cold.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChargeInhibit {
    /// Cell temperature below which charging stops, deg C.
    pub below_c: f64,
    /// Cell temperature above which it starts again, deg C.
    pub resume_above_c: f64,
}

impl Default for ChargeInhibit {
    /// 0 and 3 deg C: charging tables of this chemistry's datasheets allow none below 0.
    fn default() -> Self {
        Self { below_c: 0.0, resume_above_c: 3.0 }
    }
}

/// What wakes a board that has opened.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CutoffReset {
    /// Any source that has something to give.
    #[default]
    ByCharging,
    /// A hand, in attended hours, looked at on the hour; until then it takes no charge either.
    ByHand,
}

/// A heater in the battery's box, fed by the battery.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Heater {
    /// What it draws, W.
    pub power_w: f64,
    /// Cell temperature below which it is on, deg C.
    pub on_below_c: f64,
    /// How much warmer it keeps the place when it is on for good, K.
    pub rise_c: f64,
}

/// One pack of the register.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pack {
    /// Whose it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub owner: Option<String>,
    /// Capacity on its label, Ah.
    pub rated_ah: f64,
    /// Capacity that a test found, Ah.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured_ah: Option<f64>,
    /// Date of that test.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tested: Option<Date>,
    /// What it weighs, kg.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// Lead-acid cells.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LeadAcid {
    /// How the acid is kept.
    pub kind: AcidKind,
    /// Cells in series; 6 make a 12 V battery.
    pub cells_in_series: u32,
    /// Equal strings side by side.
    #[serde(default = "one")]
    pub strings: u32,
    /// Capacity of one string at two or more rates, from the datasheet: 20 h and 1 h at least.
    pub capacities: Vec<CapacityAtRate>,
    /// The register of packs, each a string, instead of `strings`: their capacity is that at the
    /// longest time of `capacities`, which then only say how it changes with the rate.
    #[serde(default, skip_serializing_if = "Named::is_empty")]
    pub packs: Named<Pack>,
    /// What age has left of it, share; of packs, of those that nobody has measured.
    #[serde(default = "unity")]
    pub age_capacity_share: f64,
    /// Resistance of one string with its leads, ohm.
    pub resistance_ohm: f64,
    /// Current of one string into a short circuit, A; when absent `check` takes what is usual for its
    /// kind and capacity.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub short_circuit_a: Option<f64>,
    /// The fuse of each pack or string, where several are in parallel, or `"none"`; not stated when
    /// absent. Examined by `check`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack_fuse: Option<Fused>,
    /// The lead of each pack or string to where they join; not stated when absent. Examined by `check`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack_lead: Option<PackLead>,
    /// Free opening for fresh air at the bottom of its box, and as much at the top, cm2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vent_opening_cm2: Option<f64>,
    /// Absorption volts of the datasheet at 25 deg C, of one string, V.
    pub rated_absorption_v: f64,
    /// Charging current that the cells accept at these volts, share of what is missing an hour.
    #[serde(default = "usual_acceptance")]
    pub acceptance_share_per_h: f64,
    /// Change of the absorption volts with temperature, V per kelvin and cell, below zero.
    #[serde(default = "usual_absorption_per_k")]
    pub rated_absorption_v_per_k_cell: f64,
    /// Limit of the charging current of one string, A; none when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_limit_a: Option<f64>,
    /// Stored over charged while far from full.
    #[serde(default = "usual_acid_efficiency")]
    pub charge_efficiency_share: f64,
    /// Stored over charged when full; in between from 85 % on in a straight line.
    #[serde(default = "usual_full_efficiency")]
    pub full_efficiency_share: f64,
    /// Self-discharge at 20 deg C, share of rated capacity a month of 30 days.
    #[serde(default = "usual_self_discharge")]
    pub self_discharge_share_month: f64,
    /// Temperature of the cells.
    #[serde(default)]
    pub temperature: Temperature,
    /// A heater that keeps the cells warm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heater: Option<Heater>,
    /// Share of capacity that can be drawn at a cell temperature: points, straight lines between,
    /// level outside; a published table of its kind when absent, carried on without a source below
    /// -3.9 deg C (flooded) or -10 deg C (AGM, gel).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub usable_share_at_c: Vec<UsableAt>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// How the acid is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum AcidKind {
    /// Free acid, vented cells.
    Flooded,
    /// Absorbed in glass mat.
    Agm,
    /// Set in gel.
    Gel,
}

/// Capacity at one rate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CapacityAtRate {
    /// Hours of discharge at a steady current.
    pub discharge_h: f64,
    /// Capacity over them, Ah.
    pub capacity_ah: f64,
}

/// 0.8: the ampere-hour law, common practice, no source.
fn usual_acceptance() -> f64 {
    0.8
}
/// -4 mV per kelvin and cell: boost charging of a 190 Ah AGM datasheet.
fn usual_absorption_per_k() -> f64 {
    -0.004
}
/// 0.97: common practice, no source.
fn usual_acid_efficiency() -> f64 {
    0.97
}
/// 0.6: common practice, no source.
fn usual_full_efficiency() -> f64 {
    0.6
}

/// Watt-hours with stated efficiencies and volts on a straight line, for hand checks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Ideal {
    /// Energy between empty and full, Wh.
    pub capacity_wh: f64,
    /// Volts when empty, V.
    pub empty_v: f64,
    /// Volts when full, V.
    pub full_v: f64,
    /// Stored over charged.
    #[serde(default = "unity")]
    pub charge_efficiency_share: f64,
    /// Delivered over drawn.
    #[serde(default = "unity")]
    pub discharge_efficiency_share: f64,
    /// Limit of the charging current, A; none when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_limit_a: Option<f64>,
    /// Self-discharge, share of capacity a month of 30 days.
    #[serde(default)]
    pub self_discharge_share_month: f64,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}
