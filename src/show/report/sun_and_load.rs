//! Sun and load: what could come, what came, what was asked for.

use super::super::flows::flows;
use super::super::run_table::energy_table;
use super::super::tables::{Side, Table};
use super::super::text::clean;
use super::super::words::{energy, percent, trimmed};
use super::material::Material;
use super::section::Section;
use crate::scenario::loads::{Draw, Load};
use crate::scenario::sun::Sun;

/// Tells the section.
#[must_use]
pub fn sun_and_load(it: &Material) -> Section {
    let mut section = Section::new("sun-and-load", "Sun and load");
    section.prose(sky_sentence(it));
    section.prose(sun_sentence(it));
    section.picture(flows(it.ledger, it.summary));
    section.table(
        "Energy of the span, as simulated hour by hour",
        energy_table(it.ledger, it.summary),
    );
    section.table("Panels", panels(it));
    section.table("Loads as the scenario states them", loads(it));
    section
}

fn sky_sentence(it: &Material) -> String {
    let plays = "The hours below are those of mean days; `odds` draws the weather.";
    match &it.scenario.sun {
        Sun::Climate(_) => format!("Sunlight follows the monthly means of the place. {plays}"),
        Sun::Profile(_) => "Sunlight follows a stated day in the plane of the panels.".to_owned(),
        Sun::Measured(_) => "Sunlight and air are a measured series, hour by hour.".to_owned(),
    }
}

fn sun_sentence(it: &Material) -> String {
    let summary = it.summary;
    let asked = format!("The loads asked for {}", energy(summary.load_wh));
    let shed = if summary.shed_wh > 0.0 {
        format!(" after {} was shed by rule", energy(summary.shed_wh))
    } else {
        String::new()
    };
    if summary.solar_available_wh <= 0.0 {
        return format!("No panel gives anything in this span. {asked}{shed}.");
    }
    let used = percent(summary.solar_used_wh / summary.solar_available_wh);
    format!(
        "The panels could have given {}; {used} of it reached the bus. {asked}{shed}.",
        energy(summary.solar_available_wh)
    )
}

fn panels(it: &Material) -> Table {
    let mut table = Table::new(&[
        ("Array", Side::Left),
        ("rated", Side::Right),
        ("tilt", Side::Right),
        ("faces", Side::Right),
        ("controller", Side::Left),
    ]);
    for (name, array) in &it.scenario.arrays {
        table.row(&[
            clean(name),
            format!("{} x {} W", array.count, trimmed(array.rated_w, 1)),
            format!("{} deg", trimmed(array.tilt_deg, 1)),
            format!("{} deg", trimmed(array.azimuth_deg, 1)),
            clean(&array.controller),
        ]);
    }
    table
}

fn loads(it: &Material) -> Table {
    let mut table = Table::new(&[
        ("Load", Side::Left),
        ("draws", Side::Left),
        ("transmitting", Side::Right),
        ("outlet group", Side::Left),
        ("without it", Side::Left),
    ]);
    for (name, load) in &it.scenario.loads {
        let keyed =
            if load.transmit_share > 0.0 { percent(load.transmit_share) } else { String::new() };
        let without =
            if load.essential { "the station has no power" } else { "the station goes on" };
        table.row(&[clean(name), draws(load), keyed, clean(&load.group), without.to_owned()]);
    }
    table
}

fn draws(load: &Load) -> String {
    let a = |current_a: f64| format!("{} A", trimmed(current_a, 2));
    match &load.draw {
        Draw::Current { receive_a, transmit_a: Some(transmit_a) } => {
            format!("{} receiving, {} transmitting", a(*receive_a), a(*transmit_a))
        }
        Draw::Current { receive_a, transmit_a: None } => a(*receive_a),
        Draw::Envelope { receive_a, full_a, .. } => {
            format!("{} receiving, {} at full carrier", a(*receive_a), a(*full_a))
        }
        Draw::Power { power_w, .. } => format!("{} W", trimmed(*power_w, 1)),
    }
}
