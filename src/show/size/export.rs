//! Every station that was simulated, for other programs: `stations.csv`. Writing files is the caller's.

use serde::Serialize;

use crate::chance::intervals::{Confidence, clopper_pearson_lower, wilson};
use crate::chance::merge::Tally;
use crate::decide::size::Sizing;
use crate::decide::size::ladder::Place;

/// A row of the table.
#[derive(Serialize)]
struct Row {
    trials_are: &'static str,
    panels: u32,
    rated_w: f64,
    controller_limit_a: Option<f64>,
    tilt_deg: Option<f64>,
    strings: Option<u32>,
    rated_ah: f64,
    capacity_ah: f64,
    charger_limit_a: Option<f64>,
    price: Option<f64>,
    mass_kg: Option<f64>,
    first_trial: u64,
    trials: u64,
    survived: u64,
    on_air_share: f64,
    readiness_low_share: f64,
    readiness_high_share: f64,
    readiness_lower_share: f64,
}

/// Stations of the search (`search`) and those of the fresh trials (`fresh`), a row each.
///
/// # Errors
/// Those of the writer; in memory there are none but a lack of memory.
pub fn stations_csv(sizing: &Sizing) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for it in &sizing.simulated {
        writer.serialize(row(sizing, "search", it.place, 0, (it.survived, it.trials)))?;
    }
    let neighbours = sizing.smaller.iter().chain(&sizing.larger).map(|it| &it.station);
    let fresh = sizing.missed.iter().chain(&sizing.chosen).chain(&sizing.smallest_stations);
    for it in fresh.chain(&sizing.largest).chain(neighbours) {
        let counts = (it.survived, it.trials);
        writer.serialize(row(sizing, "fresh", it.place, it.first_trial, counts))?;
    }
    writer
        .into_inner()
        .map_err(|failed| csv::Error::from(std::io::Error::from(failed.into_error().kind())))
}

fn row(
    sizing: &Sizing,
    trials_are: &'static str,
    place: Place,
    first_trial: u64,
    (survived, trials): (u64, u64),
) -> Row {
    let ladders = &sizing.options;
    let (panels, battery) = (&ladders.panels[place.panels], &ladders.batteries[place.battery]);
    let tally = Tally::of_trials(survived, trials).unwrap_or_default();
    let range = wilson(tally, Confidence::NINETY_FIVE);
    let costs = ladders.costs(place);
    Row {
        trials_are,
        panels: panels.count,
        rated_w: panels.rated_w,
        controller_limit_a: panels.controller_limit_a,
        tilt_deg: ladders.tilts_deg[place.tilt],
        strings: battery.strings,
        rated_ah: battery.rated_ah,
        capacity_ah: battery.capacity_ah,
        charger_limit_a: ladders.chargers[place.charger].limit_a,
        price: costs.price,
        mass_kg: costs.mass_kg,
        first_trial,
        trials,
        survived,
        on_air_share: tally.share(),
        readiness_low_share: range.low,
        readiness_high_share: range.high,
        readiness_lower_share: clopper_pearson_lower(tally, Confidence::NINETY_FIVE),
    }
}
