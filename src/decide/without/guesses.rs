//! Which inputs are guesses, and the station at both ends of what each may be.
//!
//! An input is moved if its basis is a guess, if it is a capacity that rests on a rated capacity, or if the
//! scenario calls it uncertain. The last has its own spread; how far the others may be off stands in
//! the table of limits (`scenario::limits::guesses`), by what the number is. Counts, dates, rates that
//! a capacity is stated for, and names are not moved. Trust: plausible.

use serde::Serialize;
use serde_json::Value;

use crate::scenario::Scenario;
use crate::scenario::basis::{Basis, stated};
use crate::scenario::json_path::{JsonPath, Step};
use crate::scenario::limits::Limit;
use crate::scenario::limits::guesses::{CAPACITY, Range, limit_of, range_of};
use crate::scenario::sun::{Spread, Uncertain};
use crate::station::battery::register::{at_share_of_nameplate, rests_on_nameplate};

/// Why an input is moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// Its basis is a guess.
    Guess,
    /// It rests on a rated capacity.
    Nameplate,
    /// The scenario calls it uncertain.
    Uncertain,
}

/// An input, and the station at both ends of its spread.
#[derive(Debug, Clone)]
pub struct Input {
    /// Where it stands in the scenario file.
    pub path: String,
    /// Why it is moved.
    pub why: Why,
    /// What it is moved to, in words.
    pub ends: [String; 2],
    /// The station at the low end.
    pub low: Scenario,
    /// The station at the high end.
    pub high: Scenario,
}

/// Every input that is moved, in the order of the file, and those that cannot be, with why.
#[must_use]
pub fn inputs(scenario: &Scenario) -> (Vec<Input>, Vec<String>) {
    let (mut found, mut not_moved) = (Vec::new(), Vec::new());
    let nameplate = rests_on_nameplate(&scenario.battery);
    if let Ok(value) = serde_json::to_value(scenario) {
        for (path, basis) in stated(&value) {
            if basis != Basis::Guess {
                continue;
            }
            // The rated capacity has a row of its own.
            let numbers = place_of(&value, &path).map_or_else(Vec::new, |at| numbers(&value, &at));
            let is_capacity = |limit: &Limit| range_of(limit) == CAPACITY;
            let of_battery = path.steps().first() == Some(&Step::Key("battery".into()));
            if nameplate && of_battery && numbers.iter().any(|(_, limit)| is_capacity(limit)) {
                continue;
            }
            match moved(&value, &path) {
                Ok(input) => found.push(input),
                Err(why) => not_moved.push(format!("{path}: {why}")),
            }
        }
    }
    if nameplate {
        found.push(of_nameplate(scenario));
    }
    if let Some(uncertain) = &scenario.uncertain {
        found.extend(of_uncertain(scenario, uncertain));
    }
    (found, not_moved)
}

fn of_nameplate(scenario: &Scenario) -> Input {
    let [low, high] = match CAPACITY {
        Range::Times(low, high) => [low, high],
        Range::Plus(..) | Range::Stays => [1.0; 2],
    };
    let at = |share: f64| {
        let mut other = scenario.clone();
        other.battery = at_share_of_nameplate(&scenario.battery, share);
        other
    };
    Input {
        path: "battery capacity (rated)".to_owned(),
        why: Why::Nameplate,
        ends: CAPACITY.words(),
        low: at(low),
        high: at(high),
    }
}

/// Sets one of the spreads of a scenario.
type SetSpread = fn(&mut Uncertain, Spread);

fn of_uncertain(scenario: &Scenario, uncertain: &Uncertain) -> Vec<Input> {
    let all: [(&str, Option<Spread>, SetSpread); 3] = [
        ("load_multiplier", uncertain.load_multiplier, |it, at| it.load_multiplier = Some(at)),
        ("capacity_multiplier", uncertain.capacity_multiplier, |it, at| {
            it.capacity_multiplier = Some(at)
        }),
        ("array_multiplier", uncertain.array_multiplier, |it, at| it.array_multiplier = Some(at)),
    ];
    let spread = |(key, spread, set): (&str, Option<Spread>, SetSpread)| {
        let Some(Spread::Uniform(ends)) = spread else { return None };
        let [low, high] = ends.map(|end| {
            let mut other = scenario.clone();
            if let Some(uncertain) = &mut other.uncertain {
                set(uncertain, Spread::Fixed(end));
            }
            other
        });
        Some(Input {
            path: format!("uncertain.{key}"),
            why: Why::Uncertain,
            ends: ends.map(|end| format!("x {end}")),
            low,
            high,
        })
    };
    all.into_iter().filter_map(spread).collect()
}

/// A guess moved both ways.
fn moved(whole: &Value, path: &JsonPath) -> Result<Input, String> {
    let Some(place) = place_of(whole, path) else {
        return Err("it is left to its default, which is not moved".to_owned());
    };
    let moves: Vec<(JsonPath, Range, [f64; 2])> = numbers(whole, &place)
        .into_iter()
        .filter_map(|(at, limit)| {
            let range = range_of(limit);
            let ends = range.ends(at.value_in(whole)?.as_f64()?, limit);
            (ends[0].total_cmp(&ends[1]).is_ne()).then_some((at, range, ends))
        })
        .collect();
    let Some((first, range, of_first)) = moves.first() else {
        return Err("it is no number that may be off".to_owned());
    };
    let plain = |end: f64| format!("{}", (end * 1e6).round() / 1e6);
    let words = if *first == place {
        of_first.map(plain)
    } else if moves.iter().all(|(_, other, _)| other == range) {
        range.words()
    } else {
        ["all low", "all high"].map(str::to_owned)
    };
    let at_end = |end: usize| {
        let mut other = whole.clone();
        for (at, _, ends) in &moves {
            if let (Some(number), Some(new)) =
                (value_at(&mut other, at), serde_json::Number::from_f64(ends[end]))
            {
                *number = Value::Number(new);
            }
        }
        serde_json::from_value(other).map_err(|it| it.to_string())
    };
    let (low, high) = (at_end(0)?, at_end(1)?);
    Ok(Input { path: path.to_string(), why: Why::Guess, ends: words, low, high })
}

fn value_at<'v>(whole: &'v mut Value, path: &JsonPath) -> Option<&'v mut Value> {
    path.steps().iter().try_fold(whole, |value, step| match step {
        Step::Key(key) => value.get_mut(key),
        Step::Index(index) => value.get_mut(index),
    })
}

/// Where the value stands that a basis speaks of: at its path, or further inside the same object.
fn place_of(whole: &Value, path: &JsonPath) -> Option<JsonPath> {
    if path.value_in(whole).is_some() {
        return Some(path.clone());
    }
    let (Step::Key(key), way) = path.steps().split_last()? else { return None };
    let object = way.iter().fold(JsonPath::top(), |at, step| at.with(step.clone()));
    within(object.value_in(whole)?, &object, key)
}

fn within(value: &Value, at: &JsonPath, key: &str) -> Option<JsonPath> {
    let fields = value.as_object()?;
    if fields.contains_key(key) {
        return Some(at.key(key));
    }
    let others = fields.iter().filter(|(name, _)| *name != "basis");
    others.into_iter().find_map(|(name, inner)| within(inner, &at.key(name), key))
}

/// The numbers at a place and below it, with the limit of each. A whole number is a count: half a
/// window is none.
fn numbers(whole: &Value, place: &JsonPath) -> Vec<(JsonPath, &'static Limit)> {
    match place.value_in(whole) {
        Some(Value::Number(number)) if number.is_f64() => {
            limit_of(place).map(|limit| (place.clone(), limit)).into_iter().collect()
        }
        Some(Value::Array(items)) => {
            (0..items.len()).flat_map(|index| numbers(whole, &place.index(index))).collect()
        }
        Some(Value::Object(fields)) => fields
            .keys()
            .filter(|name| *name != "basis")
            .flat_map(|name| numbers(whole, &place.key(name)))
            .collect(),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::station::battery::register::DOUBTED_SHARE;

    /// `run` shows a rated capacity at the same low end.
    #[test]
    fn a_nameplate_is_doubted_alike_everywhere() {
        assert_eq!(CAPACITY, Range::Times(DOUBTED_SHARE, 1.05));
    }
}
