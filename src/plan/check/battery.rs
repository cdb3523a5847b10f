//! The battery by itself, and its volts as other checks need them.

use super::{Check, num};
use crate::scenario::battery::Battery;
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind};
use crate::plan::compile::battery_of as bank_of;
use crate::station::battery::{OneWell, acid, ideal, lithium};

/// Highest charging voltage of a lithium iron phosphate cell, V: charging tables of its
/// datasheets name 3.65.
const LITHIUM_HIGHEST_CELL_V: f64 = 3.65;
/// What a lead-acid cell is equalised at at the most, V: common practice, no source.
const ACID_HIGHEST_CELL_V: f64 = 2.7;

/// The volts of a battery that bound what its surroundings may ask.
pub(super) struct BatteryVolts {
    bank: OneWell,
    /// Highest set point that it takes, V; none for an ideal battery.
    pub highest_v: Option<f64>,
    /// Volts at which nothing more comes out, V.
    pub empty_v: f64,
    /// Volts at which all that belongs in is in, V.
    pub full_v: f64,
    /// What says how many volts it has, for marking.
    pub path: JsonPath,
    /// A few words beside that mark.
    pub label: String,
}

impl BatteryVolts {
    /// The volts of a battery.
    pub(super) fn of(battery: &Battery) -> Self {
        match battery {
            Battery::LithiumIronPhosphate(cells) => {
                let bank = lithium::bank(cells);
                let in_series = f64::from(cells.cells_in_series);
                let highest_v = LITHIUM_HIGHEST_CELL_V * in_series;
                Self {
                    highest_v: Some(highest_v),
                    empty_v: bank.board_open_v.max(bank.curve.volts(0.0)),
                    full_v: highest_v,
                    path: JsonPath::keys(&["battery", "lithium_iron_phosphate", "cells_in_series"]),
                    label: format!(
                        "{} cells: {} V nominal",
                        cells.cells_in_series,
                        num(bank.nominal_v)
                    ),
                    bank,
                }
            }
            Battery::LeadAcid(acid) => {
                let in_series = f64::from(acid.cells_in_series);
                let bank = bank_of(battery);
                Self {
                    highest_v: Some(ACID_HIGHEST_CELL_V * in_series),
                    empty_v: bank.board_open_v,
                    full_v: ACID_HIGHEST_CELL_V * in_series,
                    path: JsonPath::keys(&["battery", "lead_acid", "cells_in_series"]),
                    label: format!("{} cells: {} V nominal", acid.cells_in_series, num(2.0 * in_series)),
                    bank,
                }
            }
            Battery::Ideal(battery) => Self {
                bank: ideal::bank(battery),
                highest_v: None,
                empty_v: battery.empty_v,
                full_v: battery.full_v,
                path: JsonPath::keys(&["battery", "ideal"]),
                label: format!("{} V empty, {} V full", num(battery.empty_v), num(battery.full_v)),
            },
        }
    }

    /// Charge at which a set point stops charging, share.
    pub(super) fn charge_at_set_point(&self, set_point_v: f64) -> f64 {
        self.bank.curve.share(set_point_v - self.bank.half_gap_v).clamp(0.0, 1.0)
    }

    /// Volts at rest of a charge, V.
    pub(super) fn rest_v(&self, charge_share: f64) -> f64 {
        self.bank.curve.volts(charge_share)
    }

    /// Volts by which it is named, V.
    pub(super) fn nominal_v(&self) -> f64 {
        self.bank.nominal_v
    }
}

impl Check<'_> {
    pub(super) fn battery(&mut self) {
        match &self.scenario.battery {
            Battery::LithiumIronPhosphate(cells) => {
                let at = JsonPath::keys(&["battery", "lithium_iron_phosphate"]);
                if cells.cell_again_v <= cells.cell_cutoff_v {
                    self.clash(
                        "the battery's board must close at higher volts than it opens at",
                        (
                            &at.key("cell_again_v"),
                            &format!("closes at {} V", num(cells.cell_again_v)),
                        ),
                        (
                            &at.key("cell_cutoff_v"),
                            &format!("opens at {} V", num(cells.cell_cutoff_v)),
                        ),
                        "3.0 V to close and 2.5 V to open are usual.",
                    );
                }
                let inhibit = cells.charge_inhibit;
                if inhibit.again_above_c < inhibit.below_c {
                    let at = at.key("charge_inhibit");
                    self.clash(
                        "charging must start again at a warmer temperature than it stops at",
                        (
                            &at.key("again_above_c"),
                            &format!("starts above {} deg C", num(inhibit.again_above_c)),
                        ),
                        (
                            &at.key("below_c"),
                            &format!("stops below {} deg C", num(inhibit.below_c)),
                        ),
                        "",
                    );
                }
                let points = &cells.usable_share_at_c;
                for place in 1..points.len() {
                    if points[place].cell_c <= points[place - 1].cell_c {
                        let list = at.key("usable_share_at_c");
                        self.clash(
                            "the points of `usable_share_at_c` must go from cold to warm",
                            (&list.index(place).key("cell_c"), "not warmer than the point before"),
                            (&list.index(place - 1).key("cell_c"), "the point before"),
                            "",
                        );
                    }
                }
            }
            Battery::LeadAcid(acid) => {
                let at = JsonPath::keys(&["battery", "lead_acid"]);
                if acid::Wells::fit(&acid.capacities).is_none() {
                    let problem = Problem::new(ProblemKind::Impossible, "no lead-acid battery has these capacities")
                        .about(&at.key("capacities"))
                        .at(self.spans, &at.key("capacities"), "two rates or more")
                        .hint("Longer discharges give more: take the capacities at 20 h and at 1 h from the datasheet, to the same end volts.");
                    self.found(problem);
                }
            }
            Battery::Ideal(battery) => {
                if battery.full_v < battery.empty_v {
                    let at = JsonPath::keys(&["battery", "ideal"]);
                    self.clash(
                        "a full battery cannot have fewer volts than an empty one",
                        (&at.key("full_v"), &format!("full at {} V", num(battery.full_v))),
                        (&at.key("empty_v"), &format!("empty at {} V", num(battery.empty_v))),
                        "",
                    );
                }
            }
        }
        let start = &self.scenario.start;
        if start.charge_share.is_some() && start.settle_days.is_some() {
            let at = JsonPath::keys(&["start"]);
            let problem = Problem::new(
                ProblemKind::Conflict,
                "`start` says both what the charge is and that it is found by settling",
            )
            .at_key(self.spans, &at.key("settle_days"), "days that find the charge")
            .at_key(self.spans, &at.key("charge_share"), "the charge itself")
            .hint("Take one of them away.");
            self.found(problem);
        }
    }
}
