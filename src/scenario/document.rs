//! The top of the file.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Named;
use super::battery::Battery;
use super::choices::Choices;
use super::loads::{Lead, Load, OutletGroup, Shedding, Tier};
use super::past_tests::PastTest;
use super::patch::Patch;
use super::preflight::Preflight;
use super::prices::Prices;
use super::schedule::{Attended, Disconnect, Grid, Strategy, WarningService, Window};
use super::site::{Site, Span, Start};
use super::sources::{Array, Controller, Generator, Supply, Vehicle};
use super::sun::{Snow, Storm, Sun, Uncertain};
use super::watch::Watch;

/// One station, its place, its sky and its grid, and the hours to simulate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    /// Version of this file format; 2.
    pub format: u32,
    /// What the results are headed with.
    pub title: String,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where the station stands and which clock depends on its wall.
    pub site: Site,
    /// The hours that are simulated.
    pub span: Span,
    /// In what state the span begins.
    #[serde(default)]
    pub start: Start,
    /// Where sunlight and air temperature come from.
    pub sun: Sun,
    /// Snow on the panels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub snow: Option<Snow>,
    /// What the storms that take the mains do to the sky. Dark days begin with each outage when
    /// absent and the mains fails at random.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub storm: Option<Storm>,
    /// What is not known for sure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uncertain: Option<Uncertain>,
    /// When the mains is there.
    #[serde(default)]
    pub grid: Grid,
    /// A service that warns before an outage.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub warning: Option<WarningService>,
    /// When somebody is there to do what needs somebody.
    #[serde(default)]
    pub attended: Attended,
    /// Times of day, by name, for every rule that needs one.
    #[serde(default)]
    pub windows: Named<Window>,
    /// Panels, by name.
    #[serde(default)]
    pub arrays: Named<Array>,
    /// Charge controllers, by name.
    #[serde(default)]
    pub controllers: Named<Controller>,
    /// The one battery of the station.
    pub battery: Battery,
    /// The direct-current supply that the mains feeds, with its charger.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub supply: Option<Supply>,
    /// An engine that feeds the supply while the mains is away.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub generator: Option<Generator>,
    /// A running vehicle that charges through a lead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vehicle: Option<Vehicle>,
    /// The low-voltage disconnect of the loads.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub disconnect: Option<Disconnect>,
    /// The lead from the battery to the outlet groups.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub main_feed: Option<Lead>,
    /// Fused outlet groups, by name.
    pub outlet_groups: Named<OutletGroup>,
    /// What draws current, by name.
    pub loads: Named<Load>,
    /// Named load sets, the fullest first.
    pub tiers: Vec<Tier>,
    /// When to step down to a lower tier and back up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shedding: Option<Shedding>,
    /// When the station is on watch; all the time when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub watch: Option<Watch>,
    /// What `check` measures the station by.
    #[serde(default, skip_serializing_if = "Preflight::is_usual")]
    pub check_limits: Preflight,
    /// Which of `strategies` is in force.
    pub strategy: String,
    /// Ways to switch the supply, by name.
    pub strategies: Named<Strategy>,
    /// Other ways to build or run the station, by name, for `compare`: each changes some keys of
    /// this file.
    #[serde(default, skip_serializing_if = "Named::is_empty")]
    pub variants: Named<Patch>,
    /// What things cost.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub prices: Option<Prices>,
    /// Sizes to choose from when the station is to be sized.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sizing: Option<Choices>,
    /// Tests that were done; the report shows them beside what longwatch forecasts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub field_tests: Vec<PastTest>,
}
