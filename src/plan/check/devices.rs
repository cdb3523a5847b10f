//! The volts that devices need, and the leads that bring them.

use super::battery::BatteryVolts;
use super::loads::peak_a;
use super::{Check, num};
use crate::scenario::battery::Battery;
use crate::scenario::json_path::JsonPath;
use crate::scenario::loads::{Lead, Tier, Wire};
use crate::scenario::problem::{Problem, ProblemKind};
use crate::station::wire::loop_ohm;

/// Share of the volts beyond which more current through a wire brings less power to its end:
/// `P = V I - R I^2` is greatest at `R I = V / 2`.
const MOST_WIRE_DROP: f64 = 0.5;

impl Check<'_> {
    pub(super) fn devices(&mut self) {
        let battery = BatteryVolts::of(&self.scenario.battery);
        for (name, load) in &self.scenario.loads {
            let Some([least_v, most_v]) = load.window_v else { continue };
            let path = JsonPath::keys(&["loads", name, "window_v"]);
            if least_v >= most_v {
                let problem = Problem::new(
                    ProblemKind::Impossible,
                    "a device window goes from the lowest volts to the highest",
                )
                .at(self.spans, &path, &format!("from {} V to {} V", num(least_v), num(most_v)))
                .hint("The lower value comes first.");
                self.found(problem);
            } else if !self.another_battery
                && (least_v > battery.full_v || most_v < battery.empty_v)
            {
                let text = format!("`{name}` can never work on this battery");
                let problem = Problem::new(ProblemKind::Impossible, &text)
                    .at(
                        self.spans,
                        &path,
                        &format!("works from {} V to {} V", num(least_v), num(most_v)),
                    )
                    .at(self.spans, &battery.path, &battery.label)
                    .allowed(&format!(
                        "a window that meets the battery's {} V to {} V",
                        num(battery.empty_v),
                        num(battery.full_v)
                    ));
                self.found(problem);
            }
        }
        if let Some(wire) = self.scenario.main_feed.as_ref().and_then(|it| it.wire.as_ref()) {
            self.wire(&JsonPath::keys(&["main_feed", "wire"]), wire);
        }
        self.source_leads();
        for (name, group) in &self.scenario.outlet_groups {
            if let Some(wire) = &group.wire {
                self.wire(&JsonPath::keys(&["outlet_groups", name, "wire"]), wire);
            }
        }
    }

    /// Wires that would leave their loads no power: beyond half of the volts more current brings less.
    pub(super) fn wires_that_eat_all(&mut self) {
        let battery = BatteryVolts::of(&self.scenario.battery);
        let volts = battery.nominal_v();
        let feed_ohm = self.scenario.main_feed.as_ref();
        let feed_ohm = feed_ohm.and_then(|it| it.wire.as_ref()).map_or(0.0, loop_ohm);
        let all_a = self.peak_a(volts, |_| true);
        let feed = JsonPath::keys(&["main_feed", "wire"]);
        let groups = self.scenario.outlet_groups.iter().filter_map(|(name, group)| {
            let path = JsonPath::keys(&["outlet_groups", name, "wire"]);
            Some((path, loop_ohm(group.wire.as_ref()?), self.peak_a(volts, |it| it == name)))
        });
        let wires: Vec<_> = std::iter::once((feed, feed_ohm, all_a)).chain(groups).collect();
        for (path, ohm, amps) in wires {
            if ohm * amps < volts * MOST_WIRE_DROP {
                continue;
            }
            let label = format!(
                "{} ohm there and back take {} V of {} V at {} A",
                num(ohm),
                num((ohm * amps * 10.0).round() / 10.0),
                num(volts),
                num((amps * 10.0).round() / 10.0)
            );
            let problem =
                Problem::new(ProblemKind::Impossible, "this wire leaves its loads no power")
                    .at_key(self.spans, &path, &label)
                    .allowed(
                        "less than half of the battery’s volts lost with everything transmitting",
                    )
                    .hint("Look at its size, its length (one way, in metres) and its connectors.");
            self.found(problem);
        }
    }

    /// Highest current of the loads of some groups over all tiers, everything transmitting, A.
    fn peak_a(&self, volts: f64, on: impl Fn(&str) -> bool) -> f64 {
        let of_tier = |tier: &Tier| {
            peak_a(
                tier.loads.iter().filter_map(|(name, in_tier)| {
                    let load = self.scenario.loads.get(name)?;
                    on(&load.group).then_some((name.as_str(), load, in_tier))
                }),
                volts,
            )
        };
        self.scenario.tiers.iter().map(of_tier).fold(0.0, f64::max)
    }

    /// The leads of panels, controllers, supply and vehicle.
    fn source_leads(&mut self) {
        let scenario = self.scenario;
        let mut lead = |keys: &[&str], lead: Option<&Lead>| {
            if let Some(wire) = lead.and_then(|it| it.wire.as_ref()) {
                self.wire(&JsonPath::keys(keys).key("lead").key("wire"), wire);
            }
        };
        for (name, array) in &scenario.arrays {
            lead(&["arrays", name], array.lead.as_ref());
        }
        for (name, controller) in &scenario.controllers {
            lead(&["controllers", name, controller.word()], controller.lead());
        }
        let pack = match &scenario.battery {
            Battery::LithiumIronPhosphate(it) => Some(("lithium_iron_phosphate", &it.pack_lead)),
            Battery::LeadAcid(it) => Some(("lead_acid", &it.pack_lead)),
            Battery::Ideal(_) => None,
        };
        lead(&["supply"], scenario.supply.as_ref().and_then(|it| it.lead.as_ref()));
        lead(&["vehicle"], scenario.vehicle.as_ref().and_then(|it| it.lead.as_ref()));
        if let Some((chemistry, Some(pack))) = pack {
            let path = JsonPath::keys(&["battery", chemistry, "pack_lead", "wire"]);
            self.wire(&path, &pack.wire);
        }
    }

    fn wire(&mut self, path: &JsonPath, wire: &Wire) {
        match (wire.awg, wire.mm2) {
            (Some(_), Some(_)) => {
                let problem = Problem::new(ProblemKind::Conflict, "a wire has one size, not two")
                    .at_key(self.spans, &path.key("mm2"), "its area")
                    .at_key(self.spans, &path.key("awg"), "its gauge")
                    .hint("Take one of them away.");
                self.found(problem);
            }
            (None, None) => {
                let problem = Problem::new(ProblemKind::MissingKey, "a wire needs a size")
                    .at_key(self.spans, path, "neither `awg` nor `mm2`")
                    .hint("Give `awg` (American wire gauge) or `mm2` (copper area).");
                self.found(problem);
            }
            _ => {}
        }
    }
}
