//! The first sentence: which station, and how often it stays on the air.

use super::super::odds::sentence::{Words, exact_percent, whole};
use super::super::text::clean;
use super::super::words::{charge, hours, number, trimmed};
use crate::decide::size::confirm::Checked;
use crate::decide::size::ladder::{Ladders, Place};
use crate::decide::size::{Minimize, Sizing};

/// `8 x 100 W and 5 x 100 Ah`.
#[must_use]
pub fn station(ladders: &Ladders, place: Place) -> String {
    let said = format!("{} and {}", panels(ladders, place.panels), battery(ladders, place.battery));
    let charger = ladders.chargers[place.charger].limit_a.filter(|_| ladders.chargers.len() > 1);
    let tilt = ladders.tilts_deg[place.tilt].filter(|_| ladders.tilts_deg.len() > 1);
    let more = charger
        .map(|limit_a| format!("charger of {} A", trimmed(limit_a, 1)))
        .into_iter()
        .chain(tilt.map(|tilt_deg| format!("slope of {} deg", trimmed(tilt_deg, 1))));
    more.fold(said, |said, more| format!("{said}, {more}"))
}

/// `8 x 100 W`, `no panels`.
#[must_use]
pub fn panels(ladders: &Ladders, step: usize) -> String {
    let step = &ladders.panels[step];
    match (step.count, &ladders.array) {
        (0, _) => "no panels".to_owned(),
        (_, None) => format!("{} W", number(step.rated_w, 0)),
        (count, Some(_)) => {
            format!("{count} x {} W", trimmed(step.rated_w / f64::from(count), 1))
        }
    }
}

/// `5 x 100 Ah`, `500 Ah`.
#[must_use]
pub fn battery(ladders: &Ladders, step: usize) -> String {
    let step = &ladders.batteries[step];
    match step.strings {
        Some(count) => format!("{count} x {}", charge(step.rated_ah / f64::from(count))),
        None => charge(step.rated_ah),
    }
}

/// `2,720 crowns`, `2,720` where nobody says in which money.
#[must_use]
pub fn money(ladders: &Ladders, price: f64) -> String {
    match &ladders.currency {
        Some(currency) => format!("{} {}", trimmed(price, 2), clean(currency)),
        None => trimmed(price, 2),
    }
}

/// `on the air for all 72 hours`, with its lowest tier.
#[must_use]
pub fn feat(sizing: &Sizing) -> String {
    let floor = sizing.wanted.lowest_tier.as_ref();
    let never = floor.map_or(String::new(), |tier| format!(", never below \"{}\",", clean(tier)));
    format!("on the air for all {}{never}", hours(f64::from(sizing.wanted.hours)))
}

/// `in 9,607 of 10,000 simulated outages`.
#[must_use]
pub fn counted(sizing: &Sizing, survived: u64, trials: u64) -> String {
    let words = Words::of(sizing.occasion);
    format!("in {} of {}", whole(survived), words.counted(trials))
}

/// The first sentence.
#[must_use]
pub fn first_sentence(sizing: &Sizing) -> String {
    let ladders = &sizing.options;
    if let Some(chosen) = &sizing.chosen {
        let what = station(ladders, chosen.place);
        let head = match (sizing.least, chosen.costs.price, chosen.costs.mass_kg) {
            (Minimize::Cost, Some(price), _) => {
                format!("Cheapest: {what} for {}", money(ladders, price))
            }
            (Minimize::Mass, _, Some(mass_kg)) => {
                format!("Lightest: {what}, {} kg", trimmed(mass_kg, 1))
            }
            _ => what,
        };
        let Checked { survived, trials, .. } = *chosen;
        return format!("{head}; {} {}.", feat(sizing), counted(sizing, survived, trials));
    }
    match sizing.smallest_stations.as_slice() {
        [] => missed_sentence(sizing),
        [only] => format!(
            "The smallest station: {}; {} {}.",
            station(ladders, only.place),
            feat(sizing),
            counted(sizing, only.survived, only.trials)
        ),
        [first, .., last] => format!(
            "{} smallest stations, from {} to {}; {} in {} of {} or more.",
            sizing.smallest_stations.len(),
            station(ladders, first.place),
            station(ladders, last.place),
            feat(sizing),
            exact_percent(sizing.wanted.chance),
            Words::of(sizing.occasion).many
        ),
    }
}

/// That no station reaches it, and what the largest one reaches.
#[must_use]
pub fn missed_sentence(sizing: &Sizing) -> String {
    let words = Words::of(sizing.occasion);
    let head = format!(
        "No station to choose from is {} in {} of {}",
        feat(sizing),
        exact_percent(sizing.wanted.chance),
        words.many
    );
    match &sizing.largest {
        Some(largest) => format!(
            "{head}: the largest, {}, is {}.",
            station(&sizing.options, largest.place),
            counted(sizing, largest.survived, largest.trials)
        ),
        None => format!("{head}."),
    }
}
