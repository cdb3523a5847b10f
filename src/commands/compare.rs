//! `compare`: strategies and variants in the same trials.

use std::sync::Arc;

use super::folder::{Results, Work};
use super::load::{Loaded, base_dir, inputs_of, load, no_strategy, no_variant};
use super::odds::{progress, replay};
use super::screen::Beside;
use super::{files, json_text};
use crate::cli::{CompareArgs, InForceArgs};
use crate::decide::compare::{Comparison, compare, contenders};
use crate::decide::contest::Unplayed;
use crate::error::Error;
use crate::plan::check::not_compiled;
use crate::show::compare::{compare_page, export, first_sentence, pictures};
use crate::simulate::trials::Watch;
use crate::warning::Warning;

/// Runs the command.
///
/// # Errors
/// When the scenario cannot be read or is wrong, or a result cannot be written.
pub fn run(args: &CompareArgs) -> Result<(), Error> {
    let loaded = load(&args.scenario, &InForceArgs::default(), None)?;
    let (scenario, variants) = (&loaded.scenario, &loaded.variants.scenarios);
    for name in &args.strategy {
        if !scenario.strategies.contains_key(name) {
            return Err(Error::CommandLine(no_strategy(name, scenario.strategies.keys())));
        }
    }
    if let Some(name) = args.variant.iter().find(|name| !variants.contains_key(*name)) {
        return Err(Error::CommandLine(no_variant(name, variants.keys())));
    }
    let all = contenders(scenario, variants, &args.strategy, &args.variant);
    if all.len() < 2 {
        return Err(Error::CommandLine(
            "there is nothing to compare: give the scenario another strategy, or `variants`".into(),
        ));
    }
    let watch = Arc::new(Watch::default());
    progress::stop_on_interrupt(&watch);
    let how = args.trials.play();
    let total = (how.trials + how.months).saturating_mul(all.len() as u64);
    let played = progress::shown(&watch, Some(total), || {
        compare(scenario, &all, &base_dir(&args.scenario), &how, &watch)
    });
    let Some(mut comparison) = done(played, &loaded)? else { return Ok(()) };
    comparison.sentence = first_sentence(&comparison);
    tell(args, &loaded, &comparison)
}

/// What was played; `None`, and a word to the user, when it was stopped.
///
/// # Errors
/// Why it could not be played.
pub fn done<T>(played: Result<T, Unplayed>, loaded: &Loaded) -> Result<Option<T>, Error> {
    match played {
        Ok(played) => Ok(Some(played)),
        Err(Unplayed::Stopped) => {
            files::tell("Stopped before all trials were done: nothing is written.\n");
            Ok(None)
        }
        Err(Unplayed::Failed(error)) => Err(error),
        Err(Unplayed::Wrong(problems)) => {
            Err(Error::Scenario { rendered: not_compiled(&problems, &loaded.spans).render(true) })
        }
    }
}

fn tell(args: &CompareArgs, loaded: &Loaded, comparison: &Comparison) -> Result<(), Error> {
    let work = Work {
        command: "compare",
        strategies: &args.strategy,
        variants: &args.variant,
        ..Work::default()
    };
    let folder = work.folder(args.results.out.as_ref(), &files::name_of(&args.scenario));
    let inputs = inputs_of(&args.scenario, &loaded.scenario);
    let charts = !args.results.no_charts;
    let value = serde_json::to_value(comparison).map_err(|it| Error::Output(it.into()))?;
    let json = json_text::laid_out(&value);
    let results = Results::new(&folder, work.command, inputs);
    write(results, comparison, &json, charts)?;
    let mut beside = Beside::of(&args.results);
    let all: Vec<Warning> =
        loaded.plan.warnings.iter().chain(&loaded.variants.warnings).cloned().collect();
    beside.warn(&loaded.scenario, &all, &loaded.spans);
    beside.warn_plainly(&comparison.warnings);
    if args.results.json {
        return files::print(&json);
    }
    let replay = replay(&args.scenario, &InForceArgs::default(), args.trials.seed);
    let written = if charts { "Comparison, pairs and charts" } else { "Comparison and pairs" };
    let end = format!("{written}: {}\n", folder.display());
    beside.later(&end);
    beside.print(&compare_page(comparison, &replay))?;
    files::tell(&end);
    Ok(())
}

fn write(
    mut results: Results,
    comparison: &Comparison,
    json: &str,
    charts: bool,
) -> Result<(), Error> {
    results.add("compare.json", json);
    let pairs = export::pairs_csv(comparison).map_err(|it| Error::Output(it.into()))?;
    results.add("pairs.csv", pairs);
    if charts {
        results.add_pictures(pictures(comparison))?;
    }
    results.write()
}
