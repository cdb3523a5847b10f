//! What a station comes to without one of its parts, and which guess matters most.
//!
//! Lives here: which parts there are to lose ([`parts`]), which inputs are guesses and how far each
//! is moved ([`guesses`]), the trials of all of them beside those of the whole station, and what they
//! come to. Does not live here: the trials of one station and the counting of pairs (contest),
//! wording, pictures.
//!
//! A part is missing from the settling days on, as one whose fault nobody has noticed. A moved
//! input is moved alone. Trust: as the trials; the spreads of guesses are judgement.

pub mod guesses;
pub mod parts;

use std::path::Path;

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use self::guesses::{Input, Why, inputs};
use self::parts::{Loss, losses};
use super::contest::counts::Counts;
use super::contest::pairs::Pair;
use super::contest::{Play, Unplayed, play};
use super::odds::Occasion;
use super::odds::result::Within;
use super::odds::subject::{Shape, same_start};
use crate::chance::ChanceProblem;
use crate::error::Error;
use crate::scenario::Scenario;
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
    /// Key of the random numbers.
    pub seed: u64,
    /// Trials, the same for all.
    pub trials: u64,
    /// Elapsed hours of the span.
    pub hours: f64,
    /// Local time at which the span starts; null where each trial has its own.
    pub start: Option<DateTime<FixedOffset>>,
    /// Strategy in force.
    pub strategy: String,
    /// The whole station.
    pub whole: Carried,
    /// Without each part, that whose loss hurts most first.
    pub lost: Vec<Lost>,
    /// Each guess moved both ways, that which matters most first.
    pub swings: Vec<Swing>,
    /// Guesses that are not moved, and why.
    pub not_moved: Vec<String>,
}

/// How many trials a station carries.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Carried {
    /// Trials on the air for all hours.
    pub lasted: u64,
    /// Their share.
    pub readiness: f64,
    /// Wilson interval, 95 %: low and high end.
    pub readiness_wilson_95: [f64; 2],
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
    /// Trials between the two.
    pub swing: u64,
}

impl Carried {
    fn of(counts: &Counts, hours: f64) -> Self {
        let within = Within::of(hours, counts.tally);
        Self {
            lasted: counts.tally.successes(),
            readiness: within.readiness,
            readiness_wilson_95: within.readiness_wilson_95,
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
    let carried = |counts: &Counts| Carried::of(counts, shape.hours());
    let parts = losses(scenario);
    let pairs = parts.len();
    let mut lost = Vec::with_capacity(pairs);
    for Loss { part, path, scenario } in parts {
        let its = play(&scenario, base_dir, how, watch)?;
        let pair = Pair::of(("whole", &whole.counts), (&part, &its.counts), pairs);
        let pair = pair.map_err(internal)?;
        lost.push(Lost { carried: carried(&its.counts), pair, part, path });
    }
    lost.sort_by_key(|it| std::cmp::Reverse(it.pair.only_a));
    let (inputs, mut not_moved) = inputs(scenario);
    let mut swings = Vec::with_capacity(inputs.len());
    for Input { path, why, ends, low, high } in inputs {
        let both = [low, high].map(|it| play(&it, base_dir, how, watch));
        let [low, high] = match both {
            [Ok(low), Ok(high)] => [carried(&low.counts), carried(&high.counts)],
            [Err(Unplayed::Wrong(problems)), _] | [_, Err(Unplayed::Wrong(problems))] => {
                let why = problems.first().map_or("", |it| it.text.as_str());
                not_moved.push(format!("{path}: moved so far it cannot be: {why}"));
                continue;
            }
            [Err(other), _] | [_, Err(other)] => return Err(other),
        };
        let swing = high.lasted.abs_diff(low.lasted);
        swings.push(Swing { path, why, ends, low, high, swing });
    }
    swings.sort_by_key(|it| std::cmp::Reverse(it.swing));
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
        whole: carried(&whole.counts),
        lost,
        swings,
        not_moved,
    })
}

fn internal(problem: ChanceProblem) -> Unplayed {
    Unplayed::Failed(Error::fault(problem.to_string()))
}
