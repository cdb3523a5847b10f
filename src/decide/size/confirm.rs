//! The chosen station and its neighbours on trials that nobody has seen.
//!
//! A station that was chosen because it did well in some trials did too well in them. So it is run again
//! on as many fresh ones, numbered behind those of the search, and only what these say is told. If they
//! miss the target, the next larger station is run on yet other trials, and so on. Every try could pass
//! by luck once in twenty at the edge of the target; how many there were is told.

use serde::Serialize;

use super::bench::{Bench, Seen};
use super::ladder::{Ladders, Place};
use super::rounds::{at_least, shows};
use super::{Minimize, Trouble};
use crate::chance::intervals::{Confidence, wilson};
use crate::chance::merge::Tally;
use crate::scenario::choices::PriceAndMass;

/// A station and what fresh trials say of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Checked {
    /// Its step on each list of sizes.
    pub place: Place,
    /// How many panels.
    pub panels: u32,
    /// Their rated power together, W.
    pub rated_w: f64,
    /// Limit of the controller that goes with them, where one is chosen, A.
    pub controller_limit_a: Option<f64>,
    /// Slope of the array, where one is chosen, degrees.
    pub tilt_deg: Option<f64>,
    /// How many strings, where these are counted.
    pub strings: Option<u32>,
    /// Rated capacity of the bank, Ah.
    pub rated_ah: f64,
    /// What of it counts, with age, Ah.
    pub capacity_ah: f64,
    /// Limit of the charger, where the station has one, A.
    pub charger_limit_a: Option<f64>,
    /// What it costs and weighs.
    #[serde(flatten)]
    pub costs: PriceAndMass,
    /// The first of the fresh trials.
    pub first_trial: u64,
    /// How many there were.
    pub trials: u64,
    /// How many it survived.
    pub survived: u64,
    /// Their share.
    pub on_air_share: f64,
    /// Wilson interval of it, 95 %.
    pub on_air_wilson_95: [f64; 2],
    /// The one-sided 95 % lower bound (Clopper and Pearson): what is decided on.
    pub on_air_lower_95_one_sided: f64,
    /// Whether that bound reaches the target.
    pub reaches: bool,
}

/// A neighbour of the chosen station on the same fresh trials.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Neighbour {
    /// The neighbour itself.
    pub station: Checked,
    /// Trials that it survives and the chosen one does not.
    pub only_it: u64,
    /// Trials that the chosen one survives and it does not.
    pub only_chosen: u64,
}

/// Counts as people and programs read them.
#[must_use]
pub fn checked(ladders: &Ladders, place: Place, seen: &Seen, target: f64) -> Checked {
    let tally: Tally = seen.all();
    let interval = wilson(tally, Confidence::NINETY_FIVE);
    let (panels, battery) = (&ladders.panels[place.panels], &ladders.batteries[place.battery]);
    Checked {
        place,
        panels: panels.count,
        rated_w: panels.rated_w,
        controller_limit_a: panels.controller_limit_a,
        tilt_deg: ladders.tilts_deg[place.tilt],
        strings: battery.strings,
        rated_ah: battery.rated_ah,
        capacity_ah: battery.capacity_ah,
        charger_limit_a: ladders.chargers[place.charger].limit_a,
        costs: ladders.costs(place),
        first_trial: seen.first,
        trials: tally.trials(),
        survived: tally.successes(),
        on_air_share: tally.share(),
        on_air_wilson_95: [interval.low, interval.high],
        on_air_lower_95_one_sided: at_least(tally),
        reaches: shows(tally, target),
    }
}

/// Of two stations the one that is less of what was asked for.
#[must_use]
pub fn order(ladders: &Ladders, least: Minimize, place: Place) -> (f64, f64, f64, Place) {
    let PriceAndMass { price, mass_kg } = ladders.costs(place);
    let (price, mass_kg) = (price.unwrap_or(0.0), mass_kg.unwrap_or(0.0));
    let rated_w = ladders.panels[place.panels].rated_w;
    let rated_ah = ladders.batteries[place.battery].rated_ah;
    match least {
        Minimize::Cost => (price, mass_kg, rated_ah, place),
        Minimize::Mass => (mass_kg, price, rated_ah, place),
        Minimize::All => (rated_ah, rated_w, 0.0, place),
    }
}

/// Whether one order comes before another.
#[must_use]
pub fn is_less(one: &(f64, f64, f64, Place), other: &(f64, f64, f64, Place)) -> bool {
    one.0
        .total_cmp(&other.0)
        .then(one.1.total_cmp(&other.1))
        .then(one.2.total_cmp(&other.2))
        .then(one.3.cmp(&other.3))
        .is_lt()
}

/// Stations that were tried on fresh trials.
pub struct Tried {
    /// The first that reaches the target, with what was seen of it.
    pub confirmed: Option<(Checked, Seen)>,
    /// Those before it, which missed.
    pub missed: Vec<Checked>,
}

/// The first of some stations that fresh trials confirm, each on trials of its own, and how it went.
///
/// `next` gives the next station to try after those that missed.
///
/// # Errors
/// When a station cannot be compiled, or the user ends it.
pub fn confirm(
    bench: &mut Bench,
    ladders: &Ladders,
    (target, trials): (f64, u64),
    rounds: &mut u64,
    mut next: impl FnMut(&[Checked]) -> Option<Place>,
) -> Result<Tried, Trouble> {
    let mut missed = Vec::new();
    while let Some(place) = next(&missed) {
        *rounds += 1;
        let range = trials * *rounds..trials * (*rounds + 1);
        let station = ladders.station(bench.scenario(), place);
        let seen = bench.trial(&station, range)?;
        let one = checked(ladders, place, &seen, target);
        if one.reaches {
            return Ok(Tried { confirmed: Some((one, seen)), missed });
        }
        missed.push(one);
    }
    Ok(Tried { confirmed: None, missed })
}
