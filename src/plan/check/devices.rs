//! The volts that devices need, and the leads that bring them.

use super::battery::BatteryVolts;
use super::{Check, num};
use crate::scenario::json_path::JsonPath;
use crate::scenario::loads::{Lead, Wire};
use crate::scenario::problem::{Problem, ProblemKind};

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
        lead(&["supply"], scenario.supply.as_ref().and_then(|it| it.lead.as_ref()));
        lead(&["vehicle"], scenario.vehicle.as_ref().and_then(|it| it.lead.as_ref()));
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
