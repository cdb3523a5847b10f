//! Inputs that are not known for sure.
//!
//! A trial draws one of [`LEVELS`] equally likely levels, the middles of as many even parts of the
//! spread: trials of the same levels share one compiled plan and run side by side. The variance of
//! an even spread so cut is 1 - 1/64 of the whole one. Arrays are scaled without levels.

use crate::chance::draw::{Draw, Purpose};
use crate::chance::transforms::shares::whole_below;
use crate::scenario::Scenario;
use crate::scenario::loads::Draw as LoadDraw;
use crate::scenario::sun::{Spread, Uncertain};
use crate::station::battery::register;

/// Levels of an input that is spread.
pub const LEVELS: u32 = 8;

/// How many levels a spread has.
#[must_use]
pub fn levels(spread: Option<Spread>) -> u32 {
    match spread {
        Some(Spread::Uniform(_)) => LEVELS,
        Some(Spread::Fixed(_)) | None => 1,
    }
}

fn value_at(spread: Option<Spread>, level: u32) -> f64 {
    let middle = (f64::from(level) + 0.5) / f64::from(levels(spread));
    spread.map_or(1.0, |spread| spread.value(middle))
}

/// How many plans there are.
#[must_use]
pub fn variants(uncertain: &Uncertain) -> u32 {
    levels(uncertain.load_multiplier) * levels(uncertain.capacity_multiplier)
}

/// The plan that a trial runs.
#[must_use]
pub fn variant_of(uncertain: &Uncertain, seed: u64, trial: u64) -> usize {
    let level = |spread, purpose| match levels(spread) {
        1 => 0,
        count => whole_below(Draw::new(seed, trial, 0, purpose).uniform(), count),
    };
    let load = level(uncertain.load_multiplier, Purpose::UncertainLoad);
    let capacity = level(uncertain.capacity_multiplier, Purpose::UncertainCapacity);
    (load * levels(uncertain.capacity_multiplier) + capacity) as usize
}

/// What the arrays of a trial give over what the model gives.
#[must_use]
pub fn array_multiplier(uncertain: &Uncertain, seed: u64, trial: u64) -> f64 {
    uncertain.array_multiplier.map_or(1.0, |spread| {
        spread.value(Draw::new(seed, trial, 0, Purpose::UncertainArray).uniform())
    })
}

/// The scenario of a variant.
#[must_use]
pub fn scenario_of(scenario: &Scenario, uncertain: &Uncertain, variant: u32) -> Scenario {
    let capacity_levels = levels(uncertain.capacity_multiplier);
    let load = value_at(uncertain.load_multiplier, variant / capacity_levels);
    let capacity = value_at(uncertain.capacity_multiplier, variant % capacity_levels);
    let mut scenario = scenario.clone();
    if load != 1.0 {
        for it in scenario.loads.values_mut() {
            scale(&mut it.draw, load);
        }
    }
    if capacity != 1.0 {
        scenario.battery = register::at_share_of_capacity(&scenario.battery, capacity);
    }
    scenario
}

fn scale(draw: &mut LoadDraw, share: f64) {
    match draw {
        LoadDraw::Current { receive_a, transmit_a } => {
            *receive_a *= share;
            *transmit_a = transmit_a.map(|it| it * share);
        }
        LoadDraw::Envelope { receive_a, quiescent_a, full_a, .. } => {
            *receive_a *= share;
            *quiescent_a *= share;
            *full_a *= share;
        }
        LoadDraw::Power { power_w, idle_w, .. } => {
            *power_w *= share;
            *idle_w *= share;
        }
    }
}
