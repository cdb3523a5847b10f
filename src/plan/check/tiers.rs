//! Tiers and the charges at which they follow each other.

use super::{Check, num};
use crate::scenario::json_path::JsonPath;
use crate::scenario::loads::{Draw, Shedding};
use crate::scenario::problem::{Problem, ProblemKind};
use crate::warning::Kind;

impl Check<'_> {
    pub(super) fn tiers(&mut self) {
        let tiers = &self.scenario.tiers;
        let list = JsonPath::keys(&["tiers"]);
        if tiers.is_empty() {
            let problem = Problem::new(ProblemKind::MissingKey, "the station has no tier")
                .at(self.spans, &list, "empty")
                .hint("Give one that holds every load: `{\"name\": \"all\", \"loads\": {\"...\": {}}}`.");
            self.found(problem);
            return;
        }
        for (index, tier) in tiers.iter().enumerate() {
            if let Some(first) = tiers[..index].iter().position(|other| other.name == tier.name) {
                let text = format!("two tiers are called `{}`", tier.name);
                let problem = Problem::new(ProblemKind::Conflict, &text)
                    .at(self.spans, &list.index(index).key("name"), "here again")
                    .at(self.spans, &list.index(first).key("name"), "first here")
                    .hint("Give one of them another name.");
                self.found(problem);
            }
            for (name, in_tier) in &tier.loads {
                let Some(load) = self.scenario.loads.get(name) else { continue };
                let path = list.index(index).key("loads").key(name);
                if in_tier.transmit_share.is_some_and(|share| share > 0.0)
                    && load.transmit_share <= 0.0
                {
                    self.must_transmit(&path.key("transmit_share"), name, load);
                }
                if in_tier.power_share.is_some() && !matches!(load.draw, Draw::Envelope { .. }) {
                    let text = format!("the power of `{name}` cannot be turned down");
                    let draw = JsonPath::keys(&["loads", name, "draw"]);
                    let problem = Problem::new(ProblemKind::Impossible, &text)
                        .at(self.spans, &path.key("power_share"), "asked for here")
                        .at_key(self.spans, &draw, "its draw does not depend on power")
                        .hint("Describe it by an `envelope` draw, or leave `power_share` out.");
                    self.found(problem);
                }
            }
        }
        match &self.scenario.shedding {
            Some(shedding) if shedding.card.is_empty() => self.thresholds(shedding),
            Some(shedding) => self.card(shedding),
            None if tiers.len() > 1 => {
                let text = "Without `shedding` only the first tier is ever in force.";
                self.warn(Kind::Unused, &list, text);
            }
            None => {}
        }
    }

    fn thresholds(&mut self, shedding: &Shedding) {
        let wanted = self.scenario.tiers.len() - 1;
        let at = JsonPath::keys(&["shedding"]);
        let lists = [
            ("down_below_share", &shedding.down_below_share),
            ("up_above_share", &shedding.up_above_share),
        ];
        for (key, values) in lists {
            let path = at.key(key);
            if values.len() != wanted {
                let text = format!("`{key}` must hold one value fewer than there are tiers");
                let problem = Problem::new(ProblemKind::WrongType, &text)
                    .at(self.spans, &path, &format!("{} values", values.len()))
                    .at_key(
                        self.spans,
                        &JsonPath::keys(&["tiers"]),
                        &format!("{} tiers", wanted + 1),
                    )
                    .allowed(&format!(
                        "{wanted} value{}: one between each tier and the next",
                        if wanted == 1 { "" } else { "s" }
                    ));
                self.found(problem);
                continue;
            }
            for index in 1..values.len() {
                if values[index] >= values[index - 1] {
                    let text = format!("the values of `{key}` must fall from tier to tier");
                    self.clash(
                        &text,
                        (&path.index(index), &format!("{} is not below", num(values[index]))),
                        (&path.index(index - 1), "this one"),
                        "The fullest tier comes first and needs the highest charge.",
                    );
                }
            }
        }
        if lists.iter().any(|(_, values)| values.len() != wanted) {
            return;
        }
        let pairs = shedding.down_below_share.iter().zip(&shedding.up_above_share);
        for (index, (down, up)) in pairs.enumerate() {
            if up <= down {
                let tiers = &self.scenario.tiers;
                let name = |place: usize| tiers.get(place).map_or("", |tier| tier.name.as_str());
                let text = format!(
                    "tier `{}` would come back at a charge at which it is given up",
                    name(index)
                );
                self.clash(
                    &text,
                    (
                        &at.key("up_above_share").index(index),
                        &format!("comes back above {}", num(*up)),
                    ),
                    (
                        &at.key("down_below_share").index(index),
                        &format!("given up below {}", num(*down)),
                    ),
                    "Leave a gap of about 0.1 between them.",
                );
            }
        }
    }
}
