//! `calendar`: the chance of lasting, by month, hour of the clock and strategy.

use std::sync::Arc;

use super::folder::{Results, Work};
use super::load::{Loaded, base_dir, check_strategy, inputs_of, load};
use super::odds::{fingerprint, progress};
use super::screen::Beside;
use super::{files, json_text};
use crate::cli::InForceArgs;
use crate::cli::calendar::CalendarArgs;
use crate::decide::calendar::{Options, Trouble, calendar};
use crate::error::Error;
use crate::plan::check::not_compiled;
use crate::show::calendar::{calendar_page, curves, export, first_sentence};
use crate::simulate::trials::Watch;

/// Runs the command.
///
/// # Errors
/// When the scenario cannot be read or is wrong, or a result cannot be written.
pub fn run(args: &CalendarArgs) -> Result<(), Error> {
    let loaded = load(&args.scenario, &InForceArgs::default(), None)?;
    let options = Options {
        hours: args.hours,
        trials: args.trials,
        seed: args.seed,
        threads: args.threads.map_or(0, usize::from),
        strategies: strategies(args, &loaded)?,
    };
    let base_dir = base_dir(&args.scenario);
    let watch = Arc::new(Watch::default());
    progress::stop_on_interrupt(&watch);
    let total = args.trials.saturating_mul(options.strategies.len() as u64);
    let found = progress::shown(&watch, Some(total), || {
        calendar(&loaded.scenario, &base_dir, &options, &watch)
    });
    let mut beside = Beside::of(&args.results);
    loaded.tell_warnings(&mut beside);
    let mut found = found.map_err(|trouble| match trouble {
        Trouble::Scenario(problems) => {
            Error::Scenario { rendered: not_compiled(&problems, &loaded.spans).render(true) }
        }
        Trouble::Other(error) => error,
    })?;
    if found.trials == 0 {
        files::tell("Stopped before the first years were done: nothing is written.\n");
        return Ok(());
    }
    found.scenario_sha256 = fingerprint::of(&loaded.scenario, &base_dir)?;
    found.sentence = first_sentence(&found);
    beside.warn_plainly(&found.warnings);

    let work = Work { command: "calendar", strategies: &args.strategy, ..Work::default() };
    let folder = work.folder(args.results.out.as_ref(), &files::name_of(&args.scenario));
    let value = serde_json::to_value(&found).map_err(|it| Error::Output(it.into()))?;
    let json = json_text::laid_out(&value);
    let inputs = inputs_of(&args.scenario, &loaded.scenario);
    let mut results = Results::new(&folder, work.command, inputs);
    results.add("calendar.json", json.as_str());
    let csv = export::calendar_csv(&found).map_err(|it| Error::Output(it.into()))?;
    results.add("calendar.csv", csv);
    let clock_hours = &args.clock_hours.0;
    if !args.results.no_charts {
        results.add_pictures(vec![curves(&found, clock_hours)])?;
    }
    results.write()?;
    if args.results.json {
        return files::print(&json);
    }
    let written = if args.results.no_charts { "Calendar" } else { "Calendar and chart" };
    let end = format!("{written}: {}\n", folder.display());
    beside.later(&end);
    beside.print(&calendar_page(&found, clock_hours))?;
    files::tell(&end);
    Ok(())
}

/// The strategies asked for; all if none is named. One that is named twice counts once.
fn strategies(args: &CalendarArgs, loaded: &Loaded) -> Result<Vec<String>, Error> {
    if args.strategy.is_empty() {
        return Ok(loaded.scenario.strategies.keys().cloned().collect());
    }
    let mut names: Vec<String> = Vec::new();
    for name in &args.strategy {
        check_strategy(&loaded.scenario, name)?;
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    Ok(names)
}
