//! `run`: hour by hour through one scenario.

use std::path::Path;

use super::files;
use super::load::load_from_now;
use crate::cli::RunArgs;
use crate::error::Error;
use crate::show::{export, pictures, run_table};
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
    let folder = to.folder(&files::name_of(&args.scenario));
    files::create_folder(&folder)?;
    write_results(&folder, &ledger, &summary, !to.no_charts)?;

    loaded.tell_warnings();
    if to.json {
        return files::print(&json(&summary)?);
    }
    files::print(&run_table(&ledger, &summary))?;
    let written = if to.no_charts { "Ledger and summary" } else { "Ledger, summary and charts" };
    files::tell(&format!("{written}: {}\n", folder.display()));
    if let Some(trial) = args.trial {
        let seed = args.seed;
        files::tell(&format!("Trial {trial} of seed {seed}, with its own sky and outages\n"));
    }
    Ok(())
}

fn json(summary: &Summary) -> Result<String, Error> {
    export::summary_json(summary).map_err(|source| Error::Output(source.into()))
}

fn write_results(
    folder: &Path,
    ledger: &Ledger,
    summary: &Summary,
    charts: bool,
) -> Result<(), Error> {
    let table = export::ledger_csv(ledger).map_err(|source| Error::Output(source.into()))?;
    files::write_whole(&folder.join("ledger.csv"), &table)?;
    files::write_whole(&folder.join("summary.json"), json(summary)?.as_bytes())?;
    if charts { files::write_pictures(folder, pictures(ledger, summary)) } else { Ok(()) }
}
