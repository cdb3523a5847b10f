//! `size`: the panels and the battery that a station needs.
//!
//! Exit code 3 when no station to choose from reaches the target: the results are written all the same.

use std::path::PathBuf;
use std::sync::Arc;

use super::files;
use super::folder::{Results, Work};
use super::json_text;
use super::load::{Loaded, base_dir, inputs_of, load};
use super::odds::progress;
use super::screen::Beside;
use crate::cli::SizeArgs;
use crate::decide::size::{self, Options, Sizing, Trouble, USUAL_TARGET_CHANCE, lasting};
use crate::error::Error;
use crate::plan::check::not_compiled;
use crate::show::size::{export, pictures, sentence, size_page};
use crate::simulate::trials::Watch;

/// Runs the command.
///
/// # Errors
/// When the scenario cannot be read or is wrong, when what is asked for cannot be, when no station
/// reaches the target, or when a result cannot be written.
pub fn run(args: &SizeArgs) -> Result<(), Error> {
    let loaded = load(&args.scenario, &args.in_force, None)?;
    let target = loaded.scenario.sizing.as_ref().and_then(|choices| choices.target.clone());
    let target = target.unwrap_or_default();
    let scenario = match args.hours.or(target.hours) {
        Some(hours) => lasting(&loaded.scenario, hours),
        None => loaded.scenario.clone(),
    };
    let options = Options {
        target_chance: args.target.or(target.chance).unwrap_or(USUAL_TARGET_CHANCE),
        lowest_tier: args.lowest_tier.clone().or(target.lowest_tier),
        lines: true,
        minimize: args.minimize.map(Into::into),
        trials: args.trials,
        seed: args.seed,
        threads: args.threads.map_or(0, usize::from),
    };
    let watch = Arc::new(Watch::default());
    progress::stop_on_interrupt(&watch);
    let found = progress::shown(&watch, None, || {
        let base_dir = base_dir(&args.scenario);
        let mut sizing = size::size(&scenario, &base_dir, &options, &watch)?;
        sizing.by_tier = size::by_tier(&scenario, &base_dir, &options, sizing.least, &watch)?;
        Ok(sizing)
    });
    let mut beside = Beside::of(&args.results);
    loaded.tell_warnings(&mut beside);
    match found {
        Ok(mut sizing) => {
            sizing.sentence = sentence::first_sentence(&sizing);
            tell_and_write(args, &sizing, inputs_of(&args.scenario, &loaded.scenario), beside)
        }
        Err(Trouble::Stopped) => {
            files::tell("Stopped before a station was found: nothing is written.\n");
            Ok(())
        }
        Err(trouble) => Err(error_of(trouble, &loaded)),
    }
}

fn error_of(trouble: Trouble, loaded: &Loaded) -> Error {
    match trouble {
        Trouble::NotCompiled(problems) => {
            Error::Scenario { rendered: not_compiled(&problems, &loaded.spans).render(true) }
        }
        Trouble::Asked(said) => Error::CommandLine(said),
        Trouble::Failed(error) => error,
        Trouble::Stopped => Error::Output(std::io::ErrorKind::Interrupted.into()),
    }
}

fn tell_and_write(
    args: &SizeArgs,
    sizing: &Sizing,
    inputs: Vec<PathBuf>,
    mut beside: Beside,
) -> Result<(), Error> {
    let work = Work {
        command: "size",
        strategies: args.in_force.strategy.as_slice(),
        variants: args.in_force.variant.as_slice(),
        ..Work::default()
    };
    let folder = work.folder(args.results.out.as_ref(), &files::name_of(&args.scenario));
    let value = serde_json::to_value(sizing).map_err(|it| Error::Output(it.into()))?;
    let json = json_text::laid_out(&value);
    let mut results = Results::new(&folder, work.command, inputs);
    results.add("size.json", json.as_str());
    let stations = export::stations_csv(sizing).map_err(|it| Error::Output(it.into()))?;
    results.add("stations.csv", stations);
    if !args.results.no_charts {
        results.add_pictures(pictures(sizing))?;
    }
    results.write()?;
    if args.results.json {
        files::print(&json)?;
    } else {
        let written = if args.results.no_charts { "" } else { " and chart" };
        let end = format!("Sizing, stations{written}: {}\n", folder.display());
        beside.later(&end);
        beside.print(&size_page(sizing))?;
        files::tell(&end);
    }
    if sizing.is_reached() {
        return Ok(());
    }
    Err(Error::TargetMissed(sentence::missed_sentence(sizing)))
}
