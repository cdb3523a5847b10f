//! Cautions: where all this can hurt somebody.

use super::material::Material;
use super::section::{Point, Section};
use crate::decide::cautions::cautions as chosen;
use crate::show::cautions::{EVERY_STATION, words};

/// What comes before anything that is said here.
const FIRST: &str = "This is a calculation, and a calculation never wired anything. Local codes, the \
    makers' instructions and people licensed for the work come before anything said here.";

/// Tells the section: what the station needs first, then what belongs to every station.
#[must_use]
pub fn cautions(it: &Material) -> Section {
    let mut section = Section::new("cautions", "Cautions");
    section.prose(FIRST);
    let chosen = chosen(it.scenario).into_iter().map(words).map(|it| (it.strong, it.more));
    let all = chosen.chain(EVERY_STATION);
    section.points(all.map(|(strong, text)| Point::new(strong, text)).collect());
    section
}
