//! Card: at which charge to be in which tier.

use super::super::card::text::{rows_table, tried_table, why_chosen};
use super::super::card::{below, first_sentence, floor_words, how_to_read, looks};
use super::material::Material;
use super::section::Section;

/// Tells the section.
#[must_use]
pub fn card(it: &Material) -> Section {
    let mut section = Section::new("card", "Operating card");
    let found = match it.card {
        Ok(found) => found,
        Err(why) => {
            section.prose(why.as_str());
            return section;
        }
    };
    section.prose(first_sentence(found));
    section.table("At or above which charge to be in which tier", rows_table(found));
    section.prose(format!("{} {}", looks(found), below(found)));
    section.prose(how_to_read(found));
    section.table("How the card fares", tried_table(found));
    let why = why_chosen(found);
    if !why.is_empty() {
        section.prose(why);
    }
    if let Some(floor) = floor_words(found) {
        section.prose(floor);
    }
    section.prose("The command \"longwatch card\" prints it on a page of its own, to be hung up beside the battery.");
    section
}
