//! Stations side by side as a page of text: the sentence, readiness, pairs, charge and hours in the
//! span, and a month of normal operation.

use super::super::odds::sentence::{Words, exact_percent, whole};
use super::super::tables::{Side, Table};
use super::super::text::clean;
use super::super::words::{hours, number, percent, trimmed};
use super::{first_sentence, rules_note, told_pairs};
use crate::decide::compare::{Comparison, Kind};

/// The text of a comparison. Warnings are not in it.
#[must_use]
pub fn compare_table(it: &Comparison) -> String {
    let blocks = [
        format!("{}\n", folded(&first_sentence(it), "")),
        rules_note(it).map_or(String::new(), |note| format!("{}\n", folded(&note, ""))),
        readiness_table(it).to_string(),
        pair_table(it).to_string(),
        format!("{}\n", how_sure(it)),
        charge_table(it).to_string(),
        span_table(it).to_string(),
        month_table(it).map_or(String::new(), |table| table.to_string()),
        format!("{}\n", notes(it)),
    ];
    let kept: Vec<String> = blocks.into_iter().filter(|block| !block.trim().is_empty()).collect();
    kept.join("\n")
}

/// Columns that a paragraph may take.
const COLUMNS: usize = 79;

/// A paragraph folded at spaces, each line behind `before`.
#[must_use]
pub fn folded(text: &str, before: &str) -> String {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line)
                if super::super::text::columns(line) + 1 + super::super::text::columns(word)
                    <= COLUMNS =>
            {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(format!("{before}{word}")),
        }
    }
    lines.join("\n")
}

/// Names, set in; variants are marked.
fn name_of(it: &Comparison, at: usize) -> String {
    let station = &it.stations[at];
    match station.kind {
        Kind::Strategy => format!("  {}", clean(&station.name)),
        Kind::Variant => format!("  + {}", clean(&station.name)),
    }
}

/// How many trials each carries.
#[must_use]
pub fn readiness_table(it: &Comparison) -> Table {
    let words = Words::of(it.occasion);
    let head = format!("On the air for {}", hours(it.hours));
    let mut table = Table::new(&[
        (&head, Side::Left),
        (words.many, Side::Right),
        ("share", Side::Right),
        ("95 % range", Side::Left),
        ("at least, 95 %", Side::Right),
    ]);
    for (at, station) in it.stations.iter().enumerate() {
        let [low, high] = station.readiness_wilson_95.map(exact_percent);
        table.row(&[
            name_of(it, at),
            whole(station.lasted),
            exact_percent(station.readiness),
            format!("{low} to {high}"),
            exact_percent(station.readiness_lower_95_one_sided),
        ]);
    }
    table
}

/// A difference of shares in percent, with its sign.
fn signed(share: f64) -> String {
    let text = trimmed(share * 100.0, 2);
    if share > 0.0 && text != "0" { format!("+{text}") } else { text }
}

/// What only one of two carries.
#[must_use]
pub fn pair_table(it: &Comparison) -> Table {
    let many = Words::of(it.occasion).many;
    let head = format!("{}{} that only one carries", many[..1].to_uppercase(), &many[1..]);
    let mut table = Table::new(&[
        (&head, Side::Left),
        ("first", Side::Right),
        ("second", Side::Right),
        ("difference, %", Side::Left),
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
            format!("  {} | {}", clean(&pair.a), clean(&pair.b)),
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
    let settled = match it.settle_days {
        0 => String::new(),
        days => format!(" after {days} days of its own normal operation"),
    };
    folded(
        &format!(
            "Every station meets the same {counted}{settled}. The difference is first less second, 95 % range. \"Enough\": luck alone would part one of all these pairs so far in at most 1 of 20 such runs."
        ),
        "  ",
    )
}

/// Charge when the span begins and at its lowest, hours of the top tier and of the dark.
#[must_use]
pub fn charge_table(it: &Comparison) -> Table {
    let tiers = it.stations.iter().any(|station| station.in_span.tier_h.len() > 1);
    let top = it.stations.first().and_then(|station| station.in_span.tier_h.first());
    let top = top.map_or("top tier, h".to_owned(), |(name, _)| format!("{}, h", clean(name)));
    let mut heads = vec![
        ("Charge", Side::Left),
        ("at start", Side::Right),
        ("1 in 20", Side::Right),
        ("lowest, half", Side::Right),
        ("1 in 20", Side::Right),
        ("dark, h", Side::Right),
    ];
    if tiers {
        heads.push((&top, Side::Right));
    }
    let mut table = Table::new(&heads);
    for (at, station) in it.stations.iter().enumerate() {
        let (start, lowest) = (station.start_charge_share, station.lowest_charge_share);
        let tier_h = station.in_span.tier_h.first().map_or(0.0, |(_, h)| *h);
        table.row(&[
            name_of(it, at),
            percent(start.mean),
            percent(start.p05),
            percent(lowest.p50),
            percent(lowest.p05),
            trimmed(station.in_span.dark_h, 2),
            trimmed(tier_h, 1),
        ]);
    }
    table
}

/// Hours, energy and litres of the span.
#[must_use]
pub fn span_table(it: &Comparison) -> Table {
    let head = format!("In these {}, mean", hours(it.hours));
    let mut table = Table::new(&[
        (&head, Side::Left),
        ("mains, kWh", Side::Right),
        ("plugged in, h", Side::Right),
        ("noise, h", Side::Right),
        ("attended, h", Side::Right),
        ("fuel, l", Side::Right),
    ]);
    for (at, station) in it.stations.iter().enumerate() {
        let span = &station.in_span;
        table.row(&[
            name_of(it, at),
            trimmed(span.mains_kwh, 2),
            trimmed(span.plugged_in_storm_h, 1),
            trimmed(span.noise_h, 1),
            trimmed(span.attended_h, 1),
            trimmed(span.fuel_l, 2),
        ]);
    }
    table
}

/// A month of normal operation; `None` where the scenario does not say what that is.
#[must_use]
pub fn month_table(it: &Comparison) -> Option<Table> {
    let cost = it.currency.as_ref().map(|currency| clean(currency));
    let cost = cost.map_or("cost".to_owned(), |currency| format!("cost, {currency}"));
    let head = format!("A month without an outage, {} days", it.month_days);
    let mut heads = vec![(head.as_str(), Side::Left), ("mains, kWh", Side::Right)];
    if it.currency.is_some() {
        heads.push((&cost, Side::Right));
    }
    heads.extend([
        ("cycles", Side::Right),
        ("above 90 %, h", Side::Right),
        ("noise, h", Side::Right),
    ]);
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
        ]);
        table.row(&row);
    }
    (!table.is_empty()).then_some(table)
}

/// What the columns mean.
fn notes(it: &Comparison) -> String {
    let mut said = vec![
        "Plugged in: hours of storms with the supply switched on, mains there or not.",
        "Noise: hours with supply, engine or vehicle live.",
        "Attended: hours in which somebody is there, where something waits for hands.",
    ];
    let month = format!(
        "Cycles: falls of the charge from hour to hour, in full batteries. The month is the mean of {} months before the span.",
        it.months
    );
    if it.stations.iter().any(|station| station.normal_month.is_some()) {
        said.push(&month);
    }
    let hands: Vec<&str> = it.stations.first().map_or(Vec::new(), |it| it.in_span.hands.clone());
    let waits = format!("What waits for hands under the first: {}.", hands.join(", "));
    if !hands.is_empty() {
        said.push(&waits);
    }
    folded(&said.join(" "), "  ")
}
