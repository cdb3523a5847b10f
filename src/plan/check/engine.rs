//! The generator and the vehicle: what starts them, what they burn, who is there.

use chrono::Duration;

use super::{Check, num};
use crate::clock::TimesOfDay;
use crate::plan::compile::engine_direct_w;
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind};
use crate::scenario::schedule::{Attended, Grid};
use crate::scenario::sources::Generator;
use crate::warning::Kind;

/// From this chance to fail on an engine does not start in `run`.
const FAILS_IN_RUN: f64 = 0.5;
/// How finely two windows are compared, min.
const COMPARED_MIN: i64 = 5;
/// Over how many days.
const COMPARED_DAYS: i64 = 8;

impl Check<'_> {
    pub(super) fn generator(&mut self) {
        let Some(generator) = &self.scenario.generator else { return };
        let at = JsonPath::keys(&["generator"]);
        match &self.scenario.supply {
            None => {
                let text = "the generator has nothing to feed: the station has no supply";
                let problem = Problem::new(ProblemKind::MissingKey, text)
                    .at_key(self.spans, &at, "gives alternating current")
                    .hint("Describe the `supply`, with its charger, that it feeds.");
                self.found(problem);
            }
            Some(supply) => {
                let direct_w =
                    engine_direct_w(generator, supply, self.scenario.site.elevation_m);
                if direct_w <= 0.0 {
                    let text = "the generator has nothing left for the supply";
                    self.clash(
                        text,
                        (&at.key("other_w"), &format!("{} W for others", num(generator.other_w))),
                        (&at.key("rated_w"), &format!("of {} W", num(generator.rated_w))),
                        "",
                    );
                }
            }
        }
        let rule = generator.rule;
        if rule.start_below_share >= rule.stop_above_share {
            let at = at.key("rule");
            self.clash(
                "the generator must stop at a higher charge than it starts at",
                (
                    &at.key("stop_above_share"),
                    &format!("stops at {}", num(rule.stop_above_share)),
                ),
                (
                    &at.key("start_below_share"),
                    &format!("starts below {}", num(rule.start_below_share)),
                ),
                "",
            );
        }
        if let Some(text) = self.never_starts(generator) {
            self.warn(Kind::Note, &at, text);
            return;
        }
        if let Some(tank_l) = generator.tank_l.filter(|tank_l| *tank_l > generator.fuel_l) {
            let text = format!(
                "The tank holds {} l and there are {} l: it is never full.",
                num(tank_l),
                num(generator.fuel_l)
            );
            self.warn(Kind::Note, &at.key("tank_l"), text);
        }
        self.while_nobody_is_there(generator);
    }

    /// Why the generator never starts in a single run.
    fn never_starts(&self, generator: &Generator) -> Option<String> {
        if generator.fuel_l <= 0.0 {
            Some("The generator never starts: it has no fuel.".to_owned())
        } else if generator.fails_to_start_chance >= FAILS_IN_RUN {
            Some(format!(
                "The generator never starts in a single run: its chance to fail, {}, is {} or more.",
                num(generator.fails_to_start_chance),
                num(FAILS_IN_RUN)
            ))
        } else if self.scenario.attended == Attended::Never {
            Some("The generator never starts: it is started by hand and nobody comes.".to_owned())
        } else if self.scenario.grid == Grid::Always {
            Some("The generator never starts: the mains never fails.".to_owned())
        } else {
            None
        }
    }

    /// Somebody must start it and refuel it.
    fn while_nobody_is_there(&mut self, generator: &Generator) {
        let Attended::In(attended) = &self.scenario.attended else { return };
        let at = JsonPath::keys(&["generator"]);
        let path = if generator.allowed.is_some() { at.key("allowed") } else { at };
        match self.compare(generator.allowed.as_ref(), attended) {
            Some((0, _)) => {
                let text = format!(
                    "The generator never starts: when it may run nobody is there (“{attended}”)."
                );
                self.warn(Kind::Note, &path, text);
            }
            Some((_, alone)) if alone > 0 => {
                let text = format!(
                    "The generator may run on when nobody is there (outside “{attended}”): then \
                     nobody starts or refuels it."
                );
                self.warn(Kind::Note, &path, text);
            }
            _ => {}
        }
    }

    /// How many instants of some days lie in one window and in another, and in the first alone.
    fn compare(&self, one: Option<&String>, other: &str) -> Option<(usize, usize)> {
        let windows = &self.scenario.windows;
        let other = TimesOfDay::new(windows.get(other)?).ok()?;
        let one = match one {
            Some(name) => Some(TimesOfDay::new(windows.get(name)?).ok()?),
            None => None,
        };
        let (mut both, mut alone) = (0, 0);
        for place in 0..COMPARED_DAYS * 24 * 60 / COMPARED_MIN {
            let passed = Duration::minutes(place * COMPARED_MIN);
            let at = self.scenario.span.start.checked_add_signed(passed)?;
            if one.as_ref().is_none_or(|times| times.contains(at)) {
                if other.contains(at) { both += 1 } else { alone += 1 }
            }
        }
        Some((both, alone))
    }

    pub(super) fn vehicle(&mut self) {
        if self.scenario.vehicle.is_some() && self.scenario.attended == Attended::Never {
            let text = "The vehicle never charges: somebody must bring it and nobody comes.";
            self.warn(Kind::Note, &JsonPath::keys(&["vehicle", "connected"]), text);
        }
    }
}
