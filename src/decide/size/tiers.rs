//! The smallest station for each tier that may be the lowest, and the one that needs no shedding rule.
//!
//! A rule that keeps a fuller tier on for long needs a larger battery than the loads that count. Where
//! a smaller station is enough with the loads shed from the start, the rule forces the size: changing
//! it is free.

use std::path::Path;

use serde::Serialize;

use super::confirm::Checked;
use super::search::size;
use super::{Minimize, Options, Trouble};
use crate::scenario::Scenario;
use crate::simulate::trials::Watch;

/// Trials of a station at most: the search is done again for each tier.
const TIER_TRIALS: u64 = 2_000;

/// The smallest station for a lowest tier.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ForTier {
    /// The lowest tier that counts.
    pub lowest_tier: String,
    /// The station; null when none of the sizes reaches the target.
    pub station: Option<Checked>,
}

/// Stations for other wishes than the one that was asked for.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct ByTier {
    /// For each tier in which the station is on the air, the fullest first; empty where there is one.
    pub tiers: Vec<ForTier>,
    /// The smallest station when the lowest tier that counts is in force from the start and no rule
    /// sheds; absent where nothing sheds, or no size is enough.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shed_at_once: Option<Checked>,
}

/// Searches once more for each tier, and once without the rules.
///
/// # Errors
/// See [`Trouble`].
pub fn by_tier(
    scenario: &Scenario,
    base_dir: &Path,
    options: &Options,
    least: Minimize,
    watch: &Watch,
) -> Result<ByTier, Trouble> {
    let on_air: Vec<&str> = scenario
        .tiers
        .iter()
        .filter(|tier| tier.on_air && !tier.loads.is_empty())
        .map(|tier| tier.name.as_str())
        .collect();
    if on_air.len() < 2 || least == Minimize::All {
        return Ok(ByTier::default());
    }
    let search = |scenario: &Scenario, tier: &str| {
        let options = Options {
            lowest_tier: Some(tier.to_owned()),
            lines: false,
            trials: options.trials.min(TIER_TRIALS),
            minimize: Some(least),
            ..options.clone()
        };
        size(scenario, base_dir, &options, watch).map(|sizing| sizing.chosen)
    };
    let mut tiers = Vec::new();
    for tier in &on_air {
        tiers.push(ForTier { lowest_tier: (*tier).to_owned(), station: search(scenario, tier)? });
    }
    let lowest = options.lowest_tier.as_deref().or(on_air.last().copied()).unwrap_or_default();
    let shed_at_once = match scenario.shedding {
        None => None,
        Some(_) => {
            let mut alone = scenario.clone();
            alone.shedding = None;
            alone.tiers.retain(|tier| tier.name == lowest);
            // A watch may name a tier that is gone: then there is nothing to say.
            match search(&alone, lowest) {
                Ok(found) => found,
                Err(Trouble::NotCompiled(_)) => None,
                Err(trouble) => return Err(trouble),
            }
        }
    };
    Ok(ByTier { tiers, shed_at_once })
}
