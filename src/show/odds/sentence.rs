//! The first sentence: in how many trials the station stayed on the air, in counts.

use super::super::text::clean;
use super::super::words::{hours, number, trimmed};
use super::Trials;
use crate::decide::odds::{Occasion, Odds};

/// What a trial is called, chosen here and nowhere else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Words {
    /// One of them.
    pub one: &'static str,
    /// Many.
    pub many: &'static str,
}

impl Words {
    /// The words for an occasion: every trial with exactly one outage is a simulated outage, any other
    /// is a simulated period, whose length is said with it.
    #[must_use]
    pub fn of(occasion: Occasion) -> Self {
        match occasion {
            Occasion::OutageWithStorm | Occasion::Outage => {
                Self { one: "simulated outage", many: "simulated outages" }
            }
            Occasion::WeatherAndGrid | Occasion::Weather => {
                Self { one: "simulated period", many: "simulated periods" }
            }
        }
    }

    /// `10,000 simulated outages`, `1 simulated outage`.
    #[must_use]
    pub fn counted(self, count: u64) -> String {
        format!("{} {}", whole(count), if count == 1 { self.one } else { self.many })
    }

    /// `Simulated outages`, at the start of a sentence.
    #[must_use]
    pub fn capital(self) -> String {
        format!("{}{}", self.many[..1].to_uppercase(), &self.many[1..])
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

/// `On the air for all 72 hours in 9,871 of 10,000 simulated outages.`
#[must_use]
pub fn first_sentence(odds: &Odds) -> String {
    let words = Words::of(odds.occasion);
    let all = match hours(odds.hours) {
        text if text == "1 hour" => "the whole hour".to_owned(),
        text => format!("all {text}"),
    };
    let counted = words.counted(odds.trials);
    let many = words.many;
    let stayed = odds.trials.saturating_sub(odds.failures);
    if odds.load_wh <= 0.0 {
        return format!("No load needs power in {counted}.");
    }
    if odds.trials == 0 {
        return format!("No {} was run.", words.one);
    }
    let kept = if odds.failures == 0 && odds.trials > 1 {
        format!("On the air for {all} in all {counted}.")
    } else if stayed == 0 {
        format!("On the air for {all} in none of {counted}.")
    } else {
        format!("On the air for {all} in {} of {counted}.", whole(stayed))
    };
    if odds.ended_early {
        let asked = whole(odds.trials_asked);
        format!("{kept} Ended early: {asked} {many} were asked for.")
    } else {
        kept
    }
}

/// What leads every picture where trials fail: the share that fails, and when. `Off the air in 26 % of
/// 10,000 simulated outages within 72 hours: the first after 23 h, half of them by 52 h`. `None` where none fails.
#[must_use]
pub fn failing(trials: Trials) -> Option<String> {
    let Trials { odds, answers, .. } = trials;
    let off_air = &answers.first_off_air_min;
    let (first, half) = (off_air.places().next()?, off_air.lower_median()?);
    let many = Words::of(odds.occasion).many;
    let counted = format!("{} {many}", whole(odds.trials));
    let share = if odds.failures == odds.trials {
        format!("all {counted}")
    } else {
        format!("{} of {counted}", exact_percent(odds.failures as f64 / odds.trials.max(1) as f64))
    };
    let h = |minute: i64| trimmed(minute as f64 / 60.0, 1);
    let when = if first.value == half.value {
        format!("half of them after {} h", h(half.value))
    } else {
        format!("the first after {} h, half of them by {} h", h(first.value), h(half.value))
    };
    Some(format!("Off the air in {share} within {}: {when}", hours(odds.hours)))
}

/// A title behind what fails, if anything does.
#[must_use]
pub fn led_by_failing(trials: Trials, found: &str) -> String {
    let Some(failing) = failing(trials) else { return found.to_owned() };
    let mut letters = found.chars();
    let first = letters.next().map_or(String::new(), |first| first.to_lowercase().to_string());
    format!("{failing}; {first}{}", letters.as_str())
}

/// Which station, under which strategy. A variant stands in the title.
#[must_use]
pub fn whose(odds: &Odds) -> String {
    format!("{}; strategy \"{}\"", clean(&odds.title), clean(&odds.strategy))
}

/// The first sentence as a title, without its full stop.
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
