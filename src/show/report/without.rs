//! Without a part, and what to measure first.

use super::super::odds::sentence::Words;
use super::super::text::clean;
use super::super::without::table::{lost_table, swing_table};
use super::super::without::{first_sentence, measure_sentence, pictures};
use super::material::Material;
use super::section::{Point, Section};

/// Tells the section.
#[must_use]
pub fn without(it: &Material) -> Section {
    let mut section = Section::new("without", "Without a part, and what to measure first");
    let found = match it.without {
        Ok(found) => found,
        Err(why) => {
            section.prose(why.as_str());
            return section;
        }
    };
    section.prose(first_sentence(found));
    section.prose(measure_sentence(found));
    section.prose(format!(
        "A part is missing from the first warm-up day on, as if nobody noticed its fault. Each was \
         simulated in {}.",
        Words::of(found.occasion).counted(found.trials)
    ));
    for picture in pictures(found) {
        section.picture(picture);
    }
    section.table("What the station survives without each part", lost_table(found));
    if let Some(table) = swing_table(found) {
        section.table("What it survives at both ends of each guess", table);
    }
    section.points(found.not_moved.iter().map(|it| Point::plain(clean(it))).collect());
    section
}
