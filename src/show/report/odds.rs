//! Odds: the station under many skies and outages.

use super::super::odds::fan::fan;
use super::super::odds::lowest::lowest;
use super::super::odds::on_air::on_air;
use super::super::odds::origin::origin;
use super::super::odds::sentence::Words;
use super::super::odds::table::{
    case_table, cause_table, energy_table, how_sure, readiness_table, replay_table, tier_table,
};
use super::material::Material;
use super::section::Section;

/// Tells the section.
#[must_use]
pub fn odds(it: &Material) -> Section {
    let odds = it.trials.odds;
    let words = Words::of(odds.occasion);
    let mut section = Section::new("odds", "Chance of staying on the air");
    let drawn = match odds.occasion {
        crate::decide::odds::Occasion::OutageWithStorm => {
            "In each outage a storm takes the mains once and dims the sun"
        }
        crate::decide::odds::Occasion::Outage => {
            "In each outage the mains fails once, in any weather"
        }
        crate::decide::odds::Occasion::Weather => "Only the weather is drawn",
        crate::decide::odds::Occasion::WeatherAndGrid => "The mains fails and comes back as it may",
    };
    section.prose(format!(
        "{drawn}. The station was simulated in {}. A {} counts as a success when no \
         essential load went without power for a moment and the station never stepped down to a \
         tier in which it is not on the air.",
        words.counted(odds.trials),
        words.one
    ));
    section.table("How many were still on the air", readiness_table(odds));
    section.prose(sentences(&how_sure(odds)));
    section.picture(on_air(it.trials));
    if let Some(table) = cause_table(odds) {
        section.table("Why the others were not: the first reason that applies", table);
    }
    section.picture(fan(it.trials));
    section.table("The middle and the bad cases", case_table(odds));
    section.picture(lowest(it.trials));
    section.table("Energy", energy_table(odds));
    section.picture(origin(it.trials));
    if let Some(table) = tier_table(odds) {
        section.table("Hours in each tier, and without power", table);
    }
    section.table("Cases to look at, with their full ledger", replay_table(odds, it.replay));
    section
}

/// Lines of a terminal as one paragraph.
fn sentences(lines: &str) -> String {
    lines.split_whitespace().collect::<Vec<_>>().join(" ")
}
