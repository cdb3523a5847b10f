//! The decisions of a station: stages between two looks at the charge, levels of charge, the sun of
//! the day before as its class, tiers as actions.
//!
//! What a stage may bring is what it brought in the legs of some trials, each with its own sky: at a
//! class the trials whose day before was of that class, all alike. An hour in a tier is worth what
//! the scenario says while somebody is there; while nobody is, nobody keys, and an hour on the air is
//! worth the least of them in every tier. A dark hour is worth nothing, and a stage with one, or one in
//! a tier that is not on the air, costs a penalty besides.

use super::sdp::{Decisions, Place, Way};
use crate::simulate::trials::legs::Leg;

/// Charges of the grid: every percent.
pub const LEVELS: usize = 101;
/// Classes of the day before: a dark, a middling and a bright third of the trials.
pub const CLASSES: usize = 3;
/// A dark moment shorter than this is rounding, h.
const MOMENT_H: f64 = 1e-6;

/// The charges of the grid.
#[must_use]
#[allow(clippy::cast_precision_loss)]
pub fn charges() -> Vec<f64> {
    (0..LEVELS).map(|level| level as f64 / (LEVELS - 1) as f64).collect()
}

/// The decisions of a station.
pub struct Station<'a> {
    /// By trial, then stage.
    legs: &'a [Vec<Leg>],
    /// By stage, then class: the trials.
    trials_of: Vec<[Vec<usize>; CLASSES]>,
    /// By trial, then stage; the class of the last is that it ends with.
    class_of: Vec<Vec<usize>>,
    /// By tier, the fullest first.
    worth_per_h: Vec<f64>,
    on_air: Vec<bool>,
    /// The least worth of an hour on the air.
    least_per_h: f64,
    penalty: f64,
}

impl<'a> Station<'a> {
    /// A station by the legs of its trials.
    #[must_use]
    pub fn new(
        legs: &'a [Vec<Leg>],
        worth_per_h: Vec<f64>,
        on_air: Vec<bool>,
        penalty: f64,
    ) -> Self {
        let stages = legs.first().map_or(0, Vec::len);
        let mut class_of = vec![vec![0; stages]; legs.len()];
        let mut trials_of = Vec::with_capacity(stages);
        for stage in 0..stages {
            let sun = |trial: usize| legs[trial][stage].sun_before_wh;
            let mut known: Vec<f64> = (0..legs.len()).filter_map(sun).collect();
            known.sort_by(f64::total_cmp);
            let bound = |class: usize| known.get(known.len() * class / CLASSES).copied();
            let mut trials: [Vec<usize>; CLASSES] = Default::default();
            for (trial, classes) in class_of.iter_mut().enumerate() {
                // Days that are all alike are all of one class.
                let class = sun(trial).map_or(0, |wh| {
                    (1..CLASSES).filter(|class| bound(*class).is_some_and(|it| wh >= it)).count()
                });
                classes[stage] = class;
                trials[class].push(trial);
            }
            trials_of.push(trials);
        }
        let on = worth_per_h.iter().zip(&on_air).filter(|(_, on)| **on).map(|(worth, _)| *worth);
        let least_per_h = on.fold(f64::INFINITY, f64::min);
        Self { legs, trials_of, class_of, worth_per_h, on_air, least_per_h, penalty }
    }

    /// Where the trials start: level, class, chance.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn starts(&self) -> Vec<(f64, usize, f64)> {
        let chance = 1.0 / self.legs.len().max(1) as f64;
        let level = |leg: &Leg| leg.from_share * (LEVELS - 1) as f64;
        let first = self.legs.iter().zip(&self.class_of);
        first
            .filter_map(|(legs, classes)| Some((level(legs.first()?), *classes.first()?, chance)))
            .collect()
    }

    /// The tier of an action: the most sparing action is the last tier.
    #[must_use]
    pub fn tier_of(&self, action: usize) -> usize {
        self.on_air.len() - 1 - action
    }
}

impl Decisions for Station<'_> {
    fn stages(&self) -> usize {
        self.trials_of.len()
    }

    fn levels(&self) -> usize {
        LEVELS
    }

    fn classes(&self) -> usize {
        CLASSES
    }

    fn actions(&self) -> usize {
        self.on_air.len()
    }

    #[allow(clippy::cast_precision_loss)]
    fn ways(&self, at: Place, action: usize, each: &mut dyn FnMut(Way)) {
        let Place { stage, level, class } = at;
        let trials = &self.trials_of[stage][class];
        let tier = self.tier_of(action);
        let chance = 1.0 / trials.len().max(1) as f64;
        for trial in trials {
            let leg = &self.legs[*trial][stage];
            let dark_h = leg.dark_h[tier][level];
            let fails = dark_h > MOMENT_H || !self.on_air[tier];
            let penalty = if fails { self.penalty } else { 0.0 };
            let full = self.worth_per_h[tier];
            let alone = full.min(self.least_per_h);
            let whole = full * leg.attended_h + alone * (leg.hours - leg.attended_h);
            let served = 1.0 - dark_h / leg.hours.max(MOMENT_H);
            each(Way {
                chance,
                worth: whole * served - penalty,
                to_level: leg.to_share[tier][level] * (LEVELS - 1) as f64,
                to_class: self.class_of[*trial].get(stage + 1).copied().unwrap_or(0),
            });
        }
    }

    /// What is left at the end is worth nothing: the time that counts is over.
    fn end_worth(&self, _level: usize, _class: usize) -> f64 {
        0.0
    }
}
