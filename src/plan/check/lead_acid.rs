//! Lead-acid batteries: their capacities, their absorption volts, the air around them.

use super::{Check, num};
use crate::scenario::battery::{AcidKind, Battery, LeadAcid, Temperature};
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind};
use crate::station::battery::{acid, register};
use crate::station::ventilation::{self, Charging, gassing_ma_per_ah};
use crate::warning::Kind;

/// Absorption volts of a cell: datasheets name 2.3 to 2.5.
const ABSORPTION_CELL_V: (f64, f64) = (2.2, 2.7);
/// Change of set points with temperature, V per kelvin and cell: datasheets name -3 to -5 mV.
const COMPENSATION_CELL_V: (f64, f64) = (-0.007, -0.0015);
/// Rooms in which set points need no compensation, deg C: common practice, no source.
const ROOM_C: (f64, f64) = (15.0, 30.0);

impl Check<'_> {
    pub(super) fn lead_acid(&mut self, battery: &LeadAcid) {
        let at = JsonPath::keys(&["battery", "lead_acid"]);
        if self.capacities(battery) {
            self.wells(battery);
        }
        let in_series = f64::from(battery.cells_in_series);
        let cell_v = battery.rated_absorption_v / in_series;
        if !(ABSORPTION_CELL_V.0..=ABSORPTION_CELL_V.1).contains(&cell_v) {
            self.clash(
                "these absorption volts belong to another number of cells",
                (
                    &at.key("rated_absorption_v"),
                    &format!("{} V are {} V a cell", num(battery.rated_absorption_v), num(cell_v)),
                ),
                (&at.key("cells_in_series"), &format!("{} cells", battery.cells_in_series)),
                &format!(
                    "{} to {} V a cell can be.",
                    num(ABSORPTION_CELL_V.0),
                    num(ABSORPTION_CELL_V.1)
                ),
            );
        }
        if battery.full_efficiency_share > battery.charge_efficiency_share {
            self.clash(
                "a full battery stores no larger share than one that is far from full",
                (
                    &at.key("full_efficiency_share"),
                    &format!("{} when full", num(battery.full_efficiency_share)),
                ),
                (
                    &at.key("charge_efficiency_share"),
                    &format!("{} before", num(battery.charge_efficiency_share)),
                ),
                "",
            );
        }
        self.cold_to_warm(&at.key("usable_share_at_c"), &battery.usable_share_at_c);
        self.register(&at, &battery.packs, &["strings"]);
        self.heater(&at, battery.heater.as_ref(), &battery.temperature);
        self.usable_in_the_cold(battery);
        if battery.kind == AcidKind::Flooded {
            let air_m3_h = ventilation::air_m3_h(
                battery.cells_in_series,
                gassing_ma_per_ah(battery.kind, Charging::Boost),
                register::rated_ah(battery),
            );
            let text = format!(
                "Flooded cells give off hydrogen while they are charged: the place needs {} m3 of \
                 fresh air an hour, by openings of {} cm2 low down and as much high up \
                 (IEC 62485-2), and nothing may spark in it.",
                num((air_m3_h * 100.0).round() / 100.0),
                num(ventilation::opening_cm2(air_m3_h).ceil())
            );
            self.warn(Kind::Note, &at.key("kind"), text);
        }
    }

    /// Wells that come near all stated capacities: hardly above one, and not far below one.
    fn wells(&mut self, battery: &LeadAcid) {
        let list = JsonPath::keys(&["battery", "lead_acid", "capacities"]);
        let Some(wells) = acid::Wells::fit(&battery.capacities) else {
            return;
        };
        let above = wells.above_shares(&battery.capacities);
        // Shares of what is allowed: the worst is named.
        let worse = |share: f64| {
            share / if share > 0.0 { acid::MOST_ABOVE_SHARE } else { -acid::MOST_BELOW_SHARE }
        };
        let places = above.iter().copied().enumerate();
        let worst = places.clone().max_by(|a, b| worse(a.1).total_cmp(&worse(b.1)));
        let one_place = |ah: f64| num((ah * 10.0).round() / 10.0);
        let stated = |place: usize| {
            let point = battery.capacities[place];
            let near_ah = wells.capacity_ah(point.discharge_h);
            (num(point.capacity_ah), num(point.discharge_h), one_place(near_ah))
        };
        if let Some((place, _)) = worst.filter(|(_, share)| worse(*share) > 1.0) {
            let (ah, hours, near_ah) = stated(place);
            let label = format!("{ah} Ah over {hours} h, and the nearest battery has {near_ah} Ah");
            let percent = |share: f64| num(100.0 * share);
            let problem =
                Problem::new(ProblemKind::Impossible, "no lead-acid battery has these capacities")
                    .about(&list)
                    .at(self.spans, &list.index(place).key("capacity_ah"), &label)
                    .allowed(&format!(
                        "capacities that one battery has: the nearest is at most {} % above and {} % \
                         below each",
                        percent(acid::MOST_ABOVE_SHARE),
                        percent(acid::MOST_BELOW_SHARE)
                    ))
                    .hint(
                        "Look at all of them for a slip: the one that is wrong need not be the one \
                         that stands out. Take the capacities at 20 h and at 1 h from one datasheet, \
                         down to the same end volts.",
                    );
            self.found(problem);
            return;
        }
        for (place, share) in places.filter(|(_, share)| *share < -acid::TOLD_BELOW_SHARE) {
            let (ah, hours, near_ah) = stated(place);
            let text = format!(
                "{ah} Ah over {hours} h stand out of these capacities: the station counts on \
                 {near_ah} Ah, {} % less. Look for a slip in the capacities.",
                one_place(-100.0 * share)
            );
            self.warn(Kind::Note, &list.index(place).key("capacity_ah"), text);
        }
    }

    /// Longer discharges give more charge at a smaller current.
    fn capacities(&mut self, battery: &LeadAcid) -> bool {
        let list = JsonPath::keys(&["battery", "lead_acid", "capacities"]);
        if battery.capacities.len() < 2 {
            let text = "a lead-acid battery needs its capacity at two rates or more";
            let problem = Problem::new(ProblemKind::MissingKey, text)
                .about(&list)
                .at(self.spans, &list, &format!("found {}", battery.capacities.len()))
                .hint("The datasheet has them at 20 h and at 1 h: a table of rates and hours.");
            self.found(problem);
            return false;
        }
        let mut order: Vec<usize> = (0..battery.capacities.len()).collect();
        let of = |place: usize| battery.capacities[place];
        order.sort_by(|a, b| of(*a).discharge_h.total_cmp(&of(*b).discharge_h));
        let mut good = true;
        for pair in order.windows(2) {
            let (short, long) = (of(pair[0]), of(pair[1]));
            let hours = |h: f64| format!("over {} h", num(h));
            if short.discharge_h >= long.discharge_h {
                self.clash(
                    "a battery has one capacity at one rate",
                    (&list.index(pair[1]).key("discharge_h"), &hours(long.discharge_h)),
                    (&list.index(pair[0]).key("discharge_h"), "and again"),
                    "",
                );
                good = false;
            } else if short.capacity_ah >= long.capacity_ah {
                self.clash(
                    "a lead-acid battery gives less the faster it is emptied",
                    (
                        &list.index(pair[0]).key("capacity_ah"),
                        &format!("{} Ah {}", num(short.capacity_ah), hours(short.discharge_h)),
                    ),
                    (
                        &list.index(pair[1]).key("capacity_ah"),
                        &format!("{} Ah {}", num(long.capacity_ah), hours(long.discharge_h)),
                    ),
                    "Take all of them from one datasheet, down to the same end volts.",
                );
                good = false;
            }
        }
        good
    }

    /// Set points that should follow the battery's temperature, and those that should not.
    pub(super) fn compensation(&mut self) {
        let sources = super::set_points::charges(self.scenario);
        let acid = match &self.scenario.battery {
            Battery::LeadAcid(acid) => acid,
            Battery::LithiumIronPhosphate(_) => {
                for (path, charge, whose, _) in sources {
                    if charge.compensation_v_per_k.is_some_and(|per_k| per_k < 0.0) {
                        let text = format!(
                            "The set points of {whose} follow the battery’s temperature: lithium \
                             cells need the same volts at any temperature."
                        );
                        self.warn(Kind::Note, &path.key("compensation_v_per_k"), text);
                    }
                }
                return;
            }
            Battery::Ideal(_) => return,
        };
        let in_series = f64::from(acid.cells_in_series);
        let (least, most) = COMPENSATION_CELL_V;
        let mut without = Vec::new();
        for (path, charge, whose, feeds) in sources {
            match charge.compensation_v_per_k {
                Some(per_k) if !(least..=most).contains(&(per_k / in_series)) && per_k < 0.0 => {
                    let text = format!(
                        "{} V per kelvin are {} mV a cell; -3 to -5 mV are usual.",
                        num(per_k),
                        num(1000.0 * per_k / in_series)
                    );
                    self.warn(Kind::Note, &path.key("compensation_v_per_k"), text);
                }
                Some(per_k) if per_k < 0.0 => {}
                _ if feeds => without.push((path, whose)),
                _ => {}
            }
        }
        let steady = matches!(acid.temperature, Temperature::FixedC(at_c)
            if (ROOM_C.0..=ROOM_C.1).contains(&at_c));
        if let Some((path, _)) = without.first().filter(|_| !steady) {
            let text = format!(
                "The set points of {} do not follow the battery’s temperature: in the cold a \
                 lead-acid battery stays short of full, in the heat it gasses.",
                without.iter().map(|(_, whose)| whose.as_str()).collect::<Vec<_>>().join(", ")
            );
            self.warn(Kind::Note, path, text);
        }
    }
}
