//! The operating card: at which charge to be in which tier.
//!
//! Lives here: the decisions of a station solved backwards ([`sdp`], [`stages`]), reduced to a few
//! rows ([`mod@reduce`]), and the printed card tried on fresh trials beside never shedding, one plain
//! rule, and the scenario's own rules ([`mod@tried`]). Does not live here: how the step follows a card
//! (`plan`, `simulate`), and the printed page (`show::card`).

mod printed;
pub mod reduce;
pub mod sdp;
pub mod stages;
pub mod tried;

use std::path::Path;

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

pub use printed::{PrintedRow, Threshold};
use printed::{Printer, WHEN_NEVER};
use reduce::{Card, Shape, reduce};
use sdp::solve;
use stages::{LEVELS, Station, charges};
use tried::{Tried, prepared, tried};

use super::now::Failure;
use crate::plan::compile::clock_and_stretch;
use crate::scenario::Scenario;
use crate::scenario::loads::{CardRow, Shedding};
use crate::scenario::schedule::Grid;
use crate::simulate::trials::legs::{decisions, legs};

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
/// them is enough to keep the odds is found by trying.
const PENALTIES: [f64; 7] = [0.005, 0.02, 0.1, 0.5, 2.5, 15.0, 100.0];
/// How often the penalty is halved between two of them.
const FINER: usize = 4;
/// An hour in a tier is worth so many in the next one where the scenario does not say.
const TIER_OVER_NEXT: f64 = 10.0;

/// What is asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// In what share of trials the station must stay on the air before anything else counts.
    pub odds_share: f64,
    /// Fresh trials.
    pub trials: u64,
    /// Key of the random numbers.
    pub seed: u64,
    /// Threads; 0 for as many as the machine runs at once.
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
    /// Rated, aged capacity, Ah.
    pub capacity_ah: f64,
    /// Odds that come first.
    pub odds_share: f64,
    /// Key of the random numbers.
    pub seed: u64,
    /// Tiers, the fullest first.
    pub tiers: Vec<CardTier>,
    /// Whether volts say how full the battery is.
    pub volts_tell: bool,
    /// What everything draws while receiving, in the fullest tier, A: with it volts are read.
    pub receive_a: f64,
    /// The rows, in time.
    pub rows: Vec<PrintedRow>,
    /// The plain rule: the same charges at every decision.
    pub plain_rule: Vec<Threshold>,
    /// The printed card, the plain rule, never shedding, and the scenario's own rules, on the same
    /// fresh trials.
    pub tried: Vec<Tried>,
    /// Worth of the card over that of the best decisions, which also look at the day before, by
    /// their own reckoning.
    pub kept_share: f64,
    /// What a stage off the air was taken to cost, over the worth of the whole span in the fullest
    /// tier.
    pub penalty_share: f64,
    /// What is left in the battery at the end was taken to be worth.
    pub end_worth: f64,
    /// Decisions of the span.
    pub decisions: usize,
    /// The key `shedding` of a scenario that follows the card.
    pub shedding: Shedding,
    /// The first sentence.
    pub sentence: String,
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
    let legs = legs(&prepared, trials, &begins, &charges());
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
    let tuning = (TUNING_FROM..TUNING_FROM + TUNING_TRIALS, options.threads);
    let mut tries = Tries::default();
    let mut keeps = |penalty: f64| -> Result<bool, Refused> {
        let (rows, plain) = made(penalty);
        let follows = following(scenario, &words, printer.rows(&rows));
        let found = tried("", &follows, base_dir, options.seed, tuning.clone())?;
        Ok(tries.take(penalty, found.readiness, options.odds_share, (rows, plain)))
    };
    least_penalty(&mut keeps)?;
    let Some((penalty_share, (rows, plain))) = tries.best() else {
        return Err(Refused::NoCard("nothing was tried".to_owned()));
    };

    let follows = following(scenario, &words, printer.rows(&rows));
    let plainly = following(scenario, &words, printer.rows(&plain));
    let mut never = scenario.clone();
    never.shedding = None;
    let fresh = (0..options.trials, options.threads);
    let mut all = Vec::new();
    let own = scenario.shedding.as_ref().map(|_| ("the scenario's own rules", scenario));
    let others =
        [("this card", &follows), ("the plain rule", &plainly), ("never shedding", &never)];
    for (name, other) in others.into_iter().chain(own) {
        all.push(tried(name, other, base_dir, options.seed, fresh.clone())?);
    }
    let (clock, stretch) = clock_and_stretch(scenario).map_err(Failure::Compile)?;
    let plain_rule = printer.thresholds(plain.rows.first().map_or(&[], |it| &it.least_level));
    Ok(OperatingCard {
        title: scenario.title.clone(),
        version: env!("CARGO_PKG_VERSION"),
        strategy: scenario.strategy.clone(),
        start: clock.local(stretch.start),
        end: clock.local(stretch.end),
        hours: f64::from(scenario.span.hours),
        capacity_ah: prepared.plan.heads.capacity_ah,
        odds_share: options.odds_share,
        seed: options.seed,
        tiers,
        volts_tell: printer.volts_tell,
        receive_a: printer.receive_a,
        rows: printer.printed(&rows),
        plain_rule,
        tried: all,
        kept_share: if rows.best_worth > 0.0 { rows.worth / rows.best_worth } else { 1.0 },
        penalty_share,
        end_worth: 0.0,
        decisions: begins.len(),
        shedding: follows.shedding.unwrap_or_else(|| empty_shedding(&words)),
        sentence: String::new(),
    })
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
        Grid::Forced(_) | Grid::None | Grid::Listed(_) | Grid::Pattern(_) => None,
        Grid::Always if scenario.supply.is_none() => None,
        Grid::Always | Grid::ForcedAtRandom(_) | Grid::Random(_) => Some(
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

/// Looks for the least penalty with which a card keeps the odds: by halving along the ladder, then
/// between two of its rungs.
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

/// The cards that were compared: of those that keep the odds the one with the least penalty, which
/// asks for the most hours; else the one that keeps them most often.
#[derive(Default)]
struct Tries {
    keeps: Option<(f64, (Card, Card))>,
    nearest: Option<(f64, f64, (Card, Card))>,
}

impl Tries {
    fn take(&mut self, penalty: f64, readiness: f64, odds_share: f64, cards: (Card, Card)) -> bool {
        let keeps = readiness >= odds_share;
        if keeps && self.keeps.as_ref().is_none_or(|(least, _)| penalty < *least) {
            self.keeps = Some((penalty, cards.clone()));
        }
        if self.nearest.as_ref().is_none_or(|(best, ..)| readiness > *best) {
            self.nearest = Some((readiness, penalty, cards));
        }
        keeps
    }

    fn best(self) -> Option<(f64, (Card, Card))> {
        self.keeps.or(self.nearest.map(|(_, penalty, cards)| (penalty, cards)))
    }
}

/// A threshold that no charge reaches, share.
pub const NEVER_SHARE: f64 = WHEN_NEVER;
