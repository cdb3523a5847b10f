//! The first sentence of a calendar: which month is the weakest, and how weak.

use super::super::odds::sentence::exact_percent;
use super::super::text::clean;
use super::{cases, clock, length, month_name};
use crate::decide::calendar::{Calendar, Month, StrategyCalendar};

/// `December is the weakest month: on the air for 72 hours in 12 % of simulated outages under "solar only",
/// in 87 % under "charger on".`
#[must_use]
pub fn first_sentence(calendar: &Calendar) -> String {
    let (length, cases) = (length(calendar), cases(calendar));
    let mut ranked: Vec<(&StrategyCalendar, &Month)> =
        calendar.strategies.iter().filter_map(|it| Some((it, it.weakest()?))).collect();
    ranked.sort_by(|one, other| one.1.chance.total_cmp(&other.1.chance));
    let (Some((low_name, low)), Some((high_name, high))) = (ranked.first(), ranked.last()) else {
        return "No year was run.".to_owned();
    };
    let (low_name, high_name) = (quoted(low_name), quoted(high_name));
    let several = ranked.len() > 1;
    let under_all = if several { " under every strategy" } else { "" };
    if low.chance >= 1.0 {
        return format!(
            "The station stays on the air for {length} in all {cases} of every month{under_all}."
        );
    }
    let strongest = calendar.strategies.iter().filter_map(StrategyCalendar::strongest);
    if strongest.clone().all(|month| month.chance <= 0.0) {
        return format!("The station stays on the air for {length} in no month{under_all}.");
    }
    let month = month_name(low.month);
    let share = |month: &Month| exact_percent(month.chance);
    if !several {
        let hours = if low.worst_chance < low.best_chance {
            let least = exact_percent(low.worst_chance);
            format!(", lowest at {} ({least})", clock(low.worst_clock_hour))
        } else {
            String::new()
        };
        return format!(
            "{month} is the weakest month: on the air for {length} in {} of {cases}{hours}.",
            share(low)
        );
    }
    let begins = format!(
        "{month} is the weakest month: on the air for {length} in {} of {cases}",
        share(low)
    );
    if high.chance <= low.chance {
        return format!("{begins}{under_all}.");
    }
    let others = if high.chance >= 1.0 {
        format!("in all of every month under {high_name}")
    } else if high.month == low.month {
        format!("in {} under {high_name}", share(high))
    } else {
        format!("in {} of those in {} under {high_name}", share(high), month_name(high.month))
    };
    format!("{begins} under {low_name}, {others}.")
}

fn quoted(strategy: &StrategyCalendar) -> String {
    format!("\"{}\"", clean(&strategy.strategy))
}
