//! Sizes to choose from: in their order, of parts that the station has.

use super::{Check, num};
use crate::scenario::battery::Battery;
use crate::scenario::choices::{BatteryChoice, BatterySize, Choices};
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind};

impl Check<'_> {
    pub(super) fn choices(&mut self) {
        let Some(choices) = &self.scenario.sizing else { return };
        let at = JsonPath::keys(&["sizing"]);
        self.panel_choices(choices, &at.key("panels"));
        match &choices.battery {
            Some(BatteryChoice::Strings(strings)) => {
                let path = at.key("battery").key("strings");
                if matches!(self.scenario.battery, Battery::Ideal(_)) {
                    let problem = Problem::new(
                        ProblemKind::Impossible,
                        "an ideal battery has no strings to count",
                    )
                    .at_key(self.spans, &path, "here")
                    .hint("Give `sizes` with `capacity_wh` instead.");
                    self.found(problem);
                }
                let counts = strings.counts.iter().map(|count| f64::from(*count));
                self.rising(&path.key("counts"), counts.collect(), None);
            }
            Some(BatteryChoice::Sizes(sizes)) => {
                self.battery_sizes(sizes, &at.key("battery").key("sizes"));
            }
            None => {}
        }
        self.charger_choices(choices, &at.key("chargers"));
    }

    fn panel_choices(&mut self, choices: &Choices, at: &JsonPath) {
        let Some(panels) = &choices.panels else { return };
        let counts = panels.counts.iter().map(|count| f64::from(*count));
        self.rising(&at.key("counts"), counts.collect(), None);
        if !panels.controllers.is_empty() {
            let limits = panels.controllers.iter().map(|it| it.output_limit_a).collect();
            self.rising(&at.key("controllers"), limits, Some("output_limit_a"));
        }
        if !panels.tilt_deg.is_empty() {
            self.rising(&at.key("tilt_deg"), panels.tilt_deg.clone(), None);
        }
    }

    fn battery_sizes(&mut self, sizes: &[BatterySize], at: &JsonPath) {
        let ideal = matches!(self.scenario.battery, Battery::Ideal(_));
        let (wanted, other) =
            if ideal { ("capacity_wh", "capacity_ah") } else { ("capacity_ah", "capacity_wh") };
        let mut found = Vec::new();
        for (index, size) in sizes.iter().enumerate() {
            let (given, stray) = if ideal {
                (size.capacity_wh, size.capacity_ah)
            } else {
                (size.capacity_ah, size.capacity_wh)
            };
            let path = at.index(index);
            if stray.is_some() {
                let text = format!("a size of this battery is given by `{wanted}`");
                let problem = Problem::new(ProblemKind::Conflict, &text).at_key(
                    self.spans,
                    &path.key(other),
                    "not by this",
                );
                self.found(problem);
            } else if given.is_none() {
                let text = format!("a size needs its `{wanted}`");
                let problem = Problem::new(ProblemKind::MissingKey, &text).at(
                    self.spans,
                    &path,
                    "not given here",
                );
                self.found(problem);
            }
            found.extend(given);
        }
        if found.len() == sizes.len() {
            self.rising(at, found, Some(wanted));
        }
    }

    fn charger_choices(&mut self, choices: &Choices, at: &JsonPath) {
        if choices.chargers.is_empty() {
            return;
        }
        if self.scenario.supply.as_ref().is_none_or(|supply| supply.charger.is_none()) {
            let text = "there is no charger to choose: the station has no supply that charges";
            let problem = Problem::new(ProblemKind::Impossible, text)
                .at_key(self.spans, at, "here")
                .hint("Give the `supply` a `charger`, or leave `chargers` out.");
            self.found(problem);
        }
        let limits = choices.chargers.iter().map(|it| it.limit_a).collect();
        self.rising(at, limits, Some("limit_a"));
    }

    /// A drop sequence has at least one step, and each is larger than the one before.
    fn rising(&mut self, at: &JsonPath, sizes: Vec<f64>, key: Option<&str>) {
        let step = |index: usize| {
            let path = at.index(index);
            key.map_or_else(|| path.clone(), |key| path.key(key))
        };
        if sizes.is_empty() {
            let problem = Problem::new(ProblemKind::MissingKey, "there is nothing to choose from")
                .at(self.spans, at, "empty");
            self.found(problem);
        }
        for index in 1..sizes.len() {
            if sizes[index] <= sizes[index - 1] {
                self.clash(
                    "sizes to choose from must rise",
                    (&step(index), &format!("{} is not more than", num(sizes[index]))),
                    (&step(index - 1), "this one"),
                    "",
                );
                return;
            }
        }
    }
}
