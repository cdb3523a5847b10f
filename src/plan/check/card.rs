//! An operating card in place of thresholds.

use super::{Check, num};
use crate::scenario::json_path::JsonPath;
use crate::scenario::loads::{CardRow, Shedding};
use crate::scenario::problem::{Problem, ProblemKind, likely, list_of};
use crate::scenario::schedule::Grid;

/// The word for a decision at the beginning of the span.
const AT_START: &str = "start";

impl Check<'_> {
    /// Judges the card of a scenario that has one.
    pub(super) fn card(&mut self, shedding: &Shedding) {
        let at = JsonPath::keys(&["shedding"]);
        let list = at.key("card");
        for (key, values) in [
            ("down_below_share", &shedding.down_below_share),
            ("up_above_share", &shedding.up_above_share),
        ] {
            if !values.is_empty() {
                let text = "the tier is decided one way, not two";
                let problem = Problem::new(ProblemKind::Conflict, text)
                    .at_key(self.spans, &at.key(key), "by thresholds")
                    .at_key(self.spans, &list, "by a card")
                    .hint("Take one of them away.");
                self.found(problem);
            }
        }
        for (index, row) in shedding.card.iter().enumerate() {
            self.card_row(shedding, &list.index(index), row);
        }
        for word in &shedding.decide_at {
            let from_the_beginning =
                |row: &CardRow| row.from_h <= 0.0 && row.at.as_ref().is_none_or(|it| it == word);
            if !shedding.card.iter().any(from_the_beginning) {
                let text = format!("no row of the card says what to do at `{word}`");
                let problem = Problem::new(ProblemKind::MissingKey, &text)
                    .at_key(self.spans, &list, "none is for it from hour 0 on")
                    .hint("Give a row for it, or one without `at`, that begins at hour 0.");
                self.found(problem);
            }
        }
        if matches!(self.scenario.grid, Grid::OutageAtRandom(_)) {
            let later = shedding.card.iter().position(|row| row.from_h > 0.0);
            let starts = shedding.decide_at.iter().position(|word| word == AT_START);
            let wrong = later
                .map(|row| list.index(row).key("from_h"))
                .or_else(|| starts.map(|word| at.key("decide_at").index(word)));
            if let Some(path) = wrong {
                let text = "each trial has its own beginning: no decision can be counted from it";
                let problem = Problem::new(ProblemKind::Impossible, text)
                    .at(self.spans, &path, "counted from the beginning of the span")
                    .hint("With `outage_at_random` a card has rows that begin at hour 0 only.");
                self.found(problem);
            }
        }
    }

    fn card_row(&mut self, shedding: &Shedding, at: &JsonPath, row: &CardRow) {
        if let Some(word) = &row.at
            && !shedding.decide_at.contains(word)
        {
            let words = || shedding.decide_at.iter().map(String::as_str);
            let text = format!("nobody decides at `{word}`");
            let label = match likely(word, words()) {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => "not in `decide_at`".to_owned(),
            };
            let problem = Problem::new(ProblemKind::UnknownName, &text)
                .at(self.spans, &at.key("at"), &label)
                .allowed(&list_of(words()));
            self.found(problem);
        }
        let path = at.key("at_least_share");
        let wanted = self.scenario.tiers.len() - 1;
        if row.at_least_share.len() != wanted {
            let text = "a row of a card must hold one value fewer than there are tiers";
            let problem = Problem::new(ProblemKind::WrongType, text)
                .at(self.spans, &path, &format!("{} values", row.at_least_share.len()))
                .at_key(self.spans, &JsonPath::keys(&["tiers"]), &format!("{} tiers", wanted + 1));
            self.found(problem);
            return;
        }
        for index in 1..row.at_least_share.len() {
            let (before, here) = (row.at_least_share[index - 1], row.at_least_share[index]);
            if here > before {
                self.clash(
                    "the values of a row of a card must not rise from tier to tier",
                    (&path.index(index), &format!("{} is above", num(here))),
                    (&path.index(index - 1), "this one"),
                    "The fullest tier comes first and needs the highest charge.",
                );
            }
        }
    }
}
