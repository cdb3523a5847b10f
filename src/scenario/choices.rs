//! What may be bought or built instead: sizes to choose from, with prices and masses.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Sizes of the station to choose from. What is not named here stays as the scenario has it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Choices {
    /// What the station must be able to do; the command line can ask for something else.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target: Option<Target>,
    /// In which money all prices are, a word or two for people; that of `prices` when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// How many panels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub panels: Option<PanelChoice>,
    /// How much battery.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub battery: Option<BatteryChoice>,
    /// Chargers of the supply, the weakest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub chargers: Vec<ChargerChoice>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// What the station must be able to do.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Target {
    /// Hours that it must last; those of the span when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hours: Option<u32>,
    /// In which share of trials, at least.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chance: Option<f64>,
    /// The lowest tier that still counts; every tier that is on the air when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lowest_tier: Option<String>,
}

/// What something costs and weighs.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PriceAndMass {
    /// Its price, in the currency of the choices.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    /// What it weighs, kg.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
}

/// How many panels of one array.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PanelChoice {
    /// The array whose panels are counted.
    pub array: String,
    /// Counts to choose from, the smallest first.
    pub counts: Vec<u32>,
    /// One panel with its share of frame and leads.
    #[serde(default)]
    pub each: PriceAndMass,
    /// Controllers to choose from, the weakest first: each count of panels takes the first one that
    /// passes their rated power at its bulk volts, or the last. The one of the scenario when absent.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub controllers: Vec<ControllerChoice>,
    /// Slopes to choose from, degrees; that of the array when absent.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tilt_deg: Vec<f64>,
}

/// A controller to choose.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ControllerChoice {
    /// Limit of its output current, A.
    pub output_limit_a: f64,
    /// Its price, in the currency of the choices.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    /// What it weighs, kg.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
}

/// How much battery.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum BatteryChoice {
    /// Equal strings side by side, like those of the scenario; of packs, like the mean of them.
    Strings(StringChoice),
    /// Batteries of other capacities.
    Sizes(Vec<BatterySize>),
}

/// How many equal strings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StringChoice {
    /// Counts to choose from, the smallest first.
    pub counts: Vec<u32>,
    /// Rated capacity of each, Ah, with limits in proportion; as the scenario has it when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capacity_ah: Option<f64>,
    /// One string.
    #[serde(default)]
    pub each: PriceAndMass,
}

/// A battery of another capacity; resistance goes with one over the capacity. Give `capacity_ah`,
/// or `capacity_wh` for an ideal battery.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BatterySize {
    /// Rated capacity of one string, Ah; of lead-acid at the longest time of its `capacities`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capacity_ah: Option<f64>,
    /// Energy between empty and full, Wh.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capacity_wh: Option<f64>,
    /// Limit of the charging current of one string, A; in proportion to the capacity when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_limit_a: Option<f64>,
    /// Limit of the discharge current of one string, A; in proportion to the capacity when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub discharge_limit_a: Option<f64>,
    /// Its price, in the currency of the choices.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    /// What it weighs, kg.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
}

impl BatterySize {
    /// A size by the rated capacity of one string, Ah.
    #[must_use]
    pub fn of_string(capacity_ah: f64) -> Self {
        Self { capacity_ah: Some(capacity_ah), ..Self::default() }
    }
}

/// A charger of the supply to choose.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChargerChoice {
    /// Limit of its charging current, A.
    pub limit_a: f64,
    /// Limit of the supply that it depends on, A; that of the scenario when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub supply_limit_a: Option<f64>,
    /// Its price, in the currency of the choices.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    /// What it weighs, kg.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
}
