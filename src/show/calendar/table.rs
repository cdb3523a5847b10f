//! A calendar as a page of text: the sentence, a table for each strategy, and how sure it is.

use super::super::compare::table::folded;
use super::super::odds::sentence::{exact_percent, whole};
use super::super::page_text::Page;
use super::super::tables::{Side, Table};
use super::super::text::{clean, columns};
use super::super::words::number;
use super::{cases, clock, first_sentence, month_name, what};
use crate::decide::calendar::{Calendar, StrategyCalendar};

/// Columns that the name of a strategy may take in the head.
const NAME_COLUMNS: usize = 18;

/// The text of a calendar, with columns for these hours of the clock. Warnings are not in it.
#[must_use]
pub fn calendar_table(calendar: &Calendar, clock_hours: &[u32]) -> String {
    calendar_page(calendar, clock_hours).full()
}

/// The same as blocks.
#[must_use]
pub fn calendar_page(calendar: &Calendar, clock_hours: &[u32]) -> Page {
    let lead = format!("{}\n{}", first_sentence(calendar), folded(&clean(&calendar.title), 0));
    let mut page = Page::new(lead);
    let told: Vec<&StrategyCalendar> =
        calendar.strategies.iter().filter(|it| !it.months.is_empty()).collect();
    if told.len() > 1 {
        page = page.block(0, "months", month_table(&told).to_string());
    }
    let rank = usize::from(told.len() > 1) * 2;
    for strategy in told {
        page = page.block(
            rank,
            "hours of the clock",
            strategy_table(strategy, clock_hours).to_string(),
        );
    }
    if calendar.trials > 0 {
        page = page.block(1, "how sure", how_sure(calendar));
    }
    page
}

/// Strategies that a line has room for.
const MOST_STRATEGIES: usize = 4;

/// The months of all strategies, whatever the hour; where there are too many, the first ones.
fn month_table(strategies: &[&StrategyCalendar]) -> Table {
    let shown = &strategies[..strategies.len().min(MOST_STRATEGIES)];
    let names: Vec<String> = shown
        .iter()
        .map(|it| crate::show::compare::table::cut(&it.strategy, MOST_NAME_COLUMNS))
        .collect();
    let rest = strategies.len() - shown.len();
    let first = match rest {
        0 => "Any hour".to_owned(),
        more => format!("Any hour ({more} more: --full)"),
    };
    let mut heads = vec![(first.as_str(), Side::Left)];
    heads.extend(names.iter().map(|name| (name.as_str(), Side::Right)));
    let mut table = Table::new(&heads);
    for month in 1..=12 {
        let cells = shown.iter().map(|it| {
            let found = it.months.iter().find(|one| one.month == month);
            found.map_or("-".to_owned(), |one| percent(one.chance))
        });
        let row: Vec<String> =
            std::iter::once(format!("  {}", month_name(month))).chain(cells).collect();
        table.row(&row);
    }
    table
}

/// Columns that the name of a strategy may take over its column.
const MOST_NAME_COLUMNS: usize = 14;

/// The months of one strategy.
fn strategy_table(strategy: &StrategyCalendar, clock_hours: &[u32]) -> Table {
    let name = shortened(&format!("\"{}\"", clean(&strategy.strategy)));
    let clocks: Vec<String> = clock_hours.iter().map(|hour| clock(*hour)).collect();
    let mut heads = vec![(name.as_str(), Side::Left), ("any hour", Side::Right)];
    heads.extend(clocks.iter().map(|clock| (clock.as_str(), Side::Right)));
    heads.extend([("lowest", Side::Right), ("at", Side::Left)]);
    let mut table = Table::new(&heads);
    for month in &strategy.months {
        let mut row = vec![format!("  {}", month_name(month.month)), percent(month.chance)];
        row.extend(clock_hours.iter().map(|hour| {
            strategy
                .at(*hour)
                .find(|point| point.month == month.month)
                .map_or("-".to_owned(), |point| percent(point.chance))
        }));
        let same = month.worst_chance >= month.best_chance;
        row.push(percent(month.worst_chance));
        row.push(if same { "any".to_owned() } else { clock(month.worst_clock_hour) });
        table.row(&row);
    }
    table
}

/// A share as percent, with one place near the ends. Never rounds to all or nothing what is neither.
fn percent(share: f64) -> String {
    let value = share * 100.0;
    match value {
        _ if value <= 0.0 || value >= 100.0 => format!("{} %", number(value, 0)),
        _ if value < 0.05 => "<0.1 %".to_owned(),
        _ if value >= 99.95 => ">99.9 %".to_owned(),
        _ => format!("{} %", number(value, usize::from(!(9.95..90.05).contains(&value)))),
    }
}

/// A name that leaves room for the rest of the line.
fn shortened(name: &str) -> String {
    if columns(name) <= NAME_COLUMNS {
        return name.to_owned();
    }
    let mut kept = String::new();
    for letter in name.chars() {
        if columns(&kept) + 5 > NAME_COLUMNS {
            break;
        }
        kept.push(letter);
    }
    format!("{}...\"", kept.trim_end())
}

/// What the shares are, and how sure they are.
#[allow(clippy::cast_precision_loss)]
fn how_sure(calendar: &Calendar) -> String {
    let cases = cases(calendar);
    let error = 0.5 / (calendar.trials as f64).sqrt();
    let mut said = format!(
        "Share of {cases} with the station on the air for all hours: {}, from that hour of the clock on, with the charge that normal operation leaves. {} {cases} a month and hour (seed {}); standard error at most {}.",
        what(calendar),
        whole(calendar.trials),
        calendar.seed,
        exact_percent(error)
    );
    match calendar.series_years {
        Some((first, last)) if first == last => {
            said += &format!(" The weather is that of {first}.")
        }
        Some((first, last)) => said += &format!(" The weather is that of {first} to {last}."),
        None => {}
    }
    if calendar.ended_early {
        said += &format!(
            " Ended early: {} of {} years were run.",
            whole(calendar.trials),
            whole(calendar.trials_asked)
        );
    }
    folded(&said, 2)
}
