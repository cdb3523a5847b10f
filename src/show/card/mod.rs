//! What people see of an operating card.
//!
//! Lives here: the first sentence, the card in 80 columns, the page (A5, type of 11 points and more)
//! as a picture and as HTML for the printer. Does not live here: anything that decides a tier
//! (`decide::card`).

pub mod page;
pub mod text;

pub use page::{html, page};
pub use text::{card_page, card_text, first_sentence};

use crate::decide::card::{CardTier, Kind, OperatingCard, PrintedRow, Threshold};
use crate::show::cautions::words;
use crate::show::text::clean;
use crate::show::words::{charge, full, listed, number, trimmed};

/// The word of looks at every hour.
const HOURLY: &str = "hourly";

/// The cautions of the card, a line each.
pub(super) fn caution_lines(card: &OperatingCard) -> impl Iterator<Item = &'static str> {
    card.cautions.iter().map(|caution| words(*caution).line)
}

/// When a row holds: `sunset, Mon 18`, `to Wed 20`. Looks of every hour are told by the hour.
#[must_use]
pub fn when(row: &PrintedRow) -> Vec<String> {
    if row.at_every_look {
        return vec![clean(&row.at)];
    }
    if row.at == HOURLY {
        let first = row.from.format("%a %-d %H:%M").to_string();
        if row.from == row.to {
            return vec![first];
        }
        return vec![first, format!("to {}", row.to.format("%a %-d %H:%M"))];
    }
    let first = format!("{}, {}", clean(&row.at), row.from.format("%a %-d"));
    if row.from.date_naive() == row.to.date_naive() {
        return vec![first];
    }
    vec![first, format!("to {}", row.to.format("%a %-d"))]
}

/// When to look at the charge.
#[must_use]
pub fn looks(card: &OperatingCard) -> String {
    let word = |word: &String| match word.as_str() {
        "start" => "at the start".to_owned(),
        HOURLY => "every hour".to_owned(),
        other => format!("at {}", clean(other)),
    };
    let words: Vec<String> = card.shedding.decide_at.iter().map(word).collect();
    format!("Look {}.", listed(&words))
}

/// What the card is where it has not a row for each look, for people who compare it.
#[must_use]
fn kind_words(card: &OperatingCard) -> &'static str {
    match card.kind {
        Kind::Rows => "",
        Kind::PlainRule => " The card is a plain rule: no card found does better with more rows.",
        Kind::OwnRules => " The card is the scenario's own rules: no card found does better.",
    }
}

/// What counts as being on the air, where sizes are chosen by another rule.
#[must_use]
pub fn floor_words(card: &OperatingCard) -> Option<String> {
    let floor = card.lowest_tier_of_sizing.as_ref()?;
    let off: Vec<&CardTier> = card.tiers.iter().filter(|tier| !tier.on_air).collect();
    let but = match off[..] {
        [] => String::new(),
        [one] => format!(" but \"{}\"", clean(&one.name)),
        _ => " but those off the air".to_owned(),
    };
    Some(format!(
        "Every tier{but} counts as on the air here; the lowest tier \"{}\" of `sizing` is for sizes.",
        clean(floor)
    ))
}

/// Percent of a threshold: `65 %`; `any` where every charge will do, `-` where none will.
#[must_use]
fn percent_of(threshold: &Threshold) -> String {
    match threshold.share {
        None => "-".to_owned(),
        Some(share) if share <= 0.0 => "any".to_owned(),
        Some(share) => format!("{} %", number(share * 100.0, 0)),
    }
}

/// What a meter shows besides: Ah left, then volts where they say something.
#[must_use]
fn meters_of(threshold: &Threshold) -> Vec<String> {
    let above = threshold.share.is_some_and(|share| share > 0.0);
    let ah = threshold.ah.filter(|_| above).map(charge);
    let volts = threshold.receive_v.map(|volts| format!("{} V", trimmed(volts, 1)));
    ah.into_iter().chain(volts.filter(|_| above)).collect()
}

/// How the charge is read.
#[must_use]
pub fn how_to_read(card: &OperatingCard) -> String {
    if card.volts_tell {
        format!(
            "Volts: sources off for a minute, nobody transmitting, all radios receiving ({} A).",
            trimmed(card.receive_a, 1)
        )
    } else {
        "Read the charge off the monitor, or count Ah: the volts of these cells do not show it."
            .to_owned()
    }
}

/// What holds below all thresholds.
#[must_use]
pub fn below(card: &OperatingCard) -> String {
    let last = card.tiers.last().map_or(String::new(), |tier| clean(&tier.name));
    let two = if card.kind == Kind::OwnRules { " In between: stay." } else { "" };
    format!("Below them: {last}.{two} any: at every charge. -: not at that time.")
}

/// The time it is for.
#[must_use]
fn period(card: &OperatingCard) -> String {
    let pattern = "%a %-d %b %Y %H:%M";
    format!("{} to {}", card.start.format(pattern), card.end.format(pattern))
}

/// What a full battery holds.
#[must_use]
fn full_words(card: &OperatingCard) -> String {
    format!("full is {}", full(card.capacity_ah, &card.holds))
}
