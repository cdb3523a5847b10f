//! The card in 80 columns.

use super::{
    below, caution_lines, floor_words, full_words, how_to_read, kind_words, looks, meters_of,
    percent_of, period, when,
};
use crate::decide::card::{OperatingCard, Threshold};
use crate::show::odds::sentence::{exact_percent, whole};
use crate::show::page_text::Page;
use crate::show::tables::{Side, Table};
use crate::show::text::{clean, columns, lines};
use crate::show::words::{hours, listed, trimmed};

/// Widest line.
const COLUMNS: usize = 80;
/// Widest name of a tier over its column.
const NAME: usize = 15;
/// Narrowest.
const SHORTEST_NAME: usize = 6;
/// Head of the column of counts.
const ON_AIR: &str = "on the air";
/// Lines to write in.
const BLANKS: usize = 6;

/// What the card does, in counts.
#[must_use]
pub fn first_sentence(card: &OperatingCard) -> String {
    let Some((this, others)) = card.tried.split_first() else { return String::new() };
    let many = whole(this.trials);
    let also: Vec<String> =
        others.iter().map(|it| format!("{} in {}", it.name, whole(it.stayed))).collect();
    let first = format!(
        "This card stays on the air for all {} in {} of {many} trials",
        hours(card.hours),
        whole(this.stayed)
    );
    let odds = exact_percent(card.target_chance);
    let keep = others.iter().filter(|it| it.on_air_share >= card.target_chance);
    let keep: Vec<String> = keep.map(|it| it.name.clone()).collect();
    let reaches = match keep[..] {
        _ if this.on_air_share >= card.target_chance => String::new(),
        [] => format!(" No card found reaches the target of {odds}."),
        _ => format!(" This card misses the target of {odds}; reached by {}.", listed(&keep)),
    };
    let shown = attempts_words(card);
    format!("{first}; {}.{reaches}{shown}{}", also.join(", "), kind_words(card))
}

/// How many cards were tried, and what the trials of this one show of the chance. Empty where the first
/// one keeps them.
fn attempts_words(card: &OperatingCard) -> String {
    let attempts = &card.attempts;
    let Some((place, it)) = attempts.iter().enumerate().find(|(_, it)| it.printed) else {
        return String::new();
    };
    if it.holds && attempts.len() == 1 {
        return String::new();
    }
    let several = match attempts.len() {
        1 => String::new(),
        many => {
            format!(" It is card {} of {many} that were tried, each on its own trials.", place + 1)
        }
    };
    if it.on_air_share < card.target_chance {
        return several;
    }
    let shown = if it.holds {
        String::new()
    } else {
        format!(" The trials do not show a chance of {}.", exact_percent(card.target_chance))
    };
    // A lower bound is rounded down.
    let tenths = |share: f64| format!("{} %", trimmed((share * 1000.0).floor() / 10.0, 1));
    let (bound, sure) = (tenths(it.on_air_lower_one_sided), tenths(it.confidence));
    format!("{shown}{several} At least {bound} stay on the air (lower bound at {sure} confidence).")
}

/// The hours in the fullest tier beside those of a rival that stays on the air at least as often: why
/// the card is chosen all the same. Empty where there is no such rival.
#[must_use]
pub fn why_chosen(card: &OperatingCard) -> String {
    let Some((this, others)) = card.tried.split_first() else { return String::new() };
    let surer = others.iter().filter(|it| it.stayed > this.stayed && it.valued_h < this.valued_h);
    let Some(rival) = surer.max_by_key(|it| it.stayed) else { return String::new() };
    let pairs = this.tier_h.iter().zip(rival.tier_h.values());
    let mut gain = pairs.filter(|(here, there)| *here.1 > **there).map(|((name, here), there)| {
        format!("{} h in \"{}\" against {}", trimmed(*here, 1), clean(name), trimmed(*there, 1))
    });
    let Some(gain) = gain.next() else { return String::new() };
    if this.on_air_share < card.target_chance {
        return String::new();
    }
    format!(
        "More often on the air: {}, in {}. The card reaches the target of {} and gives more: {gain}.",
        rival.name,
        whole(rival.stayed),
        exact_percent(card.target_chance)
    )
}

/// The card, with how it was tried, lines to write in, and cautions.
#[must_use]
pub fn card_text(card: &OperatingCard) -> String {
    card_page(card).full()
}

/// The same as blocks.
#[must_use]
pub fn card_page(card: &OperatingCard) -> Page {
    let head = format!(
        "OPERATING CARD  {}\n{}{}",
        clean(&card.title),
        folded(&format!("{}; {}", period(card), full_words(card)), 0),
        folded(&format!("Strategy \"{}\"", clean(&card.strategy)), 0)
    );
    let how =
        folded(&format!("{} {}", looks(card), below(card)), 2) + &folded(&how_to_read(card), 2);
    let compared = tried_table(card).to_string()
        + &folded(&why_chosen(card), 2)
        + &folded(&floor_words(card).unwrap_or_default(), 2)
        + &folded(
            "The plain rule has the same charges at every look. Charge left at the end counts for nothing.",
            2,
        );
    let log = "Date, time        Charge read   Tier set              Initials\n".to_owned()
        + &"________________  ____________  ____________________  ________\n".repeat(BLANKS);
    let cautions: String = caution_lines(card).map(|caution| folded(caution, 0)).collect();
    Page::new(folded(&card.sentence, 0) + "\n" + &head)
        .block(0, "rows of the card", rows_table(card).to_string())
        .block(1, "how to read the card", how)
        .block(3, "what it was compared with", compared)
        .block(4, "lines to write in", log)
        .block(2, "cautions", cautions)
}

/// A name of at most so many columns.
fn short(name: &str, most: usize) -> String {
    let name = clean(name);
    if columns(&name) <= most {
        return name;
    }
    let kept: String = name.chars().take(most.saturating_sub(2)).collect();
    format!("{}..", kept.trim_end())
}

/// At or above which charge each tier, row by row.
#[must_use]
pub fn rows_table(card: &OperatingCard) -> Table {
    let names: Vec<String> = card.tiers.iter().map(|tier| short(&tier.name, NAME)).collect();
    let above = names.split_last().map_or(&[][..], |(_, above)| above);
    let mut heads = vec![("At or above", Side::Left)];
    heads.extend(above.iter().map(|name| (name.as_str(), Side::Right)));
    let mut table = Table::new(&heads);
    let cells = |at_least: &[Threshold], words: bool| -> Vec<String> {
        let cell = |it: &Threshold| {
            let meters = meters_of(it);
            let first = meters.first().filter(|_| words);
            let last = meters.get(1).filter(|_| !words);
            match (words, first, last) {
                (true, Some(ah), _) => format!("{}, {ah}", percent_of(it)),
                (true, None, _) => percent_of(it),
                (false, _, Some(volts)) => volts.clone(),
                (false, _, None) => String::new(),
            }
        };
        at_least.iter().map(cell).collect()
    };
    let plain = (!card.plain_rule.is_empty())
        .then(|| ("plain rule, always".to_owned(), card.plain_rule.as_slice()));
    let rows = card.rows.iter().map(|row| (when(row).join(" "), row.at_least.as_slice()));
    for (name, at_least) in rows.chain(plain) {
        let mut row = vec![format!("  {name}")];
        row.extend(cells(at_least, true));
        table.row(&row);
        let volts = cells(at_least, false);
        if volts.iter().any(|it| !it.is_empty()) {
            let mut row = vec!["    volts while receiving".to_owned()];
            row.extend(volts);
            table.row(&row);
        }
    }
    table
}

/// How the card and its rivals fared on the same trials.
#[must_use]
pub fn tried_table(card: &OperatingCard) -> Table {
    let trials = card.tried.first().map_or(0, |it| it.trials);
    let head = format!("Tried on {} trials", whole(trials));
    let mut heads = vec![(head.as_str(), Side::Left), (ON_AIR, Side::Right)];
    // Hours of the tiers on the air: the rest is what is missing.
    let told: Vec<usize> =
        (0..card.tiers.len()).filter(|tier| card.tiers[*tier].on_air).take(3).collect();
    let named = |most: usize| -> Vec<String> {
        told.iter().map(|tier| format!("h {}", short(&card.tiers[*tier].name, most))).collect()
    };
    let width = |names: &[String]| -> usize { names.iter().map(|it| columns(it) + 2).sum() };
    let firsts = card.tried.iter().map(|it| columns(&it.name) + 2).max().unwrap_or(0);
    let before = firsts.max(columns(&head)) + 2 + columns(ON_AIR);
    let fits = |most: &usize| before + width(&named(*most)) <= COLUMNS;
    let names = named((SHORTEST_NAME..=NAME).rev().find(fits).unwrap_or(SHORTEST_NAME));
    heads.extend(names.iter().map(|name| (name.as_str(), Side::Right)));
    let mut table = Table::new(&heads);
    for tried in &card.tried {
        let mut row = vec![format!("  {}", tried.name), whole(tried.stayed)];
        let hours: Vec<f64> = tried.tier_h.values().copied().collect();
        row.extend(told.iter().map(|tier| trimmed(hours.get(*tier).copied().unwrap_or(0.0), 1)));
        table.row(&row);
    }
    table
}

/// A text in lines of at most 80 columns, set in.
fn folded(text: &str, set_in: usize) -> String {
    if text.is_empty() {
        return String::new();
    }
    lines(text, COLUMNS, (set_in, set_in)).join("\n") + "\n"
}
