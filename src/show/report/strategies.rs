//! Strategies: ways to switch the supply, and variants, in the same trials.

use super::super::compare::table::{
    charge_table, month_table, pair_table, readiness_table, span_table,
};
use super::super::compare::{first_sentence, pictures, rules_note};
use super::super::odds::sentence::Words;
use super::material::Material;
use super::section::Section;

/// Tells the section.
#[must_use]
pub fn strategies(it: &Material) -> Section {
    let mut section = Section::new("strategies", "Strategies");
    let found = match it.comparison {
        Ok(found) => found,
        Err(why) => {
            section.prose(why.as_str());
            return section;
        }
    };
    section.prose(first_sentence(found));
    if let Some(note) = rules_note(found) {
        section.prose(note);
    }
    section.prose(format!(
        "Each was simulated in the same {}.",
        Words::of(found.occasion).counted(found.trials)
    ));
    section.table("How many each survives", readiness_table(found));
    for picture in pictures(found) {
        section.picture(picture);
    }
    section.table("What only one of two survives", pair_table(found));
    section.table("Charge, and what the span takes", charge_table(found));
    section.table("Hours of the span", span_table(found));
    if let Some(table) = month_table(found) {
        section.table("A month of normal operation", table);
    }
    section
}
