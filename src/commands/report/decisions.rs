//! What the page tells of beside the chance: strategies, losses, sizes, a card, each on a part of the
//! trials, so that a page is made in seconds. Each has a command of its own for more.

use std::path::Path;
use std::sync::atomic::Ordering;

use crate::cli::ReportArgs;
use crate::commands::load::Loaded;
use crate::decide::card::{self, OperatingCard, Refused};
use crate::decide::compare::{Comparison, compare, contenders};
use crate::decide::contest::{Play, Unplayed};
use crate::decide::now::Failure;
use crate::decide::size::{self, Sizing, Trouble, USUAL_TARGET_CHANCE, lasting};
use crate::decide::without::{Without, without};
use crate::error::Error;
use crate::plan::compile::CompileProblem;
use crate::show::compare::first_sentence as compare_sentence;
use crate::show::without::{first_sentence as without_sentence, measure_sentence};
use crate::simulate::trials::Watch;

/// Trials of each station that is played besides.
const BESIDES: u64 = 500;
/// Months of normal operation of each.
const MONTHS_BESIDES: u64 = 128;
/// Odds that a card keeps first, where the scenario states no target.
const CARD_ODDS: f64 = 0.95;

/// What was decided, or why it could not be, in a sentence.
pub struct Decisions {
    /// Strategies and variants in the same trials.
    pub comparison: Result<Comparison, String>,
    /// Each part lost, each guess moved.
    pub without: Result<Without, String>,
    /// Panels and battery that it takes.
    pub sizing: Result<Sizing, String>,
    /// At which charge to be in which tier.
    pub card: Result<OperatingCard, String>,
}

/// Decides everything; `None` when the watch ended it.
///
/// # Errors
/// When threads cannot be started.
pub fn decisions(
    args: &ReportArgs,
    loaded: &Loaded,
    base: &Path,
    watch: &Watch,
) -> Result<Option<Decisions>, Error> {
    let play = Play {
        seed: args.seed,
        trials: args.trials.min(BESIDES),
        months: MONTHS_BESIDES,
        threads: args.threads.map_or(0, usize::from),
    };
    // A card is mostly one long computation: the trials of the others fill the rest of the machine.
    let (others, card) = rayon::join(
        || {
            let comparison = compared(args, loaded, base, &play, watch)?;
            let without = lost(loaded, base, &play, watch)?;
            Ok::<_, Error>((comparison, without, sized(args, loaded, base, watch)?))
        },
        || carded(loaded, base, &play),
    );
    let ((comparison, without, sizing), card) = (others?, card?);
    if watch.stop.load(Ordering::Relaxed) {
        return Ok(None);
    }
    Ok(Some(Decisions { comparison, without, sizing, card }))
}

/// What cannot be compiled, as a sentence.
fn told(problems: &[CompileProblem]) -> String {
    let texts: Vec<&str> = problems.iter().map(|it| it.text.as_str()).collect();
    format!("This cannot be played: {}", texts.join(" "))
}

fn played<T>(played: Result<T, Unplayed>) -> Result<Result<T, String>, Error> {
    match played {
        Ok(found) => Ok(Ok(found)),
        Err(Unplayed::Wrong(problems)) => Ok(Err(told(&problems))),
        Err(Unplayed::Failed(error)) => Err(error),
        Err(Unplayed::Stopped) => Ok(Err("This was stopped.".to_owned())),
    }
}

fn compared(
    args: &ReportArgs,
    loaded: &Loaded,
    base: &Path,
    play: &Play,
    watch: &Watch,
) -> Result<Result<Comparison, String>, Error> {
    // Variants are made from the file: they too follow the strategy in force.
    let mut variants = loaded.variants.scenarios.clone();
    for variant in variants.values_mut().filter(|_| args.in_force.strategy.is_some()) {
        if variant.strategies.contains_key(&loaded.scenario.strategy) {
            variant.strategy.clone_from(&loaded.scenario.strategy);
        }
    }
    let all = contenders(&loaded.scenario, &variants, &[], &[]);
    if all.len() < 2 {
        let why = "The scenario has one strategy and no variants: there is nothing to compare.";
        return Ok(Err(why.to_owned()));
    }
    let mut found = played(compare(&loaded.scenario, &all, base, play, watch))?;
    if let Ok(found) = &mut found {
        found.sentence = compare_sentence(found);
    }
    Ok(found)
}

fn lost(
    loaded: &Loaded,
    base: &Path,
    play: &Play,
    watch: &Watch,
) -> Result<Result<Without, String>, Error> {
    let mut found = played(without(&loaded.scenario, base, play, watch))?;
    if let Ok(found) = &mut found {
        found.sentence = without_sentence(found);
        found.measure_sentence = measure_sentence(found);
    }
    Ok(found)
}

fn sized(
    args: &ReportArgs,
    loaded: &Loaded,
    base: &Path,
    watch: &Watch,
) -> Result<Result<Sizing, String>, Error> {
    let Some(choices) = &loaded.scenario.sizing else {
        let why = "The scenario names no sizes to choose from (`sizing`), so there are no smallest stations.";
        return Ok(Err(why.to_owned()));
    };
    let target = choices.target.clone().unwrap_or_default();
    let scenario = match target.hours {
        Some(hours) => lasting(&loaded.scenario, hours),
        None => loaded.scenario.clone(),
    };
    let options = size::Options {
        target_chance: target.chance.unwrap_or(USUAL_TARGET_CHANCE),
        lowest_tier: target.lowest_tier,
        lines: false,
        minimize: None,
        // As many as `size` takes, so that both name the same station.
        trials: args.trials,
        seed: args.seed,
        threads: args.threads.map_or(0, usize::from),
    };
    match size::size(&scenario, base, &options, watch) {
        Ok(mut sizing) => {
            sizing.sentence = crate::show::size::sentence::first_sentence(&sizing);
            Ok(Ok(sizing))
        }
        Err(Trouble::NotCompiled(problems)) => Ok(Err(told(&problems))),
        Err(Trouble::Asked(why)) => Ok(Err(why)),
        Err(Trouble::Failed(error)) => Err(error),
        Err(Trouble::Stopped) => Ok(Err("This was stopped.".to_owned())),
    }
}

fn carded(
    loaded: &Loaded,
    base: &Path,
    play: &Play,
) -> Result<Result<OperatingCard, String>, Error> {
    let target = loaded.scenario.sizing.as_ref().and_then(|it| it.target.as_ref());
    let options = card::Options {
        target_chance: target.and_then(|it| it.chance).unwrap_or(CARD_ODDS),
        trials: play.trials,
        seed: play.seed,
        threads: play.threads,
    };
    match card::card(&loaded.scenario, base, &options) {
        Ok(mut card) => {
            card.sentence = crate::show::card::first_sentence(&card);
            Ok(Ok(card))
        }
        Err(Refused::NoCard(why)) => Ok(Err(format!("There is no card: {why}."))),
        Err(Refused::Failed(Failure::Compile(problems))) => Ok(Err(told(&problems))),
        Err(Refused::Failed(Failure::Run(error))) => Err(error),
    }
}
