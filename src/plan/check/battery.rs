//! The battery by itself, and its volts as other checks need them.

use super::{Check, num};
use crate::plan::compile::battery_of as bank_of;
use crate::scenario::Named;
use crate::scenario::battery::{Battery, CutoffReset, Heater, Pack, Temperature, UsableAt};
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind, list_of};
use crate::scenario::schedule::Attended;
use crate::station::battery::lithium::CELL_NOMINAL_V;
use crate::station::battery::{OneWell, register};
use crate::warning::Kind;

/// Highest charging voltage of a lithium iron phosphate cell, V: charging tables of its
/// datasheets name 3.65.
const LITHIUM_HIGHEST_CELL_V: f64 = 3.65;
/// What a lead-acid cell is equalised at at most, V: common practice, no source.
const ACID_HIGHEST_CELL_V: f64 = 2.7;

/// A test that finds more than this times the rated capacity is odd.
const MOST_OF_NAMEPLATE: f64 = 1.3;

/// Cells of one chemistry as they are sold.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cells {
    /// Volts by which one is named, V.
    pub nominal_v: f64,
    /// How many stand in series.
    pub sold: [f64; 4],
    /// Set points of one, V.
    pub set_points_v: (f64, f64),
}

const LITHIUM_CELLS: Cells =
    Cells { nominal_v: CELL_NOMINAL_V, sold: [1.0, 4.0, 8.0, 16.0], set_points_v: (3.3, 3.7) };
const ACID_CELLS: Cells =
    Cells { nominal_v: 2.0, sold: [3.0, 6.0, 12.0, 24.0], set_points_v: (2.2, 2.6) };

impl Cells {
    /// How many of them in series a set point suits, of the numbers that are sold.
    pub(super) fn meant_for(&self, set_point_v: f64) -> Option<f64> {
        let (least_v, most_v) = self.set_points_v;
        self.sold.into_iter().find(|cells| (least_v..=most_v).contains(&(set_point_v / cells)))
    }
}

/// The volts of a battery that bound what its surroundings may ask.
pub(super) struct BatteryVolts {
    bank: OneWell,
    /// Highest set point that it takes, V; none for an ideal battery.
    pub highest_v: Option<f64>,
    /// The same a cell, V.
    pub highest_cell_v: f64,
    /// What is known of its cells, for guessing which battery a set point was meant for.
    pub cells: Cells,
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
                let bank = bank_of(battery);
                let in_series = f64::from(cells.cells_in_series);
                let highest_v = LITHIUM_HIGHEST_CELL_V * in_series;
                Self {
                    highest_v: Some(highest_v),
                    highest_cell_v: LITHIUM_HIGHEST_CELL_V,
                    cells: LITHIUM_CELLS,
                    empty_v: bank.board_open_v.max(bank.curve.volts(0.0)),
                    full_v: highest_v,
                    path: JsonPath::keys(&["battery", "lithium_iron_phosphate", "cells_in_series"]),
                    label: format!(
                        "{} cells: {} V rated",
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
                    highest_cell_v: ACID_HIGHEST_CELL_V,
                    cells: ACID_CELLS,
                    empty_v: bank.board_open_v,
                    full_v: ACID_HIGHEST_CELL_V * in_series,
                    path: JsonPath::keys(&["battery", "lead_acid", "cells_in_series"]),
                    label: format!(
                        "{} cells: {} V rated",
                        acid.cells_in_series,
                        num(2.0 * in_series)
                    ),
                    bank,
                }
            }
            Battery::Ideal(ideal) => Self {
                bank: bank_of(battery),
                highest_v: None,
                highest_cell_v: f64::INFINITY,
                cells: LITHIUM_CELLS,
                empty_v: ideal.empty_v,
                full_v: ideal.full_v,
                path: JsonPath::keys(&["battery", "ideal"]),
                label: format!("{} V empty, {} V full", num(ideal.empty_v), num(ideal.full_v)),
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
                if cells.cell_reconnect_v <= cells.cell_cutoff_v {
                    self.clash(
                        "the BMS must close at higher volts than it opens at",
                        (
                            &at.key("cell_reconnect_v"),
                            &format!("closes at {} V", num(cells.cell_reconnect_v)),
                        ),
                        (
                            &at.key("cell_cutoff_v"),
                            &format!("opens at {} V", num(cells.cell_cutoff_v)),
                        ),
                        "3.0 V to close and 2.5 V to open are usual.",
                    );
                }
                let inhibit = cells.charge_inhibit;
                if inhibit.resume_above_c < inhibit.below_c {
                    let at = at.key("charge_inhibit");
                    self.clash(
                        "charging must start again at a warmer temperature than it stops at",
                        (
                            &at.key("resume_above_c"),
                            &format!("starts above {} deg C", num(inhibit.resume_above_c)),
                        ),
                        (
                            &at.key("below_c"),
                            &format!("stops below {} deg C", num(inhibit.below_c)),
                        ),
                        "",
                    );
                }
                self.cold_to_warm(&at.key("usable_share_at_c"), &cells.usable_share_at_c);
                self.register(&at, &cells.packs, &["strings", "capacity_ah"]);
                if cells.capacity_ah.is_none() && cells.packs.is_empty() {
                    let text = "nothing says how much the battery holds";
                    let problem = Problem::new(ProblemKind::MissingKey, text)
                        .at_key(self.spans, &at, "neither `capacity_ah` nor `packs`")
                        .hint("Give `capacity_ah` of one string, or a register of `packs`.");
                    self.found(problem);
                }
                self.heater(&at, cells.heater.as_ref(), &cells.temperature);
                if cells.cutoff_reset == CutoffReset::ByHand
                    && self.scenario.attended == Attended::Never
                {
                    let text = "Once its BMS has opened the battery stays off: it must be reset by \
                                hand and nobody comes.";
                    self.warn(Kind::Note, &at.key("cutoff_reset"), text);
                }
            }
            Battery::LeadAcid(acid) => self.lead_acid(acid),
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
        if start.charge_share.is_some() && start.warmup_days.is_some() {
            let at = JsonPath::keys(&["start"]);
            let problem = Problem::new(
                ProblemKind::Conflict,
                "`start` gives both the charge and warm-up days that find it",
            )
            .at_key(self.spans, &at.key("warmup_days"), "days that find the charge")
            .at_key(self.spans, &at.key("charge_share"), "the charge itself")
            .hint("Take one of them away.");
            self.found(problem);
        }
        if let Some([low, high]) = start.charge_between_share {
            let at = JsonPath::keys(&["start"]);
            let between = at.key("charge_between_share");
            let other = [
                ("charge_share", start.charge_share.is_some(), "the charge itself"),
                ("warmup_days", start.warmup_days.is_some(), "days that find the charge"),
            ];
            for (key, _, label) in other.into_iter().filter(|(_, given, _)| *given) {
                let text = "`start` says in two ways what the charge is";
                let problem = Problem::new(ProblemKind::Conflict, text)
                    .at_key(self.spans, &at.key(key), label)
                    .at_key(self.spans, &between, "bounds of the charge")
                    .hint("Take one of them away.");
                self.found(problem);
            }
            if high < low {
                self.clash(
                    "the bounds of the charge are the wrong way round",
                    (&between.index(1), &format!("{} is below", num(high))),
                    (&between.index(0), "this one"),
                    "The lower bound comes first.",
                );
            }
        }
    }

    /// Packs stand in place of strings and their capacity.
    pub(super) fn register(&mut self, at: &JsonPath, packs: &Named<Pack>, instead_of: &[&str]) {
        if packs.is_empty() {
            return;
        }
        let given: Vec<JsonPath> = instead_of
            .iter()
            .map(|key| at.key(key))
            .filter(|path| self.spans.place(path).is_some())
            .collect();
        if !given.is_empty() {
            let text = "the battery is given one way, not two";
            let mut problem = Problem::new(ProblemKind::Conflict, text);
            for path in &given {
                problem = problem.at_key(self.spans, path, "as equal strings");
            }
            let problem = problem
                .at_key(self.spans, &at.key("packs"), "as a register of packs")
                .hint("Each pack is a string: take the one or the other away.");
            self.found(problem);
        }
        for (name, pack) in packs {
            let at = at.key("packs").key(name);
            if let Some(measured_ah) = pack.measured_ah
                && measured_ah > MOST_OF_NAMEPLATE * pack.rated_ah
            {
                let text = format!(
                    "“{name}” holds {} Ah by its test and {} Ah on its label: are they swapped?",
                    num(measured_ah),
                    num(pack.rated_ah)
                );
                self.warn(Kind::Note, &at.key("measured_ah"), text);
            }
            if pack.tested.is_some() && pack.measured_ah.is_none() {
                let text = format!("“{name}” was tested and nothing says what the test found.");
                self.warn(Kind::Note, &at.key("tested"), text);
            }
        }
    }

    /// A heater needs cells whose temperature can change.
    pub(super) fn heater(
        &mut self,
        at: &JsonPath,
        heater: Option<&Heater>,
        temperature: &Temperature,
    ) {
        if heater.is_some() && matches!(temperature, Temperature::FixedC(_)) {
            let text = "The heater warms nothing: the cells’ temperature is fixed. Let it follow the \
                        air.";
            self.warn(Kind::Note, &at.key("heater"), text);
        }
    }

    /// What an answer rests on when nobody has measured what the battery holds.
    pub(super) fn nameplate(&mut self) {
        let battery = &self.scenario.battery;
        if !register::rests_on_nameplate(battery) {
            return;
        }
        let (chemistry, key, packs) = match battery {
            Battery::LithiumIronPhosphate(it) => {
                ("lithium_iron_phosphate", "capacity_ah", Some(&it.packs))
            }
            Battery::LeadAcid(it) => ("lead_acid", "capacities", Some(&it.packs)),
            Battery::Ideal(_) => ("ideal", "capacity_wh", None),
        };
        let unmeasured: Vec<&str> = packs
            .into_iter()
            .flatten()
            .filter(|(_, pack)| pack.measured_ah.is_none())
            .map(|(name, _)| name.as_str())
            .collect();
        let at = JsonPath::keys(&["battery", chemistry]);
        let doubted = num(100.0 * register::DOUBTED_SHARE);
        let (path, what) = match unmeasured.as_slice() {
            [] => (at.key(key), "The battery’s capacity is not measured".to_owned()),
            [one] => (at.key("packs").key(one), format!("Nobody has measured the pack “{one}”")),
            several => {
                let list = list_of(several.iter().copied());
                (at.key("packs"), format!("Nobody has measured {} packs: {list}", several.len()))
            }
        };
        let text = format!(
            "{what}: the answer rests on the rated capacity. `run` shows the answer with {doubted} % of that \
             beside it."
        );
        self.warn(Kind::Nameplate, &path, text);
    }

    /// The points of a table of temperatures must be in order.
    pub(super) fn cold_to_warm(&mut self, list: &JsonPath, points: &[UsableAt]) {
        for place in 1..points.len() {
            if points[place].cell_c <= points[place - 1].cell_c {
                self.clash(
                    "the points of `usable_share_at_c` must go from cold to warm",
                    (&list.index(place).key("cell_c"), "not warmer than the point before"),
                    (&list.index(place - 1).key("cell_c"), "the point before"),
                    "",
                );
            }
        }
    }
}
