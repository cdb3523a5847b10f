//! How to make this page again, to the byte.

use super::super::odds::sentence::whole;
use super::super::tables::{Side, Table};
use super::super::text::clean;
use super::material::Material;
use super::section::{Block, Section};

/// Tells the section.
#[must_use]
pub fn remake(it: &Material) -> Section {
    let odds = it.trials.odds;
    let mut section = Section::new("remake", "How to make this page again");
    section.prose(
        "The same scenario, seed and version give the same page to the byte, on any machine and any \
         number of threads.",
    );
    section.push(Block::Code(it.command.to_owned()));
    let mut table = Table::new(&[("What", Side::Left), ("value", Side::Left)]);
    for (what, value) in [
        ("Scenario", it.trials.subject.name.clone()),
        ("Fingerprint (SHA-256 of the scenario as understood)", odds.scenario_sha256.clone()),
        ("Strategy", odds.strategy.clone()),
        ("Seed", odds.seed.to_string()),
        ("Trials", whole(odds.trials)),
        ("Version of longwatch", odds.version.clone()),
    ] {
        table.row(&[what.to_owned(), clean(&value)]);
    }
    section.table("What this page was made from", table);
    if let Ok(text) = serde_json::to_string_pretty(it.scenario) {
        section.push(Block::Folded { title: "The scenario as it was understood".to_owned(), text });
    }
    section
}
