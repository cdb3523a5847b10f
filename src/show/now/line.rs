//! One line to read out on the air: at most 160 characters, whatever the names are.

use super::{hours_down, odds_words};
use crate::decide::now::{EngineAdvice, Keying, Lasts, Now};
use crate::show::text::clean;
use crate::show::words::{number, short_moment, trimmed};

/// Most characters of the line.
pub const LONGEST_LINE: usize = 160;
/// Fewest letters of a name that still says something.
const SHORTEST_NAME: usize = 8;

/// What a line has room for.
#[derive(Clone, Copy)]
struct Room {
    title: usize,
    name: usize,
    sets: Sets,
    keying: bool,
    odds: bool,
}

/// How the radios that transmit are told.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Sets {
    /// Each by its name and minutes.
    Named,
    /// Minutes that hold for each of them, all together.
    Each,
}

/// The line. What matters least goes first when it is too long: the title, the names of the radios,
/// the chance, the transmitting, letters of the tiers' names.
#[must_use]
pub fn line(now: &Now) -> String {
    let full = Room { title: 40, name: 40, sets: Sets::Named, keying: true, odds: true };
    let each = Room { title: 0, sets: Sets::Each, ..full };
    let short = Room { odds: false, ..each };
    let rooms = [
        full,
        Room { title: 24, ..full },
        Room { title: 0, ..full },
        each,
        short,
        Room { name: 20, ..short },
        Room { keying: false, ..each },
        Room { keying: false, ..short },
        Room { name: 16, keying: false, ..short },
        Room { name: 12, keying: false, ..short },
        Room { name: SHORTEST_NAME, keying: false, ..short },
    ];
    let mut said = String::new();
    for room in rooms {
        said = whole(now, room);
        if said.chars().count() <= LONGEST_LINE {
            return said;
        }
    }
    cut(&said, LONGEST_LINE)
}

/// At most so many characters, with points where some are missing.
fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let kept: String = text.chars().take(most.saturating_sub(2)).collect();
    if most < 3 { String::new() } else { format!("{}..", kept.trim_end()) }
}

fn whole(now: &Now, room: Room) -> String {
    let mut said = String::new();
    let title = cut(&clean(now.title.split(',').next().unwrap_or_default()), room.title);
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
    let started = now.engine.as_ref().and_then(EngineAdvice::starts_in_h);
    if started.is_some() {
        said += ", without generator";
    }
    let tiers: Vec<String> = now
        .tiers
        .iter()
        .filter(|tier| tier.on_air && tier.has_loads)
        .map(|tier| format!("{} {}", cut(&clean(&tier.name), room.name), lasts(&tier.told, now)))
        .collect();
    if !tiers.is_empty() {
        said += &format!(": {}", tiers.join(", "));
    }
    said.push('.');
    if room.keying
        && let Some(keying) = keying(now, room)
    {
        said += &keying;
    }
    if let Some(engine) = now.engine.as_ref().and_then(|it| engine(now, it, room)) {
        said += &engine;
    }
    if room.odds {
        said += &format!(" {}.", odds_words(now.target_chance));
    }
    said
}

/// What the generator changes.
fn engine(now: &Now, advice: &EngineAdvice, room: Room) -> Option<String> {
    let from_h = advice.starts_in_h()?;
    let when =
        if from_h <= 0.0 { "on now".to_owned() } else { format!("in {}", hours_down(from_h)) };
    let name = |tier: &String| cut(&clean(tier), room.name);
    Some(match advice {
        EngineAdvice::Start { tier, hours, .. } => {
            let until = short_moment(&now.until, now.until_h);
            format!(" Generator {when} for {hours} h: {} until {until}.", name(tier))
        }
        EngineAdvice::NotEnough { tier, lasts_h: Some(lasts_h), .. } => {
            format!(" Generator {when}: {} {}.", name(tier), hours_down(*lasts_h))
        }
        _ => format!(" Generator {when}."),
    })
}

fn lasts(told: &Lasts, now: &Now) -> String {
    match told.hours {
        Some(hours) => hours_down(hours),
        None => format!("over {}", hours_down(now.look_ahead_h)),
    }
}

/// How much may be transmitted: in the fullest tier that allows what is planned, else in the one that
/// allows the most. Nothing where no tier reaches the end without the generator and it helps.
fn keying(now: &Now, room: Room) -> Option<String> {
    let until = short_moment(&now.until, now.until_h);
    let keyed = now.tiers.iter().filter(|tier| tier.on_air);
    let keyed: Vec<(&str, &Keying)> =
        keyed.filter_map(|tier| Some((tier.name.as_str(), tier.keying.as_ref()?))).collect();
    let as_planned = keyed.iter().find(|(_, it)| {
        it.minutes.is_some_and(|minutes| f64::from(minutes) + 1e-9 >= it.planned_minutes)
    });
    let most = keyed.iter().rev().max_by_key(|(_, it)| it.minutes);
    let (tier, found) = as_planned.or(most)?;
    let tier = cut(&clean(tier), room.name);
    Some(match found.minutes {
        None if now.engine.as_ref().is_some_and(|it| it.starts_in_h().is_some()) => return None,
        None => format!(" Too short until {until} even without transmitting."),
        Some(0) => format!(" In {tier}: do not transmit until {until}."),
        Some(minutes) => {
            let sets = sets_of(found, minutes, room.sets);
            format!(" In {tier}: transmit at most {sets} min/h until {until}.")
        }
    })
}

/// `hf 14, voice 3.5`; or `each radio 3.5`, which holds for all of them together.
fn sets_of(keying: &Keying, most: u32, sets: Sets) -> String {
    let mut of: Vec<(&String, &f64)> = keying.by_set_minutes.iter().collect();
    of.sort_by(|one, other| other.1.total_cmp(one.1));
    match (sets, of[..].split_last()) {
        (Sets::Named, Some(_)) => {
            let named = of.iter().map(|(name, it)| format!("{} {}", clean(name), trimmed(**it, 1)));
            named.collect::<Vec<_>>().join(", ")
        }
        (Sets::Each, Some(((_, least), [_, ..]))) => format!("each radio {}", trimmed(**least, 1)),
        _ => most.to_string(),
    }
}
