//! The report: one page that holds everything that is found of a station.
//!
//! Lives here: what a section is ([`section`]), one file a section, the page they make ([`mod@page`]), its
//! looks ([`looks`]). A section is plain text, tables and pictures; nothing but the page writes HTML,
//! so nothing that a user typed can become any. Does not live here: computing, and the disk.

pub mod assumptions;
pub mod card;
pub mod cautions;
pub mod charge_and_power;
pub mod diagram;
pub mod distribution;
pub mod frontier;
pub mod independence;
pub mod looks;
pub mod material;
pub mod odds;
pub mod page;
pub mod remake;
pub mod section;
pub mod strategies;
pub mod sun_and_load;
pub mod trust;
pub mod verdict;
pub mod without;

pub use material::Material;
pub use page::page;
pub use section::{Block, Listing, Section};

/// Tells one section.
pub type Teller = fn(&Material) -> Section;

/// The sections in the order of the page.
pub const SECTIONS: [Teller; 14] = [
    verdict::verdict,
    diagram::diagram,
    sun_and_load::sun_and_load,
    charge_and_power::charge_and_power,
    odds::odds,
    strategies::strategies,
    frontier::frontier,
    card::card,
    without::without,
    distribution::distribution,
    independence::independence,
    assumptions::assumptions,
    cautions::cautions,
    remake::remake,
];

/// The whole page.
#[must_use]
pub fn report(material: &Material) -> String {
    use rayon::prelude::*;
    let sections: Vec<Section> = SECTIONS.par_iter().map(|tell| tell(material)).collect();
    page(material, &sections)
}
