//! The mains supply and the strategies that switch it.

use super::{Check, num};
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind};
use crate::scenario::schedule::{Attended, SupplyRule};
use crate::scenario::sources::Joins;
use crate::warning::Kind;

/// From this chance on a warning comes in `run`.
const WARNS_IN_RUN: f64 = 0.5;

impl Check<'_> {
    pub(super) fn supply(&mut self) {
        if let Some(supply) = &self.scenario.supply {
            let at = JsonPath::keys(&["supply"]);
            if supply.joins == Joins::ChargerOnly && supply.charger.is_none() {
                let text = "this supply does nothing: it only charges, and has no charger";
                let problem = Problem::new(ProblemKind::MissingKey, text)
                    .at(self.spans, &at.key("joins"), "only charges")
                    .hint("Give it a `charger`, or another way to join.");
                self.found(problem);
            }
            let carries = self.scenario.outlet_groups.values().any(|group| group.on_supply);
            if supply.joins == Joins::Changeover && supply.charger.is_none() && !carries {
                let text = "This supply does nothing: no outlet group is marked `on_supply`, and it has no charger.";
                self.warn(Kind::Unused, &at.key("joins"), text);
            }
            if supply.joins != Joins::Changeover && carries {
                let text = "`on_supply` does nothing: only a supply that joins by changeover carries groups.";
                self.warn(Kind::Note, &at.key("joins"), text);
            }
            if let Some(charger) = supply.charger.as_ref().filter(|it| it.limit_a > supply.limit_a)
            {
                let text = format!(
                    "The charger’s {} A are more than the supply’s {} A: the supply’s limit counts.",
                    num(charger.limit_a),
                    num(supply.limit_a)
                );
                self.warn(Kind::Note, &at.key("charger").key("limit_a"), text);
            }
        }
        for (name, strategy) in &self.scenario.strategies {
            let path = JsonPath::keys(&["strategies", name, "supply"]);
            self.rule(&path, &strategy.supply, *name == self.scenario.strategy);
            if self.scenario.supply.is_none()
                && *name == self.scenario.strategy
                && strategy.supply != SupplyRule::Never
            {
                let text = format!(
                    "The strategy “{name}” switches a supply that the station does not have."
                );
                self.warn(Kind::Note, &path, text);
            }
        }
    }

    fn rule(&mut self, path: &JsonPath, rule: &SupplyRule, in_force: bool) {
        match rule {
            SupplyRule::Always | SupplyRule::Never => {}
            SupplyRule::Windows { r#in: names } => {
                if names.is_empty() {
                    let text = "This rule names no window: the supply is never on.";
                    self.warn(Kind::Note, &path.key("windows").key("in"), text);
                }
            }
            SupplyRule::TopUp { start_below_share, stop_above_share } => {
                let at = path.key("top_up");
                if start_below_share >= stop_above_share {
                    self.clash(
                        "a top-up must stop at a higher charge than it starts at",
                        (
                            &at.key("stop_above_share"),
                            &format!("stops at {}", num(*stop_above_share)),
                        ),
                        (
                            &at.key("start_below_share"),
                            &format!("starts below {}", num(*start_below_share)),
                        ),
                        "",
                    );
                }
                if self.scenario.attended == Attended::Never {
                    let text =
                        "This top-up never starts: it is switched on by hand and nobody comes.";
                    self.warn(Kind::Note, &at, text);
                }
            }
            SupplyRule::Warned { otherwise, .. } => {
                let at = path.key("warned");
                match &self.scenario.warning {
                    None => {
                        let problem = Problem::new(
                            ProblemKind::MissingKey,
                            "this strategy waits for warnings, but nobody warns",
                        )
                        .at_key(self.spans, &at, "waits for a warning")
                        .hint(
                            "Describe the service at the top of the file: \
                             `\"warning\": {\"chance\": ..., \"lead_time_h\": ...}`.",
                        );
                        self.found(problem);
                    }
                    Some(service) if in_force && service.chance < WARNS_IN_RUN => {
                        let text = format!(
                            "No warning comes in a single run: its chance, {}, is below {}.",
                            num(service.chance),
                            num(WARNS_IN_RUN)
                        );
                        self.warn(
                            Kind::WarningNotCounted,
                            &JsonPath::keys(&["warning", "chance"]),
                            text,
                        );
                    }
                    Some(_) => {}
                }
                self.rule(&at.key("otherwise"), otherwise, in_force);
            }
        }
    }
}
