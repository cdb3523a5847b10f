//! Stations side by side as a page of text: the sentence, the share on the air, pairs, charge and hours in the
//! span, and a month of normal operation.

use super::super::odds::sentence::{Words, exact_percent, whole};
use super::super::page_text::Page;
use super::super::shell;
use super::super::tables::{Side, Table};
use super::super::text::{clean, columns, columns_of, lines};
use super::super::words::{hours, number, percent, trimmed};
use super::{first_sentence, rules_note, told_pairs};
use crate::decide::compare::{Comparison, Kind};

/// The text of a comparison. `replay` is the command that runs one of the trials, without its number
/// and the strategy. Warnings are not in it.
#[must_use]
pub fn compare_table(it: &Comparison, replay: &str) -> String {
    compare_page(it, replay).full()
}

/// The same as blocks.
#[must_use]
pub fn compare_page(it: &Comparison, replay: &str) -> Page {
    let text = |table: Option<Table>| table.map_or(String::new(), |table| table.to_string());
    let lead = format!("{}\n{}", folded(&first_sentence(it), 0), folded(&clean(&it.title), 0));
    Page::new(lead)
        .block(1, "where less charge does better", folded(&rules_note(it).unwrap_or_default(), 0))
        .block(0, "counts", readiness_table(it).to_string())
        .block(2, "pairs", pair_table(it).to_string())
        .block(6, "how sure", how_sure(it))
        .block(3, "charge and fuel", charge_table(it).to_string())
        .block(4, "hours", span_table(it).to_string())
        .block(4, "a normal month", text(month_table(it)))
        .block(7, "what the heads mean", notes(it))
        .block(8, "trials to look at", text(replay_table(it, replay)))
}

/// Columns that a paragraph may take.
const COLUMNS: usize = 79;

/// A paragraph folded at spaces, each line behind `before`.
#[must_use]
pub fn folded(text: &str, set_in: usize) -> String {
    lines(text, COLUMNS, (set_in, set_in)).join("\n")
}

/// Columns of a name.
const NAME: usize = 20;
/// Columns of a name in a pair.
const PAIR_NAME: usize = 17;

/// A name of at most so many columns, cut in its middle: the end of a path says what it is.
#[must_use]
pub fn cut(name: &str, most: usize) -> String {
    let name = clean(name);
    if columns(&name) <= most {
        return name;
    }
    let room = most.saturating_sub(3);
    let take = |room: usize, letters: &mut dyn Iterator<Item = char>| {
        let mut kept = String::new();
        for c in letters {
            if columns(&kept) + columns_of(c) > room {
                break;
            }
            kept.push(c);
        }
        kept
    };
    let end = take(room * 3 / 5, &mut name.chars().rev());
    let begin = take(room - columns(&end), &mut name.chars());
    format!("{begin}...{}", end.chars().rev().collect::<String>())
}

/// Names, set in; variants are marked.
fn name_of(it: &Comparison, at: usize) -> String {
    let station = &it.stations[at];
    match station.kind {
        Kind::Strategy => format!("  {}", cut(&station.name, NAME)),
        Kind::Variant => format!("  + {}", cut(&station.name, NAME - 2)),
    }
}

/// How many trials each survives.
#[must_use]
pub fn readiness_table(it: &Comparison) -> Table {
    let words = Words::of(it.occasion);
    let head = format!("On the air for {}", hours(it.hours));
    let mut table = Table::new(&[
        (&head, Side::Left),
        (words.many, Side::Right),
        ("share", Side::Right),
        ("95 % range", Side::Left),
        ("at least", Side::Right),
    ]);
    for (at, station) in it.stations.iter().enumerate() {
        let [low, high] = station.on_air_wilson_95.map(exact_percent);
        table.row(&[
            name_of(it, at),
            whole(station.lasted),
            exact_percent(station.on_air_share),
            format!("{low} to {high}"),
            exact_percent(station.on_air_lower_95_one_sided),
        ]);
    }
    table
}

/// A difference of shares in percent, with its sign.
fn signed(share: f64) -> String {
    let text = number(share * 100.0, 2);
    if share > 0.0 { format!("+{text}") } else { text }
}

/// What only one of two survives.
#[must_use]
pub fn pair_table(it: &Comparison) -> Table {
    let head = "Survived with only one of two";
    let mut table = Table::new(&[
        (head, Side::Left),
        ("first", Side::Right),
        ("second", Side::Right),
        ("difference, points", Side::Left),
        ("enough?", Side::Left),
    ]);
    for pair in told_pairs(it) {
        let [low, high] = pair.difference_newcombe_95.map(signed);
        let enough = match (pair.only_a + pair.only_b, pair.enough_trials) {
            (0, _) => "alike",
            (_, true) => "yes",
            (_, false) => "no",
        };
        table.row(&[
            format!("  {} | {}", cut(&pair.a, PAIR_NAME), cut(&pair.b, PAIR_NAME)),
            whole(pair.only_a),
            whole(pair.only_b),
            format!("{low} to {high}"),
            enough.to_owned(),
        ]);
    }
    table
}

fn how_sure(it: &Comparison) -> String {
    let counted = Words::of(it.occasion).counted(it.trials);
    let settled = match it.warmup_days {
        0 => String::new(),
        days => format!(" after {days} warm-up days of its own"),
    };
    let (told, all) = (told_pairs(it).len(), it.pairs.len());
    let pairs = if told < all {
        format!("{told} of {all} pairs; \"pairs.csv\" lists all. ")
    } else {
        String::new()
    };
    folded(
        &format!(
            "{pairs}Every station goes through the same {counted}{settled}. \"At least\" is the one-sided 95 % bound. The difference is first minus second in percentage points, 95 % range. \"Enough\": in at most 1 of 20 such runs would luck alone make one of these pairs differ so much."
        ),
        2,
    )
}

/// Charge when the span begins and at its lowest, and what the span takes.
#[must_use]
pub fn charge_table(it: &Comparison) -> Table {
    let head = format!("In these {}", hours(it.hours));
    let mut table = Table::new(&[
        (&head, Side::Left),
        ("at start", Side::Right),
        ("1 in 20", Side::Right),
        ("lowest", Side::Right),
        ("1 in 20", Side::Right),
        ("mains, kWh", Side::Right),
        ("fuel, l", Side::Right),
    ]);
    for (at, station) in it.stations.iter().enumerate() {
        let (start, lowest) = (station.start_charge_share, station.lowest_charge_share);
        table.row(&[
            name_of(it, at),
            percent(start.mean),
            percent(start.p05),
            percent(lowest.p50),
            percent(lowest.p05),
            trimmed(station.in_span.mains_kwh, 2),
            trimmed(station.in_span.fuel_l, 2),
        ]);
    }
    table
}

/// Hours of the span.
#[must_use]
pub fn span_table(it: &Comparison) -> Table {
    let first = it.stations.first().map(|station| &station.in_span.tier_h);
    let several = first.is_some_and(|tiers| tiers.len() > 1);
    let top = first.and_then(|tiers| tiers.first()).filter(|_| several);
    let top = top.map(|(name, _)| cut(name, 14));
    let head = format!("Hours of these {}", trimmed(it.hours, 1));
    let mut heads = vec![(head.as_str(), Side::Left)];
    heads.extend(top.as_ref().map(|top| (top.as_str(), Side::Right)));
    heads.extend(["off air", "supply on", "noise", "attended"].map(|name| (name, Side::Right)));
    let mut table = Table::new(&heads);
    for (at, station) in it.stations.iter().enumerate() {
        let span = &station.in_span;
        let top_h = span.tier_h.first().map_or(0.0, |(_, h)| *h);
        let mut row = vec![name_of(it, at)];
        row.extend(top.as_ref().map(|_| trimmed(top_h, 1)));
        row.extend([
            trimmed(span.off_air_h, 2),
            trimmed(span.plugged_in_storm_h, 1),
            trimmed(span.noise_h, 1),
            trimmed(span.attended_h, 1),
        ]);
        table.row(&row);
    }
    table
}

/// A month of normal operation; `None` where the scenario does not say what that is.
#[must_use]
pub fn month_table(it: &Comparison) -> Option<Table> {
    let cost = it.currency.as_ref().map(|currency| clean(currency));
    let cost = cost.unwrap_or_else(|| "cost".to_owned());
    let mut heads = vec![("In a normal month", Side::Left), ("mains, kWh", Side::Right)];
    if it.currency.is_some() {
        heads.push((&cost, Side::Right));
    }
    heads.extend([
        ("cycles", Side::Right),
        (">90 %, h", Side::Right),
        ("noise, h", Side::Right),
        ("by hand, h", Side::Right),
    ]);
    let fuel = it.stations.iter().filter_map(|it| it.normal_month).any(|it| it.fuel_l > 0.0);
    if fuel {
        heads.push(("fuel, l", Side::Right));
    }
    let mut table = Table::new(&heads);
    for (at, station) in it.stations.iter().enumerate() {
        let Some(month) = station.normal_month else { continue };
        let mut row = vec![name_of(it, at), number(month.mains_kwh, 1)];
        if it.currency.is_some() {
            row.push(month.mains_cost.map_or("-".to_owned(), |cost| number(cost, 2)));
        }
        row.extend([
            number(month.cycles, 1),
            number(month.high_charge_h, 0),
            number(month.noise_h, 0),
            station.normal_month_by_hand_h.map_or("-".to_owned(), |hours| number(hours, 0)),
        ]);
        if fuel {
            row.push(number(month.fuel_l, 1));
        }
        table.row(&row);
    }
    (!table.is_empty()).then_some(table)
}

/// Trials to look at: the first that only one of the pair told first carries, as the other goes
/// through it.
fn replay_table(it: &Comparison, replay: &str) -> Option<Table> {
    let pair = *told_pairs(it).first()?;
    let flag = |name: &str| {
        let of = it.stations.iter().find(|its| its.name == *name);
        if of.is_some_and(|its| its.kind == Kind::Strategy) { "strategy" } else { "variant" }
    };
    let mut table = Table::new(&[("To look at", Side::Left), ("command", Side::Left)]);
    for (keeps, loses, trial) in
        [(&pair.a, &pair.b, pair.first_only_a), (&pair.b, &pair.a, pair.first_only_b)]
    {
        let Some(trial) = trial else { continue };
        table.row(&[
            format!("  survived only with {}", cut(keeps, NAME)),
            format!("{replay} --trial {trial}{}", shell::flag(flag(loses), loses)),
        ]);
    }
    (!table.is_empty()).then_some(table)
}

/// What the columns mean.
fn notes(it: &Comparison) -> String {
    let mut said = vec![
        "At start: mean charge. Lowest: middle of the lowest charges. Behind each the value that 1 in 20 does not exceed.",
        "Off air: without power, or in a tier that does not count as on the air.",
        "Supply on: hours with the mains supply switched on, mains there or not.",
        "Noise: hours with supply, generator or vehicle running.",
        "Attended: hours of the watches in which somebody is there, where somebody must do something.",
    ];
    let month = format!(
        "Normal month: {} days before the span, mean of {}. Cycles: charge taken out, in full batteries. By hand: hours with a supply on that somebody must switch on and off.",
        it.month_days, it.months
    );
    if it.stations.iter().any(|station| station.normal_month.is_some()) {
        said.push(&month);
    }
    let hands: Vec<&str> = it.stations.first().map_or(Vec::new(), |it| it.in_span.hands.clone());
    let by_hand = format!("What somebody must do by hand with the first: {}.", hands.join(", "));
    if !hands.is_empty() {
        said.push(&by_hand);
    }
    folded(&said.join(" "), 2)
}
