//! `without`: each part lost in turn, each guess moved both ways.

use std::sync::Arc;

use super::compare::done;
use super::folder::{Results, Work};
use super::load::{base_dir, inputs_of, load};
use super::odds::progress;
use super::screen::Beside;
use super::{files, json_text};
use crate::cli::WithoutArgs;
use crate::decide::without::{stations, without};
use crate::error::Error;
use crate::show::without::{first_sentence, measure_sentence, pictures, without_page};
use crate::simulate::trials::Watch;

/// Runs the command.
///
/// # Errors
/// When the scenario cannot be read or is wrong, or a result cannot be written.
pub fn run(args: &WithoutArgs) -> Result<(), Error> {
    let loaded = load(&args.scenario, &args.in_force, None)?;
    let watch = Arc::new(Watch::default());
    progress::stop_on_interrupt(&watch);
    let how = args.trials.play();
    let total = how.trials.saturating_mul(stations(&loaded.scenario) as u64);
    let played = progress::shown(&watch, Some(total), || {
        without(&loaded.scenario, &base_dir(&args.scenario), &how, &watch)
    });
    let Some(mut found) = done(played, &loaded)? else { return Ok(()) };
    found.sentence = first_sentence(&found);
    found.measure_sentence = measure_sentence(&found);

    let work = Work {
        command: "without",
        strategies: args.in_force.strategy.as_slice(),
        variants: args.in_force.variant.as_slice(),
        ..Work::default()
    };
    let folder = work.folder(args.results.out.as_ref(), &files::name_of(&args.scenario));
    let inputs = inputs_of(&args.scenario, &loaded.scenario);
    let charts = !args.results.no_charts;
    let value = serde_json::to_value(&found).map_err(|it| Error::Output(it.into()))?;
    let json = json_text::laid_out(&value);
    let mut results = Results::new(&folder, work.command, inputs);
    results.add("without.json", json.as_str());
    if charts {
        results.add_pictures(pictures(&found))?;
    }
    results.write()?;
    let mut beside = Beside::of(&args.results);
    loaded.tell_warnings(&mut beside);
    if args.results.json {
        return files::print(&json);
    }
    let written = if charts { "Losses, guesses and charts" } else { "Losses and guesses" };
    let end = format!("{written}: {}\n", folder.display());
    beside.later(&end);
    beside.print(&without_page(&found))?;
    files::tell(&end);
    Ok(())
}
