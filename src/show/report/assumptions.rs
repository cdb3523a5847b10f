//! Assumptions: each model with its trust and source, what the program warns of, what is left out.

use super::super::tables::{Side, Table};
use super::super::text::clean;
use super::material::Material;
use super::section::{Point, Section};
use super::trust::MODELS;

/// What no model here knows of.
pub const LEFT_OUT: [&str; 6] = [
    "Shade from things nearer than the skyline, and wind on panel temperature. Snow falls only when \
     the scenario says so, and covers a panel whole.",
    "Lithium resistance is the same warm or cold, full or empty. Charging is cut off in the cold, not \
     reduced on the way. Cells of a pack are equal. Batteries do not age during a run.",
    "Efficiencies of supply and converters do not change with their load. Devices have no inrush. A \
     generator starts or it does not.",
    "Transmitting is a share of time with a usual length of transmission, not a record of calls.",
    "One battery, one station, a bus of direct current. An inverter is described by its watts and its \
     efficiency.",
    "People do what the scenario says they do, at the hours at which they are there.",
];

/// Tells the section.
#[must_use]
pub fn assumptions(it: &Material) -> Section {
    let mut section = Section::new("assumptions", "Assumptions");
    section.prose(
        "Exact: follows from its definition. Checked: compared with values that others published. \
         Plausible: reasonable, without a value to compare with.",
    );
    let mut table = Table::new(&[
        ("What is modelled", Side::Left),
        ("trust", Side::Left),
        ("source", Side::Left),
    ]);
    for model in MODELS.iter().filter(|model| (model.used)(it.scenario)) {
        table.row(&[model.what, model.trust, model.source]);
    }
    section.table("Models behind this page", table);
    let warnings = &it.trials.odds.warnings;
    if !warnings.is_empty() {
        section.heading("What the program warns of");
        section.points(warnings.iter().map(|it| Point::plain(clean(&it.text))).collect());
    }
    if let Some(notes) = &it.scenario.notes {
        section.heading("Notes of the scenario");
        section.prose(clean(notes));
    }
    section.heading("What is left out");
    section.points(LEFT_OUT.iter().map(|it| Point::plain(*it)).collect());
    section
}
