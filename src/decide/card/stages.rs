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

/// Charges of the table: every percent.
pub const LEVELS: usize = 101;
/// Classes of the day before: a dark, a middling and a bright third of the trials.
pub const CLASSES: usize = 3;
/// A dark moment shorter than this is rounding, h.
const MOMENT_H: f64 = 1e-6;

/// The charges of the table of charges.
#[must_use]
#[allow(clippy::cast_precision_loss)]
pub fn charges() -> Vec<f64> {
    (0..LEVELS).map(|level| level as f64 / (LEVELS - 1) as f64).collect()
}

/// What hours are worth.
struct Worths {
    /// By tier, the fullest first.
    worth_per_h: Vec<f64>,
    /// The least worth of an hour on the air.
    least_per_h: f64,
    penalty: f64,
}

impl Worths {
    /// The worth of a leg in a tier from a level.
    fn of(&self, leg: &Leg, tier: usize, on_air: bool, level: usize) -> f64 {
        let no_power_h = leg.no_power_h[tier][level];
        let fails = no_power_h > MOMENT_H || !on_air;
        let penalty = if fails { self.penalty } else { 0.0 };
        let full = self.worth_per_h[tier];
        let alone = full.min(self.least_per_h);
        let whole = full * leg.attended_h + alone * (leg.hours - leg.attended_h);
        let served = 1.0 - no_power_h / leg.hours.max(MOMENT_H);
        whole * served - penalty
    }
}

/// The decisions of a station.
pub struct Station<'a> {
    /// By trial, then stage.
    legs: &'a [Vec<Leg>],
    /// By stage, then class: the trials.
    trials_of: Vec<[Vec<usize>; CLASSES]>,
    /// By trial, then stage; the class of the last is that it ends with.
    class_of: Vec<Vec<usize>>,
    on_air: Vec<bool>,
    /// Every way of every stage, class, tier and level, in this order and then by trial: they are gone
    /// through again and again.
    ways: Vec<Way>,
    /// By stage, then class: where its ways begin.
    ways_from: Vec<[usize; CLASSES]>,
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
        let worths = Worths { least_per_h: on.fold(f64::INFINITY, f64::min), worth_per_h, penalty };
        let mut station =
            Self { legs, trials_of, class_of, on_air, ways: Vec::new(), ways_from: Vec::new() };
        station.go_all_ways(&worths);
        station
    }

    /// Brings about the ways of all places.
    #[allow(clippy::cast_precision_loss)]
    fn go_all_ways(&mut self, worths: &Worths) {
        let tiers = self.on_air.len();
        let all = self.legs.len() * self.trials_of.len() * tiers * LEVELS;
        let mut ways = Vec::with_capacity(all);
        for (stage, trials_of) in self.trials_of.iter().enumerate() {
            let mut from = [0; CLASSES];
            for (class, trials) in trials_of.iter().enumerate() {
                from[class] = ways.len();
                let chance = 1.0 / trials.len().max(1) as f64;
                for tier in 0..tiers {
                    for level in 0..LEVELS {
                        ways.extend(trials.iter().map(|trial| {
                            let leg = &self.legs[*trial][stage];
                            Way {
                                chance,
                                worth: worths.of(leg, tier, self.on_air[tier], level),
                                to_level: leg.to_share[tier][level] * (LEVELS - 1) as f64,
                                to_class: self.class_of[*trial]
                                    .get(stage + 1)
                                    .copied()
                                    .unwrap_or(0),
                            }
                        }));
                    }
                }
            }
            self.ways_from.push(from);
        }
        self.ways = ways;
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

    fn ways(&self, at: Place, action: usize, each: &mut dyn FnMut(Way)) {
        let Place { stage, level, class } = at;
        let count = self.trials_of[stage][class].len();
        let from = self.ways_from[stage][class] + (self.tier_of(action) * LEVELS + level) * count;
        for way in &self.ways[from..from + count] {
            each(*way);
        }
    }

    /// What is left at the end is worth nothing: the time that counts is over.
    fn end_worth(&self, _level: usize, _class: usize) -> f64 {
        0.0
    }
}
