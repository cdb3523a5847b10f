//! The first sentence: in how many trials the station stayed on the air, in counts.

use super::super::text::clean;
use super::super::words::{hours, number, trimmed};
use crate::decide::odds::{Occasion, Odds};

/// What trials are called.
#[derive(Debug, Clone, Copy)]
pub struct Words {
    /// One of them.
    pub one: &'static str,
    /// Many.
    pub many: &'static str,
    /// In them, or under them.
    pub within: &'static str,
    /// One of them as a case: `Mean storm`.
    pub case: &'static str,
}

impl Words {
    /// The words for an occasion.
    #[must_use]
    pub fn of(occasion: Occasion) -> Self {
        match occasion {
            Occasion::Storm => Self { one: "storm", many: "storms", within: "in", case: "storm" },
            Occasion::Outage => {
                Self { one: "outage", many: "outages", within: "in", case: "outage" }
            }
            Occasion::Trial => Self { one: "trial", many: "trials", within: "in", case: "trial" },
            Occasion::Sky => Self { one: "sky", many: "skies", within: "under", case: "trial" },
        }
    }

    /// `10,000 storms`, `1 storm`.
    #[must_use]
    pub fn counted(self, count: u64) -> String {
        format!("{} {}", whole(count), if count == 1 { self.one } else { self.many })
    }
}

/// A count with commas between thousands.
#[must_use]
pub fn whole(count: u64) -> String {
    number(count as f64, 0)
}

/// A share as percent with two digits that count on the side that is nearer: `98.7 %`, `99.95 %`,
/// `0.012 %`. Never rounds to all or nothing what is neither.
#[must_use]
pub fn exact_percent(share: f64) -> String {
    let nearer = share.min(1.0 - share) * 100.0;
    let mut decimals = 0;
    let mut power = 1.0;
    while nearer > 0.0 && nearer * power < 9.95 && decimals < 8 {
        decimals += 1;
        power *= 10.0;
    }
    format!("{} %", trimmed(share * 100.0, decimals))
}

/// `On the air for all 72 hours in 9,871 of 10,000 storms.`
#[must_use]
pub fn first_sentence(odds: &Odds) -> String {
    let words = Words::of(odds.occasion);
    let all = match hours(odds.hours) {
        text if text == "1 hour" => "the whole hour".to_owned(),
        text => format!("all {text}"),
    };
    let counted = words.counted(odds.trials);
    let Words { within, many, .. } = words;
    let stayed = odds.trials.saturating_sub(odds.failures);
    if odds.load_wh <= 0.0 {
        return format!("No load asked for power {within} {counted}.");
    }
    if odds.trials == 0 {
        return format!("No {} was done.", words.one);
    }
    let kept = if odds.failures == 0 && odds.trials > 1 {
        format!("On the air for {all} {within} all {counted}.")
    } else if stayed == 0 {
        format!("Not once on the air for {all} {within} {counted}.")
    } else {
        format!("On the air for {all} {within} {} of {counted}.", whole(stayed))
    };
    if odds.ended_early {
        let asked = whole(odds.trials_asked);
        format!("{kept} Ended early: {asked} {many} were asked for.")
    } else {
        kept
    }
}

/// The same as a title, without its full stop.
#[must_use]
pub fn title(odds: &Odds) -> String {
    let said = first_sentence(odds);
    let first = said.split_once(". ").map_or(said.as_str(), |(first, _)| first);
    clean(first.trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_never_round_to_all_or_nothing() {
        for (share, text) in [
            (1.0, "100 %"),
            (0.0, "0 %"),
            (0.9871, "98.7 %"),
            (0.9995, "99.95 %"),
            (0.999_999_9, "99.99999 %"),
            (0.5, "50 %"),
            (0.05, "5 %"),
            (0.000_12, "0.012 %"),
            (0.7013, "70 %"),
        ] {
            assert_eq!(exact_percent(share), text, "{share}");
        }
    }
}
