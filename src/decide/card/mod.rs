//! The operating card: at which charge to be in which tier.
//!
//! Lives here: the decisions of a station solved backwards ([`sdp`], [`stages`]), reduced to a few
//! rows ([`mod@reduce`]), compared with plain rules and the scenario's own (`choose`), and the printed
//! card tried on fresh trials beside its rivals ([`mod@tried`]), the next stricter one where it misses
//! ([`attempts`]). Does not live here: how the step
//! follows a card (`plan`, `simulate`), and the printed page (`show::card`).

pub mod attempts;
mod choose;
mod printed;
pub mod reduce;
pub mod sdp;
pub mod stages;
pub mod tried;

use std::path::Path;

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use attempts::{Attempt, MOST_ATTEMPTS};
use choose::{Candidate, Judge, Way, on_steps, plain_rows};
pub use printed::{PrintedRow, Threshold};
use printed::{Printer, WHEN_NEVER};
use reduce::{Card, Shape, reduce};
use sdp::solve;
use stages::{LEVELS, Station, charges};
use tried::{Tried, prepared, tried};

use super::now::Failure;
use crate::decide::cautions::{Caution, cautions};
use crate::plan::compile::clock_and_stretch;
use crate::scenario::Scenario;
use crate::scenario::loads::{CardRow, Shedding};
use crate::scenario::schedule::Grid;
use crate::simulate::trials::legs::{decisions, legs};
use crate::station::battery::register::Holds;

/// Most rows of a printed card.
pub const MOST_ROWS: usize = 12;
/// Printed charges are multiples of so many percent.
const STEP_PERCENT: usize = 5;
/// Trials whose skies the decisions are solved for: fewer for a long span, one where all are alike.
const LEG_TRIALS: std::ops::RangeInclusive<u64> = 24..=96;
/// Hours of all these trials together.
const LEG_HOURS: u64 = 9_600;
/// Longest span of a card, h.
const MOST_HOURS: u32 = 30 * 24;
/// Trials on which cards are compared before one is chosen.
const TUNING_TRIALS: u64 = 1_000;
/// Where those trials begin: far from the fresh ones, which begin at 0 as those of `odds` do.
const LEGS_FROM: u64 = 1 << 40;
const TUNING_FROM: u64 = 1 << 41;
/// What a stage off the air costs, over what the whole span in the fullest tier is worth. Which of
/// them is enough to keep the chance is found by trying.
const PENALTIES: [f64; 7] = [0.005, 0.02, 0.1, 0.5, 2.5, 15.0, 100.0];
/// How often the penalty is halved between two of them.
const FINER: usize = 4;
/// Names of rows that hold at every look.
const EVERY_LOOK: &str = "at every look";
const STAY: &str = "to stay in it";
const GO_UP: &str = "to go up to it";
/// An hour in a tier is worth so many in the next one where the scenario does not say.
const TIER_OVER_NEXT: f64 = 10.0;

/// What is asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// In what share of trials the station must stay on the air before anything else counts.
    pub target_chance: f64,
    /// Fresh trials.
    pub trials: u64,
    /// Random seed.
    pub seed: u64,
    /// Threads; 0 for all cores.
    pub threads: usize,
}

/// An operating card, printed and tried.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OperatingCard {
    /// Title of the scenario.
    pub title: String,
    /// Version of the program.
    pub version: &'static str,
    /// Strategy in force.
    pub strategy: String,
    /// When the span begins.
    pub start: DateTime<FixedOffset>,
    /// When it ends.
    pub end: DateTime<FixedOffset>,
    /// Its hours.
    pub hours: f64,
    /// What the battery gives from full, aged, Ah; lead-acid when drawn slowly.
    pub capacity_ah: f64,
    /// What is told of it beside that.
    pub holds: Holds,
    /// Odds that come first.
    pub target_chance: f64,
    /// Random seed.
    pub seed: u64,
    /// Which of the candidates it is.
    pub kind: Kind,
    /// Tiers, the fullest first. Every tier that is on the air counts as being on the air.
    pub tiers: Vec<CardTier>,
    /// The lowest tier that counts where sizes are chosen, which the card does not heed.
    pub lowest_tier_of_sizing: Option<String>,
    /// Whether volts say how full the battery is.
    pub volts_tell: bool,
    /// What everything draws while receiving, in the fullest tier, A: with it volts are read.
    pub receive_a: f64,
    /// The rows, in time.
    pub rows: Vec<PrintedRow>,
    /// The best plain rule, the same charges at every decision; empty where it is the card.
    pub plain_rule: Vec<Threshold>,
    /// The printed card, then its rivals, on the same fresh trials: the best card of several rows, the
    /// best plain rule, never shedding, the scenario's own rules.
    pub tried: Vec<Tried>,
    /// The cards that were tried until one kept the chance, each on trials of its own. `tried` is what
    /// the trials of the printed one say.
    pub attempts: Vec<Attempt>,
    /// Worth of a card of several rows over that of the best decisions, which also look at the day
    /// before, by their own reckoning; absent for another card.
    pub kept_share: Option<f64>,
    /// What a stage off the air was taken to cost, over the worth of the whole span in the fullest
    /// tier; absent likewise.
    pub penalty_share: Option<f64>,
    /// What is left in the battery at the end was taken to be worth.
    pub end_worth: f64,
    /// Decisions of the span.
    pub decisions: usize,
    /// The key `shedding` of a scenario that follows the card.
    pub shedding: Shedding,
    /// What can hurt somebody at this station.
    pub cautions: Vec<Caution>,
    /// The first sentence.
    pub sentence: String,
}

/// Which candidate became the card.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Rows for several looks at the charge.
    Rows,
    /// The same charges at every look.
    PlainRule,
    /// The scenario's own rules: a charge to stay in a tier, another to go up to it.
    OwnRules,
}

/// A tier on the card.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CardTier {
    /// Its name.
    pub name: String,
    /// Whether the station counts as on the air in it.
    pub on_air: bool,
    /// What an hour in it was taken to be worth.
    pub worth_per_h: f64,
}

/// Makes a card for a checked scenario. Files that it names are looked for in `base_dir`. The
/// sentence is left empty.
///
/// # Errors
/// When the scenario cannot be compiled, threads cannot be started, or there is nothing to decide.
pub fn card(
    scenario: &Scenario,
    base_dir: &Path,
    options: &Options,
) -> Result<OperatingCard, Refused> {
    if let Some(why) = no_card(scenario) {
        return Err(Refused::NoCard(why));
    }
    let tiers = tiers_of(scenario);
    let words = words_of(scenario);
    let base = following(scenario, &words, first_rows(&words, scenario.tiers.len()));
    let prepared = prepared(&base, base_dir, options.seed)?;
    let Some(begins) = decisions(&prepared) else {
        return Err(Refused::NoCard("each trial has its own beginning".to_owned()));
    };
    let printer = Printer::new(scenario, &base, &prepared, &begins, &words)?;
    let many = LEG_HOURS / u64::from(scenario.span.hours.max(1));
    let many = many.clamp(*LEG_TRIALS.start(), *LEG_TRIALS.end());
    let trials = LEGS_FROM..LEGS_FROM + if prepared.all_alike(false) { 1 } else { many };
    let legs =
        legs(&prepared, trials, &begins, &charges()).map_err(|it| Failure::Run(it.fault()))?;
    let worths: Vec<f64> = tiers.iter().map(|tier| tier.worth_per_h).collect();
    let on_air: Vec<bool> = tiers.iter().map(|tier| tier.on_air).collect();
    let whole = worths.iter().copied().fold(0.0, f64::max) * f64::from(scenario.span.hours);

    let shape = Shape {
        kinds: printer.kinds(),
        level_step: STEP_PERCENT * (LEVELS - 1) / 100,
        most_rows: MOST_ROWS,
        one_row: false,
    };
    let made = |penalty: f64| {
        let station = Station::new(&legs, worths.clone(), on_air.clone(), penalty * whole);
        let starts = station.starts();
        let solution = solve(&station);
        let rows = reduce(&station, &solution, &shape, &starts);
        let plain = reduce(&station, &solution, &Shape { one_row: true, ..shape.clone() }, &starts);
        (rows, plain)
    };
    let mut judge = Judge {
        scenario,
        words: &words,
        base_dir,
        worths: &worths,
        target_chance: options.target_chance,
        stricter_share: 0.0,
        seed: options.seed,
        trials: TUNING_FROM
            ..TUNING_FROM + if prepared.all_alike(false) { 1 } else { TUNING_TRIALS },
        threads: options.threads,
    };
    let mut known: Vec<(f64, Card, Card)> = Vec::new();
    let mut at = |penalty: f64| {
        if let Some(place) = known.iter().position(|it| it.0.total_cmp(&penalty).is_eq()) {
            return known[place].clone();
        }
        let (rows, plain) = made(penalty);
        known.push((penalty, rows, plain));
        known[known.len() - 1].clone()
    };
    let own = scenario.shedding.as_ref();
    let owns = own.filter(|it| it.card.is_empty() && it.tier_without_mains.is_none());
    let owns = owns.map(|_| judge.stands(Way::Own, scenario)).transpose()?;
    let follows = |way: &Way| match way {
        Way::Rows(card, _) => following(scenario, &words, printer.rows(card)),
        Way::Plain(shares) => following(scenario, &words, plain_rows(shares)),
        Way::Own => scenario.clone(),
    };
    let (mut all_rows, mut all_plains) = (Vec::new(), Vec::new());
    let mut fresh: Vec<Fresh> = Vec::new();
    for block in 0..MOST_ATTEMPTS {
        least_penalty(&mut |penalty: f64| -> Result<bool, Refused> {
            let way = Way::Rows(at(penalty).1, penalty);
            let follows = follows(&way);
            all_rows.push(judge.stands(way, &follows)?);
            Ok(all_rows.last().is_some_and(|it| judge.keeps(it)))
        })?;
        least_penalty(&mut |penalty: f64| -> Result<bool, Refused> {
            let (_, _, card) = at(penalty);
            let least = card.rows.first().map_or(&[][..], |row| &row.least_level);
            all_plains.push(judge.stands_plain(printer.shares(least))?);
            Ok(all_plains.last().is_some_and(|it| judge.keeps(it)))
        })?;
        if fresh.is_empty() {
            all_plains.push(judge.stands_plain(vec![0.0; tiers.len() - 1])?);
            if let Some(own) = own.filter(|it| it.down_below_share.len() + 1 == tiers.len()) {
                all_plains.push(judge.stands_plain(on_steps(&own.down_below_share))?);
            }
        }
        let rows = judge.best(all_rows.iter().cloned());
        let plain = judge.best(all_plains.iter().cloned());
        let plain = plain.map(|it| judge.polished(it)).transpose()?;
        let candidates = [plain.clone(), owns.clone(), rows.clone()];
        let Some(chosen) = judge.best(candidates.into_iter().flatten()) else {
            return Err(Refused::NoCard("nothing was tried".to_owned()));
        };
        if fresh.iter().any(|it| it.chosen.way == chosen.way) {
            // Nothing stricter was found.
            break;
        }
        let mut never = scenario.clone();
        never.shedding = None;
        let mut others = vec![("this card", follows(&chosen.way))];
        let rivals = [("a card of several rows", rows), ("the plain rule", plain.clone())];
        for (name, rival) in rivals {
            let rival = rival.filter(|it| it.way != chosen.way);
            others.extend(rival.map(|it| (name, follows(&it.way))));
        }
        others.push(("never shedding", never));
        if own.is_some() && chosen.way != Way::Own {
            others.push(("the scenario's own rules", scenario.clone()));
        }
        let first = block * options.trials;
        let on = (first..first + options.trials, options.threads);
        let mut all = Vec::new();
        for (name, other) in &others {
            all.push(tried(name, other, base_dir, options.seed, &worths, on.clone())?);
        }
        let Some(this) = all.first() else { break };
        let attempt = Attempt::of(this, first, options.target_chance);
        let lacks = attempt.lacks_share(options.target_chance);
        let missed = chosen.clone();
        fresh.push(Fresh { chosen, plain, tried: all, attempt });
        let Some(lacks) = lacks else { break };
        judge.ask_for_more(&missed, lacks);
    }
    let mut attempts: Vec<Attempt> = fresh.iter().map(|it| it.attempt).collect();
    let place = attempts::printed(&attempts, options.target_chance);
    if let Some(attempt) = attempts.get_mut(place) {
        attempt.printed = true;
    }
    let Some(Fresh { chosen, plain, tried: all, .. }) = fresh.into_iter().nth(place) else {
        return Err(Refused::NoCard("nothing was tried".to_owned()));
    };
    let (clock, stretch) = clock_and_stretch(scenario).map_err(Failure::Compile)?;
    let (kind, printed, kept_share, penalty_share) = match &chosen.way {
        Way::Rows(card, penalty) => {
            let kept = if card.best_worth > 0.0 { card.worth / card.best_worth } else { 1.0 };
            (Kind::Rows, printer.printed(card), Some(kept), Some(*penalty))
        }
        Way::Plain(shares) => {
            (Kind::PlainRule, printer.always(&[(EVERY_LOOK, shares)]), None, None)
        }
        Way::Own => {
            let own = own.cloned().unwrap_or_else(|| empty_shedding(&words));
            let both = [(STAY, &own.down_below_share), (GO_UP, &own.up_above_share)];
            (Kind::OwnRules, printer.always(&both), None, None)
        }
    };
    let plain_rule = match plain.filter(|it| it.way != chosen.way).map(|it| it.way) {
        Some(Way::Plain(shares)) => printer.thresholds(&shares),
        _ => Vec::new(),
    };
    let target = scenario.sizing.as_ref().and_then(|choices| choices.target.as_ref());
    Ok(OperatingCard {
        cautions: cautions(scenario),
        title: scenario.title.clone(),
        version: env!("CARGO_PKG_VERSION"),
        strategy: scenario.strategy.clone(),
        start: clock.local(stretch.start),
        end: clock.local(stretch.end),
        hours: f64::from(scenario.span.hours),
        capacity_ah: prepared.plan.heads.capacity_ah,
        holds: prepared.plan.heads.holds,
        target_chance: options.target_chance,
        seed: options.seed,
        kind,
        tiers,
        lowest_tier_of_sizing: target.and_then(|target| target.lowest_tier.clone()),
        volts_tell: printer.volts_tell,
        receive_a: printer.receive_a,
        rows: printed,
        plain_rule,
        tried: all,
        attempts,
        kept_share,
        penalty_share,
        end_worth: 0.0,
        decisions: begins.len(),
        shedding: follows(&chosen.way).shedding.unwrap_or_else(|| empty_shedding(&words)),
        sentence: String::new(),
    })
}

/// A candidate on fresh trials, with the best plain rule then and how all rivals fared.
struct Fresh {
    chosen: Candidate,
    plain: Option<Candidate>,
    tried: Vec<Tried>,
    attempt: Attempt,
}

/// Why there is no card.
#[derive(Debug)]
pub enum Refused {
    /// A card makes no sense for the scenario; the sentence says why.
    NoCard(String),
    /// It could not be computed.
    Failed(Failure),
}

impl From<Failure> for Refused {
    fn from(failure: Failure) -> Self {
        Self::Failed(failure)
    }
}

/// Why a scenario has no card, if so.
fn no_card(scenario: &Scenario) -> Option<String> {
    if scenario.tiers.len() < 2 {
        return Some("the scenario has one tier: there is nothing to decide".to_owned());
    }
    if scenario.tiers.iter().all(|tier| !tier.on_air) {
        return Some("no tier of the scenario is on the air".to_owned());
    }
    if scenario.span.hours > MOST_HOURS {
        let hours = scenario.span.hours;
        return Some(format!(
            "{hours} hours are too long for one: say for how long it must carry (--until), at most \
             {MOST_HOURS} hours"
        ));
    }
    match &scenario.grid {
        Grid::Outage(_) | Grid::None | Grid::Outages(_) | Grid::Pattern(_) => None,
        Grid::Always if scenario.supply.is_none() => None,
        Grid::Always | Grid::OutageAtRandom(_) | Grid::Random(_) => Some(
            "a card is for one outage: say when it begins (--at) and how long it must be carried \
             (--until)"
                .to_owned(),
        ),
    }
}

fn tiers_of(scenario: &Scenario) -> Vec<CardTier> {
    let mut worth = 1.0;
    let mut tiers = Vec::with_capacity(scenario.tiers.len());
    for tier in &scenario.tiers {
        let usual = if tier.on_air { worth } else { 0.0 };
        if tier.on_air {
            worth /= TIER_OVER_NEXT;
        }
        let worth_per_h = tier.worth_per_h.unwrap_or(usual);
        tiers.push(CardTier { name: tier.name.clone(), on_air: tier.on_air, worth_per_h });
    }
    tiers
}

/// When somebody decides: as the span begins, and as the scenario says.
fn words_of(scenario: &Scenario) -> Vec<String> {
    let own = scenario.shedding.as_ref().map(|shedding| shedding.decide_at.clone());
    let own = own.unwrap_or_else(|| vec!["sunrise".to_owned(), "sunset".to_owned()]);
    let start = "start".to_owned();
    let others = own.into_iter().filter(|word| *word != "start");
    std::iter::once(start).chain(others).collect()
}

fn empty_shedding(words: &[String]) -> Shedding {
    Shedding {
        decide_at: words.to_vec(),
        down_below_share: Vec::new(),
        up_above_share: Vec::new(),
        card: Vec::new(),
        tier_without_mains: None,
        notes: None,
    }
}

/// A row for each word: it says which is which, and sheds nothing.
fn first_rows(words: &[String], tiers: usize) -> Vec<CardRow> {
    let row = |word: &String| CardRow {
        at: Some(word.clone()),
        from_h: 0.0,
        at_least_share: vec![0.0; tiers - 1],
    };
    words.iter().map(row).collect()
}

/// The scenario, following a card.
fn following(scenario: &Scenario, words: &[String], card: Vec<CardRow>) -> Scenario {
    let mut follows = scenario.clone();
    follows.shedding = Some(Shedding { card, ..empty_shedding(words) });
    follows
}

/// Looks for the least penalty with which a card keeps the chance: by halving along the list of penalties, then
/// between two of its values.
fn least_penalty(keeps: &mut dyn FnMut(f64) -> Result<bool, Refused>) -> Result<(), Refused> {
    let (mut fails, mut holds) = (None, PENALTIES.len());
    while holds > fails.map_or(0, |it| it + 1) {
        let middle = usize::midpoint(fails.map_or(0, |it| it + 1), holds);
        if middle < holds && keeps(PENALTIES[middle])? {
            holds = middle;
        } else {
            fails = Some(middle);
        }
    }
    let (Some(fails), Some(high)) = (fails, PENALTIES.get(holds)) else { return Ok(()) };
    let (mut low, mut high) = (PENALTIES[fails], *high);
    for _ in 0..FINER {
        let middle = libm::sqrt(low * high);
        if keeps(middle)? { high = middle } else { low = middle }
    }
    Ok(())
}

/// A threshold that no charge reaches, share.
pub const NEVER_SHARE: f64 = WHEN_NEVER;
