//! What a search for sizes comes to: the keys of `size.json`.

use serde::Serialize;

use super::Minimize;
use super::breaks::Breaks;
use super::confirm::{Checked, Neighbour};
use super::ladder::{Ladders, Place};
use super::limits::Limits;
use super::season::Season;
use super::tiers::ByTier;
use crate::decide::hand_method::{Steps, Worksheet};
use crate::decide::odds::Occasion;
use crate::scenario::choices::PriceAndMass;

/// What the station must be able to do.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Wanted {
    /// Hours that it must last.
    pub hours: u32,
    /// Share of trials that must be shown.
    pub chance: f64,
    /// The lowest tier that counts; null for every tier that is on the air.
    pub lowest_tier: Option<String>,
}

/// A line of equal chance of staying on the air over the plane of panels and battery.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Contour {
    /// The chance of staying on the air.
    pub chance: f64,
    /// Trials of each station: of the target's own line as many as it took.
    pub trials: u64,
    /// By step of the battery: the least step of the panels that reaches it; null where none does.
    pub least_panels: Vec<Option<usize>>,
}

/// A station that was simulated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Simulated {
    /// Its step on each list of sizes.
    pub place: Place,
    /// Trials.
    pub trials: u64,
    /// How many it survived.
    pub survived: u64,
}

/// How much had to be simulated.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Effort {
    /// Stations to choose from.
    pub stations: u64,
    /// Of these, simulated to find the smallest ones that reach the target.
    pub for_the_target: u64,
    /// Of these, simulated besides for the other lines of the chart.
    pub for_the_lines: u64,
    /// Trials in all, those that confirm included.
    pub trials: u64,
}

/// The sizing worksheet and the station that it leads to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ByHand {
    /// What goes in.
    pub worksheet: Worksheet,
    /// Every step.
    pub steps: Steps,
    /// Its station, on the fresh trials of the chosen one.
    pub station: HandStation,
}

/// The station of the sizing worksheet in simulation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HandStation {
    /// How many panels.
    pub panels: u32,
    /// Their rated power together, W.
    pub rated_w: f64,
    /// Rated capacity of the bank, Ah.
    pub rated_ah: f64,
    /// What it costs and weighs by the choices; absent where they do not say.
    pub costs: PriceAndMass,
    /// Trials.
    pub trials: u64,
    /// How many it survived.
    pub survived: u64,
    /// Their share.
    pub on_air_share: f64,
    /// The one-sided 95 % lower bound of it.
    pub on_air_lower_95_one_sided: f64,
    /// Whether that bound reaches the target.
    pub reaches: bool,
}

/// What a search for sizes comes to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sizing {
    /// The finding.
    pub sentence: String,
    /// Title of the scenario.
    pub title: String,
    /// Strategy in force.
    pub strategy: String,
    /// Version of the program.
    pub version: String,
    /// What one trial is called.
    pub occasion: Occasion,
    /// Random seed.
    pub seed: u64,
    /// Trials of a station at most; each confirmation takes as many.
    pub trials: u64,
    /// What the station must be able to do.
    pub wanted: Wanted,
    /// Of what there should be least.
    pub least: Minimize,
    /// The sizes to choose from.
    pub options: Ladders,
    /// The chosen station, confirmed on fresh trials; null when none reaches the target, or when the
    /// smallest stations was asked for.
    pub chosen: Option<Checked>,
    /// Its next smaller neighbours on the same trials.
    pub smaller: Vec<Neighbour>,
    /// Its next larger neighbours on the same trials.
    pub larger: Vec<Neighbour>,
    /// Every smallest station, confirmed on fresh trials, when the smallest stations was asked for.
    pub smallest_stations: Vec<Checked>,
    /// Stations that search took for good and that fresh trials did not confirm.
    pub missed: Vec<Checked>,
    /// The largest station to choose from, when none reaches the target.
    pub largest: Option<Checked>,
    /// The layer (charger and slope) that the lines are drawn for.
    pub layer: Place,
    /// Lines of equal chance of staying on the air, that of the target first.
    pub contours: Vec<Contour>,
    /// What lies beyond the option lists.
    pub limits: Limits,
    /// When the station fails.
    pub season: Season,
    /// The sizing worksheet; null where it has nothing to go by.
    pub worksheet: Option<ByHand>,
    /// Where more is not better.
    pub breaks: Breaks,
    /// The smallest stations for other lowest tiers.
    pub by_tier: ByTier,
    /// How much had to be simulated.
    pub effort: Effort,
    /// Every station that search simulated, in the order of the option lists.
    pub simulated: Vec<Simulated>,
}

impl Sizing {
    /// Whether some station reaches the target.
    #[must_use]
    pub fn is_reached(&self) -> bool {
        self.chosen.is_some() || !self.smallest_stations.is_empty()
    }
}
