//! Smallest stations: the smallest stations that reach the target.

use super::super::size::pictures;
use super::super::size::sentence::first_sentence;
use super::super::size::table::{corner_table, stations_table};
use super::super::size::told::told;
use super::super::size::worksheet::worksheet_table;
use super::material::Material;
use super::section::{Point, Section};

/// Tells the section.
#[must_use]
pub fn frontier(it: &Material) -> Section {
    let mut section = Section::new("smallest_stations", "Smallest stations: panels and battery");
    let found = match it.sizing {
        Ok(found) => found,
        Err(why) => {
            section.prose(why.as_str());
            return section;
        }
    };
    section.prose(first_sentence(found));
    for picture in pictures(found) {
        section.picture(picture);
    }
    if let Some((counted, table)) = stations_table(found) {
        section.table(&counted, table);
    }
    section.points(told(found).into_iter().map(Point::plain).collect());
    if let Some(table) = corner_table(found) {
        section.table("The smallest stations that reach the target", table);
    }
    if let Some(hand) = &found.worksheet {
        section.table("The sizing worksheet, for comparison", worksheet_table(hand));
    }
    section
}
