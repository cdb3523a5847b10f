//! One line to read out on the air: at most 160 characters, whatever the names are.

use super::{hours_down, odds_words};
use crate::decide::now::{EngineAdvice, Lasts, Now};
use crate::show::text::clean;
use crate::show::words::{number, short_moment};

/// Most characters of the line.
pub const LONGEST_LINE: usize = 160;
/// Fewest letters of a name that still says something.
const SHORTEST_NAME: usize = 8;

/// The line. What matters least goes first when it is too long: letters of the names, the title, the
/// odds, the keying, the lower tiers.
#[must_use]
pub fn line(now: &Now) -> String {
    let title = clean(now.title.split(',').next().unwrap_or_default());
    for (title_room, name_room) in
        [(40, 40), (40, 20), (24, 16), (24, 12), (0, 12), (0, SHORTEST_NAME)]
    {
        let said = whole(now, &cut(&title, title_room), name_room, 0);
        if said.chars().count() <= LONGEST_LINE {
            return said;
        }
    }
    for left_out in 1..=2 {
        let said = whole(now, "", SHORTEST_NAME, left_out);
        if said.chars().count() <= LONGEST_LINE {
            return said;
        }
    }
    cut(&whole(now, "", SHORTEST_NAME, 2), LONGEST_LINE)
}

/// At most so many characters, with points where some are missing.
fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let kept: String = text.chars().take(most.saturating_sub(2)).collect();
    if most < 3 { String::new() } else { format!("{}..", kept.trim_end()) }
}

fn whole(now: &Now, title: &str, name_room: usize, left_out: usize) -> String {
    let mut said = String::new();
    if !title.is_empty() {
        said += &format!("{title}, ");
    }
    said += &short_moment(&now.at, now.look_ahead_h.min(168.0));
    if let Some([low, high]) = now.charge_share {
        let percent = |share: f64| number(share * 100.0, 0);
        said += &if percent(low) == percent(high) {
            format!(", battery {} %", percent(low))
        } else {
            format!(", battery {} to {} %", percent(low), percent(high))
        };
    }
    let tiers: Vec<String> = now
        .tiers
        .iter()
        .filter(|tier| tier.on_air && tier.has_loads)
        .map(|tier| format!("{} {}", cut(&clean(&tier.name), name_room), lasts(&tier.told, now)))
        .collect();
    if !tiers.is_empty() {
        said += &format!(": {}", tiers.join(", "));
    }
    said.push('.');
    if left_out < 2
        && let Some(keying) = keying(now, name_room)
    {
        said += &keying;
    }
    match &now.engine {
        Some(EngineAdvice::Start { hours, from_h, .. }) if *from_h <= 0.0 => {
            said += &format!(" Engine on now, {hours} h.");
        }
        Some(EngineAdvice::Start { hours, from_h, .. }) => {
            said += &format!(" Engine in {}, {hours} h.", hours_down(*from_h));
        }
        Some(EngineAdvice::NotEnough { from_h, .. }) if *from_h <= 0.0 => said += " Engine on now.",
        Some(EngineAdvice::NotEnough { from_h, .. }) => {
            said += &format!(" Engine in {}.", hours_down(*from_h));
        }
        Some(_) | None => {}
    }
    if left_out < 1 {
        said += &format!(" {}.", odds_words(now.odds_share));
    }
    said
}

fn lasts(told: &Lasts, now: &Now) -> String {
    match told.hours {
        Some(hours) => hours_down(hours),
        None => format!("over {}", hours_down(now.look_ahead_h)),
    }
}

/// How much keying lasts in the fullest tier that lasts with any.
fn keying(now: &Now, name_room: usize) -> Option<String> {
    let until = short_moment(&now.until, now.until_h);
    let keyed = now.tiers.iter().filter(|tier| tier.on_air && tier.keying.is_some());
    let mut found = None;
    for tier in keyed {
        let keying = tier.keying.as_ref()?;
        found = Some(match keying.minutes {
            None => format!(" Not till {until} even unkeyed."),
            Some(minutes) => {
                format!(
                    " Key {minutes} min/h in {} till {until}.",
                    cut(&clean(&tier.name), name_room)
                )
            }
        });
        if keying.minutes.is_some() {
            break;
        }
    }
    found
}
