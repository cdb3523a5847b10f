//! The one-line diagram of the station.

use super::super::diagram::diagram as draw;
use super::material::Material;
use super::section::Section;

/// Tells the section.
#[must_use]
pub fn diagram(it: &Material) -> Section {
    let mut section = Section::new("diagram", "One-line diagram");
    section.picture(draw(it.scenario, it.plan, it.findings));
    section.prose(
        "Drawn from the scenario: what it does not state is not drawn. It is no wiring plan.",
    );
    section
}
