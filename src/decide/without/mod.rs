//! What a station comes to without one of its parts, and which guess matters most.
//!
//! Lives here: which parts there are to lose ([`parts`]), which inputs are guesses and how far each
//! is moved ([`guesses`]), the trials of all of them beside those of the whole station, and what they
//! come to. Does not live here: the trials of one station and the counting of pairs (contest),
//! wording, pictures.
//!
//! A part is missing from the warm-up days on, as one whose fault nobody has noticed. A moved
//! input is moved alone. What comes first is told by the trials that go another way, then by the hours off
//! the air, then by the lowest charge of 1 in 20: the count stands still where all trials fail or none.
//! Trust: as the trials; the ranges of guesses are judgement.

pub mod guesses;
pub mod parts;

use std::cmp::Ordering;
use std::path::Path;

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use self::guesses::{Input, Why, inputs};
use self::parts::{Loss, losses};
use super::contest::counts::{Counts, Fate};
use super::contest::pairs::Pair;
use super::contest::{Play, Played, Unplayed, play};
use super::odds::Occasion;
use super::odds::answers::CHARGE_UNITS;
use super::odds::quantiles::Quantiles;
use super::odds::result::Within;
use super::odds::subject::{Shape, same_start};
use crate::chance::ChanceProblem;
use crate::error::Error;
use crate::scenario::Scenario;
use crate::scenario::schedule::{EngineUse, SupplyRule};
use crate::simulate::trials::Watch;

/// What a station comes to without its parts: the keys of `without.json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Without {
    /// Title of the scenario.
    pub title: String,
    /// Version of the program.
    pub version: String,
    /// The part whose loss hurts most, in counts.
    pub sentence: String,
    /// What to measure first, in counts.
    pub measure_sentence: String,
    /// What one trial is, as in `odds.json`.
    pub occasion: Occasion,
    /// Random seed.
    pub seed: u64,
    /// Trials, the same for all.
    pub trials: u64,
    /// Elapsed hours of the span.
    pub hours: f64,
    /// Local time at which the span starts; null where each trial has its own.
    pub start: Option<DateTime<FixedOffset>>,
    /// Strategy in force.
    pub strategy: String,
    /// What the station does by its charge, and so sooner with less to run on: `shedding`,
    /// `generator`, `top_up`.
    pub by_charge: Vec<ByCharge>,
    /// The whole station.
    pub whole: Carried,
    /// Without each part, that whose loss hurts most first.
    pub lost: Vec<Lost>,
    /// Each guess moved both ways, that which matters most first.
    pub swings: Vec<Swing>,
    /// Guesses that are not moved, and why.
    pub not_moved: Vec<String>,
}

/// Something that a station does when its charge has fallen so far.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ByCharge {
    /// It sheds load.
    Shedding,
    /// It starts its generator.
    Generator,
    /// It is topped up from the mains.
    TopUp,
}

/// What a station does by its charge under the strategy in force.
fn by_charge(scenario: &Scenario) -> Vec<ByCharge> {
    let strategy = scenario.strategies.get(&scenario.strategy);
    let tops_up = |rule: &SupplyRule| {
        let rule = if let SupplyRule::Warned { otherwise, .. } = rule { otherwise } else { rule };
        matches!(rule, SupplyRule::TopUp { .. })
    };
    let engine = strategy.is_some_and(|it| it.generator == EngineUse::Allowed);
    let all = [
        (ByCharge::Shedding, scenario.shedding.is_some() && scenario.tiers.len() > 1),
        (ByCharge::Generator, scenario.generator.is_some() && engine),
        (ByCharge::TopUp, strategy.is_some_and(|it| tops_up(&it.supply))),
    ];
    all.into_iter().filter(|(_, does)| *does).map(|(what, _)| what).collect()
}

/// How many trials a station carries.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Carried {
    /// Trials on the air for all hours.
    pub lasted: u64,
    /// Their share.
    pub on_air_share: f64,
    /// Wilson interval, 95 %: low and high end.
    pub on_air_wilson_95: [f64; 2],
    /// Hours of a mean trial off the air.
    pub off_air_h: f64,
    /// Lowest charge, share of rated, aged capacity: in 1 of 20 trials it is this or less.
    pub lowest_charge_p05_share: f64,
}

/// The station without one part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lost {
    /// The part.
    pub part: String,
    /// Where it stands in the scenario file.
    pub path: String,
    /// What the station carries without it.
    #[serde(flatten)]
    pub carried: Carried,
    /// The whole station, A, against that without the part, B.
    pub pair: Pair,
}

/// One input moved both ways.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Swing {
    /// Where it stands in the scenario file.
    pub path: String,
    /// Why it is moved.
    pub why: Why,
    /// What it is moved to: `0.1` or `x 0.5`, low end and high end.
    pub ends: [String; 2],
    /// What the station carries at the low end.
    pub low: Carried,
    /// What it carries at the high end.
    pub high: Carried,
    /// Trials that do not go the same way at the low end, as stated and at the high end.
    pub swing: u64,
    /// Hours of a mean trial off the air: the most of the three less the least.
    pub off_air_apart_h: f64,
    /// Lowest charge of 1 in 20 trials: likewise.
    pub lowest_charge_apart_share: f64,
}

/// What tells stations apart. Where all of them lose every trial, or none loses any, the count stands
/// still and the next does it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ToldBy {
    /// Trials that go another way.
    Count,
    /// Hours off the air.
    OffAir,
    /// The lowest charge of 1 in 20 trials.
    LowestCharge,
    /// None of them.
    Nothing,
}

/// Differences in the order in which they count.
type Apart = (u64, f64, f64);

fn told_by((count, off_air_h, lowest_share): Apart) -> ToldBy {
    match (count > 0, off_air_h > 0.0, lowest_share > 0.0) {
        (true, ..) => ToldBy::Count,
        (_, true, _) => ToldBy::OffAir,
        (_, _, true) => ToldBy::LowestCharge,
        _ => ToldBy::Nothing,
    }
}

fn by_apart(a: Apart, b: Apart) -> Ordering {
    a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2))
}

/// Whether two come to the same in the measure that is told; the others only order what ties.
fn tie(a: Apart, b: Apart) -> bool {
    told_by(a) == told_by(b)
        && match told_by(a) {
            ToldBy::Count => a.0 == b.0,
            ToldBy::OffAir => a.1.total_cmp(&b.1).is_eq(),
            ToldBy::LowestCharge => a.2.total_cmp(&b.2).is_eq(),
            ToldBy::Nothing => true,
        }
}

impl Swing {
    fn apart(&self) -> Apart {
        (self.swing, self.off_air_apart_h, self.lowest_charge_apart_share)
    }

    /// What tells its ends apart.
    #[must_use]
    pub fn told_by(&self) -> ToldBy {
        told_by(self.apart())
    }

    /// Whether another comes to the same in what tells its ends apart: a tie.
    #[must_use]
    pub fn ties_with(&self, other: &Self) -> bool {
        tie(self.apart(), other.apart())
    }
}

impl Lost {
    fn worse_than(&self, whole: &Carried) -> Apart {
        (
            self.pair.only_a,
            self.carried.off_air_h - whole.off_air_h,
            whole.lowest_charge_p05_share - self.carried.lowest_charge_p05_share,
        )
    }

    /// What tells its loss from the whole station.
    #[must_use]
    pub fn told_by(&self, whole: &Carried) -> ToldBy {
        told_by(self.worse_than(whole))
    }

    /// Whether another loss hurts just as much in what tells it from the whole station: a tie.
    #[must_use]
    pub fn ties_with(&self, other: &Self, whole: &Carried) -> bool {
        tie(self.worse_than(whole), other.worse_than(whole))
    }
}

impl Carried {
    fn of(played: &Played, hours: f64) -> Self {
        let counts = &played.counts;
        let within = Within::of(hours, counts.tally);
        let lowest = Quantiles::of(&counts.lowest, counts.lowest.count(), CHARGE_UNITS);
        Self {
            off_air_h: counts.off_air_h(&played.plan.heads.tiers_on_air),
            lowest_charge_p05_share: lowest.p05.unwrap_or(0.0),
            lasted: counts.tally.successes(),
            on_air_share: within.on_air_share,
            on_air_wilson_95: within.on_air_wilson_95,
        }
    }
}

/// How many stations there are to play.
#[must_use]
pub fn stations(scenario: &Scenario) -> usize {
    1 + losses(scenario).len() + 2 * inputs(scenario).0.len()
}

/// Plays the whole station, that without each part, and that with each guess moved both ways, in the
/// same trials. Sentences are left empty: wording belongs to `show`.
///
/// # Errors
/// When the station cannot be compiled, threads cannot be started, or the watch ended it.
pub fn without(
    scenario: &Scenario,
    base_dir: &Path,
    how: &Play,
    watch: &Watch,
) -> Result<Without, Unplayed> {
    let whole = play(scenario, base_dir, how, watch)?;
    let shape = Shape::of(&whole.plan);
    let carried = |played: &Played| Carried::of(played, shape.hours());
    let stated = carried(&whole);
    let parts = losses(scenario);
    let pairs = parts.len();
    let mut lost = Vec::with_capacity(pairs);
    for Loss { part, path, scenario } in parts {
        let its = play(&scenario, base_dir, how, watch)?;
        let pair = Pair::of(("whole", &whole.counts), (&part, &its.counts), pairs);
        let pair = pair.map_err(internal)?;
        lost.push(Lost { carried: carried(&its), pair, part, path });
    }
    lost.sort_by(|a: &Lost, b| by_apart(b.worse_than(&stated), a.worse_than(&stated)));
    let (inputs, mut not_moved) = inputs(scenario);
    let mut swings = Vec::with_capacity(inputs.len());
    for Input { path, why, ends, low, high } in inputs {
        let both = [low, high].map(|it| play(&it, base_dir, how, watch));
        let (swing, low, high) = match both {
            [Ok(low), Ok(high)] => {
                let swing = going_other_ways([&low.counts, &whole.counts, &high.counts]);
                (swing, carried(&low), carried(&high))
            }
            [Err(Unplayed::Wrong(problems)), _] | [_, Err(Unplayed::Wrong(problems))] => {
                let why = problems.first().map_or("", |it| it.text.as_str());
                not_moved.push(format!("{path}: moved so far it cannot be: {why}"));
                continue;
            }
            [Err(other), _] | [_, Err(other)] => return Err(other),
        };
        let between = |of: fn(&Carried) -> f64| {
            let all = [&low, &stated, &high].map(of);
            all.into_iter().fold(f64::NEG_INFINITY, f64::max)
                - all.into_iter().fold(f64::INFINITY, f64::min)
        };
        let off_air_apart_h = between(|it| it.off_air_h);
        let lowest_charge_apart_share = between(|it| it.lowest_charge_p05_share);
        swings.push(Swing {
            path,
            why,
            ends,
            low,
            high,
            swing,
            off_air_apart_h,
            lowest_charge_apart_share,
        });
    }
    swings.sort_by(|a: &Swing, b| by_apart(b.apart(), a.apart()));
    let start = whole.plan.steps.get(whole.plan.settling_steps).map(|step| step.start);
    Ok(Without {
        title: scenario.title.clone(),
        version: env!("CARGO_PKG_VERSION").into(),
        sentence: String::new(),
        measure_sentence: String::new(),
        occasion: Occasion::of(scenario),
        seed: how.seed,
        trials: how.trials,
        hours: shape.hours(),
        start: start.filter(|_| same_start(scenario)),
        strategy: scenario.strategy.clone(),
        whole: stated,
        by_charge: by_charge(scenario),
        lost,
        swings,
        not_moved,
    })
}

/// Trials that do not go the same way for all. What one of them is independent of is left out.
fn going_other_ways(all: [&Counts; 3]) -> u64 {
    let [a, b, c] = all.map(|counts| counts.fates.iter());
    let known =
        a.zip(b).zip(c).filter(|((a, b), c)| [*a, *b, *c].iter().all(|it| **it != Fate::Unknown));
    known.filter(|((a, b), c)| a != b || b != c).count() as u64
}

fn internal(problem: ChanceProblem) -> Unplayed {
    Unplayed::Failed(Error::fault(problem.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_that_lose_the_same_number_are_apart() {
        let of = |fates: &str| {
            let mut counts = Counts::empty(1, 1.0);
            counts.fates.extend(fates.chars().map(|it| match it {
                '+' => Fate::Lasted,
                '-' => Fate::Fell,
                _ => Fate::Unknown,
            }));
            counts
        };
        let apart = |all: [&str; 3]| {
            let [low, stated, high] = all.map(of);
            going_other_ways([&low, &stated, &high])
        };
        // Both ends lose the same two, both lose one but not the same, and one that is not known.
        assert_eq!(apart(["--++", "++++", "--++"]), 2);
        assert_eq!(apart(["-+++", "++++", "+++-"]), 2);
        assert_eq!(apart(["-?++", "++++", "-+++"]), 1);
        assert_eq!(apart(["----", "----", "----"]), 0);
    }
}
