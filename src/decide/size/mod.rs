//! Which panels and which battery a station needs.
//!
//! Lives here: the sizes to choose from ([`ladder`]), trials shared by all stations ([`mod@bench`]), how
//! many a station needs ([`rounds`]), the walk along the smallest stations that reach the target
//! ([`staircase`]), the choice and its confirmation on trials that nobody has seen ([`confirm`]), what
//! lies beyond the option lists ([`limits`]), when stations fail ([`season`]), where more is not better
//! ([`breaks`]), the smallest station for each tier ([`mod@tiers`]), and the result ([`result`]). Does not live here: how a trial runs, words, pictures.

pub mod bench;
pub mod breaks;
pub mod confirm;
pub mod ladder;
pub mod limits;
pub mod result;
pub mod rounds;
mod search;
pub mod season;
pub mod staircase;
pub mod tiers;

use crate::error::Error;
use crate::plan::compile::CompileProblem;
use crate::scenario::Scenario;
use crate::scenario::schedule::Grid;

pub use result::Sizing;
pub use search::size;
pub use tiers::by_tier;

/// Trials of a station when nobody says how many.
pub const USUAL_TRIALS: u64 = 10_000;
/// Chance of staying on the air when nobody says which.
pub const USUAL_TARGET_CHANCE: f64 = 0.95;

/// Of what the chosen station should have least.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Minimize {
    /// The sum of the prices.
    Cost,
    /// The sum of the masses.
    Mass,
    /// Panels for each battery: every smallest station.
    All,
}

/// What is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Chance of staying on the air that must be shown.
    pub target_chance: f64,
    /// The lowest tier that counts; every tier on the air when absent.
    pub lowest_tier: Option<String>,
    /// Whether lines for other chances are looked for too: they take as many stations again.
    pub lines: bool,
    /// Of what there should be least; what the prices and masses of the choices allow when absent.
    pub minimize: Option<Minimize>,
    /// Trials of a station at most.
    pub trials: u64,
    /// What all draws depend on.
    pub seed: u64,
    /// Threads; 0 for all cores.
    pub threads: usize,
}

/// Why no size could be told.
#[derive(Debug)]
pub enum Trouble {
    /// A station that cannot be compiled.
    NotCompiled(Vec<CompileProblem>),
    /// What is asked for cannot be.
    Asked(String),
    /// The user ended it.
    Stopped,
    /// Trials could not be run.
    Failed(Error),
}

/// The scenario with other hours to last: of its span, and of the outage that is forced.
#[must_use]
pub fn lasting(scenario: &Scenario, hours: u32) -> Scenario {
    let mut other = scenario.clone();
    other.span.hours = hours;
    match &mut other.grid {
        Grid::Outage(forced) => {
            // What lies before the outage stays before it.
            let before = (forced.off - other.span.start).num_minutes().max(0);
            forced.hours = f64::from(hours);
            other.span.hours = hours.saturating_add(u32::try_from((before + 59) / 60).unwrap_or(0));
        }
        Grid::OutageAtRandom(forced) => forced.hours = f64::from(hours),
        Grid::Always | Grid::None | Grid::Outages(_) | Grid::Pattern(_) | Grid::Random(_) => {}
    }
    other
}
