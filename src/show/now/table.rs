//! The station from now on as a page of text.

use super::{hours_down, odds_words};
use crate::decide::now::{EngineAdvice, Keying, Lasts, Now};
use crate::show::compare::table::folded;
use crate::show::odds::sentence::Words;
use crate::show::page_text::Page;
use crate::show::tables::{Side, Table};
use crate::show::text::clean;
use crate::show::words::{charge, full, moment, number, percent, short_moment, trimmed};

/// What people should know first: how long the station stays on the air in its tiers.
#[must_use]
pub fn first_sentence(now: &Now) -> String {
    let until = moment(&now.until, now.until_h);
    let told: Vec<_> = now.tiers.iter().filter(|tier| tier.on_air && tier.has_loads).collect();
    let many = Words::of(now.occasion).many;
    let holds = format!("this holds in {} {many}", odds_words(now.target_chance));
    let Some(fullest) = told.first() else {
        return "No tier has a load that is on the air.".to_owned();
    };
    let name = |tier: &crate::decide::now::TierFromNow| format!("\"{}\"", clean(&tier.name));
    let begin = format!("In {} the station stays on the air", name(fullest));
    if fullest.told.until {
        return format!("{begin} until {until}; {holds}.");
    }
    let first = fullest
        .told
        .hours
        .map_or(begin.clone(), |hours| format!("{begin} for {}", hours_down(hours)));
    let engine = now.engine.as_ref().map_or(String::new(), with_engine);
    match told.iter().find(|tier| tier.told.until) {
        Some(tier) => format!("{first}, in {} until {until}{engine}; {holds}.", name(tier)),
        None => {
            let last = told.last().filter(|it| it.name != fullest.name);
            let also = last.and_then(|it| {
                it.told.hours.map(|hours| format!(", in {} for {}", name(it), hours_down(hours)))
            });
            let also = also.unwrap_or_default();
            format!("{first}{also}, in none until {until}{engine}; {holds}.")
        }
    }
}

/// What the generator changes, for the middle of a sentence.
fn with_engine(advice: &EngineAdvice) -> String {
    match advice {
        EngineAdvice::Start { tier, hours, from_h } => {
            let when = if *from_h > 0.0 {
                format!("in {}", hours_down(*from_h))
            } else {
                "now".to_owned()
            };
            format!(
                " without the generator; started {when} for {hours} h it keeps \"{}\" on the air",
                clean(tier)
            )
        }
        EngineAdvice::NotEnough { .. } => ", with or without the generator".to_owned(),
        EngineAdvice::NotNeeded { .. } => String::new(),
        EngineAdvice::NotAllowed | EngineAdvice::ChargeUnknown => {
            " without the generator".to_owned()
        }
    }
}

/// The page.
#[must_use]
pub fn now_text(now: &Now) -> String {
    now_page(now).full()
}

/// The same as blocks.
#[must_use]
pub fn now_page(now: &Now) -> Page {
    let rules = "Each row holds one tier; no rule sheds loads. With your rules: `odds`.";
    let keying = keying_table(now).map_or(String::new(), |table| table.to_string());
    let engine = now.engine.as_ref().map_or(String::new(), |advice| {
        folded(&format!("Generator: {}", engine_words(advice, now)), 0)
    });
    let line = format!("To read out ({} characters)\n  {}", now.line.chars().count(), now.line);
    Page::new(format!("{}\n{}  {rules}", now.sentence, about(now)))
        .block(0, "hours in each tier", tier_table(now).to_string())
        .block(3, "minutes of transmitting", keying)
        .block(1, "generator", engine)
        .block(2, "the line to read out", line)
}

fn about(now: &Now) -> String {
    let at = moment(&now.at, now.look_ahead_h.max(169.0));
    let full = full(now.capacity_ah, &now.holds);
    let battery = match now.charge_share {
        None => "the charge after the warm-up days".to_owned(),
        Some([low, high]) if low == high => {
            format!("{} in the battery ({})", percent(low), charge(low * now.capacity_ah))
        }
        Some([low, high]) => format!(
            "{} to {} in the battery ({} to {})",
            percent(low),
            percent(high),
            charge(low * now.capacity_ah),
            charge(high * now.capacity_ah)
        ),
    };
    let mains = match now.mains_back_h {
        Some(hours) => format!("the mains back after {}", hours_down(hours)),
        None => "no mains".to_owned(),
    };
    let whose = format!("{}; strategy \"{}\".", clean(&now.title), clean(&now.strategy));
    format!("{}\n  From {at}: {battery}, {mains}. Full is {full}.\n", folded(&whose, 2))
}

/// Hours in each tier, if the station stays in it.
#[must_use]
pub fn tier_table(now: &Now) -> Table {
    let held =
        if now.engine.is_some() { "No generator, in tier" } else { "If you stay in this tier" };
    let asked = format!("in {}", odds_words(now.target_chance));
    let outlook = if now.outlook_told { "your outlook" } else { &asked };
    let end = if now.until_h > 168.0 {
        "reaches the end?".to_owned()
    } else {
        format!("reaches {}?", short_moment(&now.until, now.until_h))
    };
    let mut heads = vec![(held, Side::Left), (outlook, Side::Right)];
    let dark = now.darkest_day_share.is_some();
    if dark {
        heads.push(("darkest", Side::Right));
    }
    heads.extend([("typical", Side::Right), (end.as_str(), Side::Left)]);
    let mut table = Table::new(&heads);
    let time = |hours: Option<f64>| {
        hours.map_or_else(|| format!("over {}", hours_down(now.look_ahead_h)), hours_down)
    };
    for tier in &now.tiers {
        let mut row = vec![format!("  {}", clean(&tier.name))];
        if tier.has_loads {
            let Lasts { hours, half_hours, until } = tier.told;
            row.push(time(hours));
            row.extend(tier.darkest.filter(|_| dark).map(|it| time(it.hours)));
            let off = if tier.on_air { "" } else { ", off the air" };
            row.extend([time(half_hours), format!("{}{off}", if until { "yes" } else { "no" })]);
        } else {
            row.push("nothing on".to_owned());
        }
        table.row(&row);
    }
    table
}

/// How much may be transmitted; `None` where nothing transmits.
#[must_use]
pub fn keying_table(now: &Now) -> Option<Table> {
    let without = if now.engine.is_some() { ", no generator" } else { "" };
    let head = format!("Transmit until {}{without}", short_moment(&now.until, now.until_h));
    let mut table = Table::new(&[
        (&head, Side::Left),
        ("min an hour", Side::Right),
        ("as planned", Side::Right),
        ("radio by radio", Side::Left),
    ]);
    for tier in &now.tiers {
        let Some(keying) = &tier.keying else { continue };
        let name = format!("  {}", clean(&tier.name));
        let planned = trimmed(keying.planned_minutes, 1);
        match keying.minutes {
            None => table.row(&[
                name,
                "-".into(),
                planned,
                "no: too short even if you never transmit".into(),
            ]),
            Some(minutes) => {
                table.row(&[name, number(f64::from(minutes), 0), planned, set_by_set(keying)])
            }
        };
    }
    (!table.is_empty()).then_some(table)
}

fn set_by_set(keying: &Keying) -> String {
    if keying.by_set_minutes.len() < 2 {
        return String::new();
    }
    let sets = keying.by_set_minutes.iter();
    let words: Vec<String> =
        sets.map(|(name, minutes)| format!("{} {}", clean(name), trimmed(*minutes, 1))).collect();
    words.join(", ")
}

fn engine_words(advice: &EngineAdvice, now: &Now) -> String {
    let when = |from_h: f64| {
        if from_h > 0.0 {
            format!("start it in {}, when it is allowed to run", hours_down(from_h))
        } else {
            "start it now".to_owned()
        }
    };
    match advice {
        EngineAdvice::NotNeeded { tier } => {
            format!("leave it off; \"{}\" is reached without it.", clean(tier))
        }
        EngineAdvice::Start { tier, hours, from_h } => {
            format!(
                "{}, for {hours} h; in \"{}\" the station then stays on the air until {}.",
                when(*from_h),
                clean(tier),
                moment(&now.until, now.until_h)
            )
        }
        EngineAdvice::NotEnough { tier, lasts_h, from_h } => {
            let lasts = lasts_h.map_or_else(|| "the whole time".to_owned(), hours_down);
            format!(
                "{}; it is not enough: \"{}\" lasts {lasts} with all that it can give.",
                when(*from_h),
                clean(tier)
            )
        }
        EngineAdvice::NotAllowed => "it may not run before the end.".to_owned(),
        EngineAdvice::ChargeUnknown => {
            "give the charge (`--charge`) to see whether it helps.".to_owned()
        }
    }
}
