//! Names of the parts of a station, by the index that tables and books use.

use serde::Serialize;

use super::battery::register::Holds;

/// Names and facts that hold for every row.
#[derive(Debug, Clone, PartialEq)]
pub struct Heads {
    /// Title of the scenario.
    pub title: String,
    /// Strategy in force.
    pub strategy: String,
    /// Whose weather the rows have.
    pub weather: WeatherOf,
    /// Sources by index: the controllers in the order of the file, then `mains` if there is a supply.
    pub sources: Vec<Source>,
    /// Whether there is a grid to fail: a station without one is not down for want of it.
    pub has_grid: bool,
    /// Outlet groups by index.
    pub groups: Vec<String>,
    /// Loads by index.
    pub loads: Vec<String>,
    /// Tiers by index, the fullest first.
    pub tiers: Vec<String>,
    /// Whether the station counts as on the air in each.
    pub tiers_on_air: Vec<bool>,
    /// What the battery gives from full, aged, Ah; lead-acid when drawn slowly.
    pub capacity_ah: f64,
    /// What is told of it beside that.
    pub holds: Holds,
    /// The narrowest device window seen from the battery terminals at rest, V, with the load that
    /// sets each end.
    pub window_v: Option<NarrowestWindow>,
    /// Volts at which the disconnect (or its BMS) opens, V.
    pub disconnect_v: f64,
    /// Highest set point of any source, V.
    pub highest_set_point_v: Option<f64>,
    /// Whether it follows the battery's temperature; then it stands so at 25 deg C.
    pub set_point_follows: bool,
}

/// Whose weather a run has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WeatherOf {
    /// That of the scenario, which leaves nothing to draw.
    Stated,
    /// The mean of each date: no clouds are drawn.
    Mean,
    /// That of one trial.
    Trial {
        /// Its number.
        trial: u64,
        /// The seed that it depends on.
        seed: u64,
    },
}

impl Heads {
    /// Whether the station counts as on the air in a tier while its essential loads are served.
    #[must_use]
    pub fn counts_as_on_air(&self, tier: usize) -> bool {
        self.tiers_on_air.get(tier).copied().unwrap_or(true)
    }
}

/// A source of the station.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Source {
    /// Its name in the scenario, or `mains`.
    pub name: String,
    /// Where its energy comes from.
    pub origin: Origin,
}

/// Where energy comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// Panels.
    Sun,
    /// The mains through the supply.
    Mains,
    /// An engine through the supply.
    Generator,
    /// A vehicle.
    Vehicle,
}

/// The narrowest device window.
#[derive(Debug, Clone, PartialEq)]
pub struct NarrowestWindow {
    /// Lowest volts at which every windowed load works, V.
    pub lowest_v: f64,
    /// The load that sets it.
    pub lowest_load: String,
    /// Highest volts at which every windowed load works, V.
    pub highest_v: f64,
    /// The load that sets it.
    pub highest_load: String,
}
