//! Which card is printed: ways to shed compared on the same trials.
//!
//! The candidates are the cards of several rows and the plain rules that the decisions lead to, each
//! with a penalty of its own; the scenario's own rules; never shedding; and plain rules that lie near
//! the best of them, found by moving thresholds while trials gain. The aim: first to stay on the air
//! in the share of trials asked for, then the most valued hours. A candidate must keep the chance by a
//! standard error, or the luckiest of many would be taken; by more once one has missed them on fresh
//! trials (`attempts`).

use std::path::Path;

use super::reduce::Card;
use super::tried::{Tried, tried};
use super::{STEP_PERCENT, WHEN_NEVER, following};
use crate::decide::now::Failure;
use crate::scenario::Scenario;
use crate::scenario::loads::CardRow;

/// Steps by which thresholds of a plain rule are moved, either way.
const MOVES: usize = 2;
/// Rounds of moving all of them.
const ROUNDS: usize = 3;
/// On so large a part of the trials: what is found is then tried on all.
const PART: u64 = 4;

/// A way to shed that may be printed.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Way {
    /// Rows of the decisions, and what a stage off the air was taken to cost in them.
    Rows(Card, f64),
    /// The same charges at every look: by tier, the fullest first, share.
    Plain(Vec<f64>),
    /// The scenario's own rules.
    Own,
}

/// A candidate with how it fared.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Candidate {
    pub way: Way,
    pub on_air_share: f64,
    valued_h: f64,
}

/// Compares candidates.
pub(super) struct Judge<'a> {
    pub scenario: &'a Scenario,
    pub words: &'a [String],
    pub base_dir: &'a Path,
    /// Worth of an hour by tier.
    pub worths: &'a [f64],
    pub target_chance: f64,
    /// What a candidate must keep beyond the chance and their margin, share: more after one has missed
    /// them on fresh trials.
    pub stricter_share: f64,
    pub seed: u64,
    pub trials: std::ops::Range<u64>,
    pub threads: usize,
}

impl Judge<'_> {
    /// Tries a way to shed, as a scenario that follows it.
    pub(super) fn stands(&self, way: Way, follows: &Scenario) -> Result<Candidate, Failure> {
        let on = (self.trials.clone(), self.threads);
        let Tried { on_air_share, valued_h, .. } =
            tried("", follows, self.base_dir, self.seed, self.worths, on)?;
        Ok(Candidate { way, on_air_share, valued_h })
    }

    /// Tries a plain rule.
    pub(super) fn stands_plain(&self, shares: Vec<f64>) -> Result<Candidate, Failure> {
        let follows = following(self.scenario, self.words, plain_rows(&shares));
        self.stands(Way::Plain(shares), &follows)
    }

    /// Whether a candidate keeps the chance by a standard error, or by half of what they leave out
    /// where that is less, and by what was added since.
    pub(super) fn keeps(&self, candidate: &Candidate) -> bool {
        candidate.on_air_share >= (self.least_share() + self.stricter_share).min(1.0)
    }

    /// The least share that keeps the chance before anything is added.
    fn least_share(&self) -> f64 {
        let error = libm::sqrt(self.target_chance * (1.0 - self.target_chance) / self.many());
        self.target_chance + error.min((1.0 - self.target_chance) / 2.0)
    }

    #[allow(clippy::cast_precision_loss)]
    fn many(&self) -> f64 {
        (self.trials.end - self.trials.start).max(1) as f64
    }

    /// Asks for more, now that a candidate fell short of the chance by a share of fresh trials: what it
    /// kept here and what it lacked there, and one trial more than it kept at least.
    pub(super) fn ask_for_more(&mut self, missed: &Candidate, lacks_share: f64) {
        let wanted = missed.on_air_share + lacks_share.max(1.0 / self.many());
        self.stricter_share = self.stricter_share.max(wanted - self.least_share());
    }

    /// Whether one serves the aim better than another.
    fn better(&self, one: &Candidate, other: &Candidate) -> bool {
        match (self.keeps(one), self.keeps(other)) {
            (true, true) => one.valued_h > other.valued_h + 1e-9,
            (false, false) => {
                one.on_air_share > other.on_air_share
                    || (one.on_air_share >= other.on_air_share
                        && one.valued_h > other.valued_h + 1e-9)
            }
            (keeps, _) => keeps,
        }
    }

    /// The best of some; of equal ones the first.
    pub(super) fn best(&self, of: impl IntoIterator<Item = Candidate>) -> Option<Candidate> {
        of.into_iter().reduce(|best, it| if self.better(&it, &best) { it } else { best })
    }

    /// A plain rule with its thresholds moved while trials gain, or as it was where that is better.
    pub(super) fn polished(&self, from: Candidate) -> Result<Candidate, Failure> {
        let Way::Plain(shares) = &from.way else { return Ok(from) };
        let few = (self.trials.end - self.trials.start).div_ceil(PART);
        let trials = self.trials.start..self.trials.start + few;
        let part = Judge { trials, ..*self };
        let found = part.moved(shares)?;
        let Way::Plain(shares) = found.way else { return Ok(from) };
        let found = self.stands_plain(shares)?;
        Ok(if self.better(&found, &from) { found } else { from })
    }

    /// Moves the thresholds of a plain rule while trials gain.
    fn moved(&self, shares: &[f64]) -> Result<Candidate, Failure> {
        let mut seen = vec![shares.to_vec()];
        let mut best = self.stands_plain(shares.to_vec())?;
        for _ in 0..ROUNDS {
            let before = best.clone();
            let tiers = seen.first().map_or(0, Vec::len);
            for place in 0..tiers {
                for up in [false, true] {
                    for moves in 1..=MOVES {
                        let Way::Plain(shares) = &best.way else { break };
                        let shares = moved(shares, place, moves, up);
                        if seen.contains(&shares) {
                            continue;
                        }
                        seen.push(shares.clone());
                        let other = self.stands_plain(shares)?;
                        if self.better(&other, &best) {
                            best = other;
                        }
                    }
                }
            }
            if best == before {
                break;
            }
        }
        Ok(best)
    }
}

/// A plain rule as the rows of a scenario.
pub(super) fn plain_rows(shares: &[f64]) -> Vec<CardRow> {
    vec![CardRow { at: None, from_h: 0.0, at_least_share: shares.to_vec() }]
}

/// Thresholds on the printed steps.
#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
pub(super) fn on_steps(shares: &[f64]) -> Vec<f64> {
    let steps = (100 / STEP_PERCENT) as f64;
    shares.iter().map(|share| of_step((share.clamp(0.0, 1.0) * steps).round() as usize)).collect()
}

/// The share of a printed step; never for the one after the last.
#[allow(clippy::cast_precision_loss)]
fn of_step(step: usize) -> f64 {
    let percent = step * STEP_PERCENT;
    if percent > 100 { WHEN_NEVER } else { percent as f64 / 100.0 }
}

/// Thresholds with one of them moved, and those that are in its way with it.
#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn moved(shares: &[f64], place: usize, moves: usize, up: bool) -> Vec<f64> {
    let last = 100 / STEP_PERCENT + 1;
    let step = |share: f64| ((share * 100.0 / STEP_PERCENT as f64).ceil() as usize).min(last);
    let here = step(shares.get(place).copied().unwrap_or(0.0));
    let goal = if up { (here + moves).min(last) } else { here.saturating_sub(moves) };
    let goal = of_step(goal);
    let one = |(at, share): (usize, &f64)| match at.cmp(&place) {
        std::cmp::Ordering::Equal => goal,
        std::cmp::Ordering::Less => share.max(goal),
        std::cmp::Ordering::Greater => share.min(goal),
    };
    shares.iter().enumerate().map(one).collect()
}
