//! Which inputs are guesses, and how far each may be off.
//!
//! An input is moved if its basis is a guess, if it is a capacity that rests on a nameplate, or if the
//! scenario calls it uncertain. The last has its own spread; the others get one by their kind, which
//! is judgement throughout:
//!
//! | kind | low end | high end |
//! |---|---|---|
//! | capacity | x 0.65 | x 1.05 |
//! | what age has left | - 0.10 | + 0.05 |
//! | share of time keyed | x 0.5 | x 1.5 |
//! | losses, resistances, self-discharge, lags, outages | x 0.5 | x 1.5 (a loss), x 2 (the rest) |
//! | efficiencies | - 0.05 | + 0.03 |
//! | rated power of panels | x 0.9 | x 1.05 |
//! | sunlight of a month | x 0.9 | x 1.1 |
//! | temperatures | - 3 K | + 3 K |
//! | angles | - 10 deg | + 10 deg |
//! | chances | - 0.2 | + 0.2 |
//! | anything else that is drawn, given or measured | x 0.8 | x 1.2 |
//!
//! Counts, dates, rates that a capacity is stated for, and names are not moved. Trust: plausible.

use serde::Serialize;
use serde_json::Value;

use crate::scenario::Scenario;
use crate::scenario::basis::{Basis, stated};
use crate::scenario::json_path::{JsonPath, Step};
use crate::scenario::sun::{Spread, Uncertain};
use crate::station::battery::register::{DOUBTED_SHARE, at_share_of_nameplate, rests_on_nameplate};

/// Why an input is moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// Its basis is a guess.
    Guess,
    /// It rests on a nameplate.
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

/// The most that a nameplate is beaten by.
const NAMEPLATE_HIGH: f64 = 1.05;

/// How a number is moved to both ends.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Move {
    /// Multiplied.
    Times(f64, f64),
    /// Added to.
    Plus(f64, f64),
    /// Not at all.
    Stays,
}

impl Move {
    fn ends(self, value: f64) -> [f64; 2] {
        match self {
            Self::Times(low, high) => [value * low, value * high],
            Self::Plus(low, high) => [value + low, value + high],
            Self::Stays => [value; 2],
        }
    }

    fn words(self) -> [String; 2] {
        match self {
            Self::Times(low, high) => [low, high].map(|by| format!("x {by}")),
            Self::Plus(low, high) => [format!("{low}"), format!("+{high}")],
            Self::Stays => [String::new(), String::new()],
        }
    }
}

/// The spread of a key, and the range that it must stay in.
fn move_of(key: &str, is_loss: bool) -> (Move, [f64; 2]) {
    let any = [f64::NEG_INFINITY, f64::INFINITY];
    let share = [0.0, 1.0];
    let ends = |ends: &[&str]| ends.iter().any(|end| key.ends_with(end));
    match key {
        _ if is_loss => (Move::Times(0.5, 1.5), [0.0, 0.99]),
        "discharge_h" | "cells_in_series" | "strings" | "count" | "in_series" | "rows_up"
        | "year" | "connectors" | "awg" | "mains_per_kwh" => (Move::Stays, any),
        "age_capacity_share" => (Move::Plus(-0.10, 0.05), [0.05, 1.0]),
        "transmit_share" => (Move::Times(0.5, 1.5), share),
        "rated_w" => (Move::Times(0.9, 1.05), any),
        "azimuth_deg" => (Move::Plus(-10.0, 10.0), any),
        "self_discharge_share_month" => (Move::Times(0.5, 2.0), [0.0, 0.99]),
        _ if ends(&["capacity_ah", "nominal_ah", "measured_ah", "capacity_wh"]) => {
            (Move::Times(DOUBTED_SHARE, NAMEPLATE_HIGH), any)
        }
        _ if ends(&["efficiency_share"]) => (Move::Plus(-0.05, 0.03), [0.05, 1.0]),
        _ if ends(&["ghi_kwh_m2_day"]) => (Move::Times(0.9, 1.1), any),
        _ if ends(&["_ohm", "lag_h", "mean_h", "median_h", "lead_h"]) => {
            (Move::Times(0.5, 2.0), any)
        }
        _ if ends(&["_c"]) && !ends(&["per_c"]) => (Move::Plus(-3.0, 3.0), any),
        _ if ends(&["_deg"]) => (Move::Plus(-10.0, 10.0), [0.0, 90.0]),
        _ if ends(&["chance"]) => (Move::Plus(-0.2, 0.2), share),
        _ if ends(&["share"]) => (Move::Times(0.8, 1.2), share),
        _ => (Move::Times(0.8, 1.2), any),
    }
}

/// Every input that is moved, in the order of the file, and those that cannot be, with why.
#[must_use]
pub fn inputs(scenario: &Scenario) -> (Vec<Input>, Vec<String>) {
    let (mut found, mut not_moved) = (Vec::new(), Vec::new());
    let nameplate = rests_on_nameplate(&scenario.battery);
    if let Ok(value) = serde_json::to_value(scenario) {
        for (path, basis) in stated(&value) {
            let of_battery = path.steps().first() == Some(&Step::Key("battery".into()));
            let of_capacity = of_battery
                && path.last_key().is_some_and(|key| {
                    matches!(key, "capacity_ah" | "capacities" | "capacity_wh" | "nominal_ah")
                });
            if basis != Basis::Guess || (nameplate && of_capacity) {
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
    let at = |share: f64| {
        let mut other = scenario.clone();
        other.battery = at_share_of_nameplate(&scenario.battery, share);
        other
    };
    Input {
        path: "battery capacity (nameplate)".to_owned(),
        why: Why::Nameplate,
        ends: Move::Times(DOUBTED_SHARE, NAMEPLATE_HIGH).words(),
        low: at(DOUBTED_SHARE),
        high: at(NAMEPLATE_HIGH),
    }
}

/// Sets one of the spreads of a scenario.
type SetSpread = fn(&mut Uncertain, Spread);

fn of_uncertain(scenario: &Scenario, uncertain: &Uncertain) -> Vec<Input> {
    let all: [(&str, Option<Spread>, SetSpread); 3] = [
        ("load_share", uncertain.load_share, |it, at| it.load_share = Some(at)),
        ("capacity_share", uncertain.capacity_share, |it, at| it.capacity_share = Some(at)),
        ("array_share", uncertain.array_share, |it, at| it.array_share = Some(at)),
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
    let Some(key) = path.last_key() else { return Err("it has no name".to_owned()) };
    let mut low = whole.clone();
    let mut high = whole.clone();
    let mut ends = None;
    for (value, end) in [(&mut low, 0), (&mut high, 1)] {
        let Some(place) = place_of(value, path) else {
            return Err("it is left to its default, which is not moved".to_owned());
        };
        let plain = place.as_f64();
        let is_loss = key == "loss_share";
        let mut changed = false;
        shift(place, key, is_loss, end, &mut changed);
        if !changed {
            return Err("it is no number that a spread could move".to_owned());
        }
        let words = move_of(key, is_loss).0.words();
        let word = match (plain, place.as_f64()) {
            (Some(_), Some(now)) => format!("{}", (now * 1e6).round() / 1e6),
            _ => words[end].clone(),
        };
        ends.get_or_insert([String::new(), String::new()])[end] = word;
    }
    let read = |value| serde_json::from_value(value).map_err(|it| it.to_string());
    Ok(Input {
        path: path.to_string(),
        why: Why::Guess,
        ends: ends.unwrap_or_default(),
        low: read(low)?,
        high: read(high)?,
    })
}

/// The value that a basis speaks of: at its path, or further inside the same object.
fn place_of<'v>(whole: &'v mut Value, path: &JsonPath) -> Option<&'v mut Value> {
    let (last, way) = path.steps().split_last()?;
    let mut value = whole;
    for step in way {
        value = match step {
            Step::Key(key) => value.get_mut(key)?,
            Step::Index(index) => value.get_mut(index)?,
        };
    }
    match last {
        Step::Key(key) => within(value, key),
        Step::Index(index) => value.get_mut(index),
    }
}

fn within<'v>(value: &'v mut Value, key: &str) -> Option<&'v mut Value> {
    let fields = value.as_object_mut()?;
    if fields.contains_key(key) {
        return fields.get_mut(key);
    }
    fields.iter_mut().filter(|(name, _)| *name != "basis").find_map(|(_, it)| within(it, key))
}

/// Moves a number, or all numbers of a list or object, to one end of their spread.
fn shift(value: &mut Value, key: &str, is_loss: bool, end: usize, changed: &mut bool) {
    match value {
        Value::Number(number) => {
            let (by, [least, most]) = move_of(key, is_loss);
            let Some(old) = number.as_f64().filter(|_| by != Move::Stays) else { return };
            // A whole number stays one: half a window is none.
            if number.is_u64() || number.is_i64() {
                return;
            }
            let mut new = by.ends(old)[end].clamp(least, most);
            if key == "azimuth_deg" {
                new = libm::fmod(new + 360.0, 360.0);
            }
            if let Some(new) = serde_json::Number::from_f64(new) {
                *changed |= old != new.as_f64().unwrap_or(old);
                *number = new;
            }
        }
        Value::Array(items) => {
            for item in items {
                shift(item, key, is_loss, end, changed);
            }
        }
        Value::Object(fields) => {
            for (name, field) in fields.iter_mut().filter(|(name, _)| *name != "basis") {
                shift(field, name, is_loss, end, changed);
            }
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_have_their_spread() {
        for (key, is_loss, value, ends) in [
            ("soiling", true, 0.02, [0.01, 0.03]),
            ("transmit_share", false, 0.2, [0.1, 0.3]),
            ("capacity_ah", false, 100.0, [65.0, 105.0]),
            ("air_mean_c", false, -5.0, [-8.0, -2.0]),
            ("power_per_c", false, -0.004, [-0.0032, -0.0048]),
            ("receive_a", false, 1.0, [0.8, 1.2]),
            ("discharge_h", false, 20.0, [20.0, 20.0]),
            ("efficiency_share", false, 0.9, [0.85, 0.93]),
        ] {
            let found = move_of(key, is_loss).0.ends(value);
            for (found, end) in found.iter().zip(ends) {
                assert!((found - end).abs() < 1e-12, "{key}: {found} {end}");
            }
        }
    }
}
