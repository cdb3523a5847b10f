//! `run`: hour by hour through one scenario.

use super::files;
use super::folder::{Results, Work};
use super::load::{inputs_of, load_from_now};
use super::screen::Beside;
use crate::cli::RunArgs;
use crate::error::Error;
use crate::show::run_table::run_page;
use crate::show::{export, pictures};
use crate::simulate::ledger::Ledger;
use crate::simulate::summary::Summary;

/// Runs the command.
///
/// # Errors
/// When the scenario cannot be read or is wrong, or a result cannot be written.
pub fn run(args: &RunArgs) -> Result<(), Error> {
    let loaded = load_from_now(
        &args.scenario,
        &args.in_force,
        args.trial.map(|trial| (trial, args.seed)),
        &args.from_now,
    )?;
    let (ledger, summary) = loaded.hours()?;

    let to = &args.results;
    let work = Work {
        command: "run",
        strategies: args.in_force.strategy.as_slice(),
        variants: args.in_force.variant.as_slice(),
        trial: args.trial.map(|trial| (trial, args.seed)),
        from_now: args.from_now.any(),
    };
    let folder = work.folder(to.out.as_ref(), &files::name_of(&args.scenario));
    let inputs = inputs_of(&args.scenario, &loaded.scenario);
    let results = Results::new(&folder, work.command, inputs);
    write_results(results, &ledger, &summary, !to.no_charts)?;

    let mut beside = Beside::of(to);
    loaded.tell_warnings(&mut beside);
    if to.json {
        return files::print(&json(&summary)?);
    }
    let written = if to.no_charts { "Ledger and summary" } else { "Ledger, summary and charts" };
    let end = format!("{written}: {}\n", folder.display());
    beside.later(&end);
    beside.print(&run_page(&ledger, &summary))?;
    files::tell(&end);
    Ok(())
}

fn json(summary: &Summary) -> Result<String, Error> {
    export::summary_json(summary).map_err(|source| Error::Output(source.into()))
}

fn write_results(
    mut results: Results,
    ledger: &Ledger,
    summary: &Summary,
    charts: bool,
) -> Result<(), Error> {
    let table = export::ledger_csv(ledger).map_err(|source| Error::Output(source.into()))?;
    results.add("ledger.csv", table);
    results.add("summary.json", json(summary)?);
    if charts {
        results.add_pictures(pictures(ledger, summary))?;
    }
    results.write()
}
