//! `run`: hour by hour through one scenario.

use std::path::{Path, PathBuf};

use super::files;
use super::load::load;
use crate::cli::RunArgs;
use crate::error::Error;
use crate::show::{export, first_sentence, run_table};
use crate::simulate::beside::{answer, silence_cost};
use crate::simulate::ledger::Ledger;
use crate::simulate::single;
use crate::simulate::summary::{Summary, summarise};

/// Runs the command.
///
/// # Errors
/// When the scenario cannot be read or is wrong, or a result cannot be written.
pub fn run(args: &RunArgs) -> Result<(), Error> {
    let loaded =
        load(&args.scenario, args.strategy.as_deref(), args.trial.map(|trial| (trial, args.seed)))?;
    let ledger = single::run(&loaded.plan);
    let mut summary = summarise(&loaded.plan, &ledger);
    summary.silence = silence_cost(&loaded.plan, &ledger);
    summary.at_65_percent = loaded.doubted.as_ref().map(answer);
    summary.sentence = first_sentence(&ledger, &summary);

    let folder = args.out.clone().unwrap_or_else(|| default_folder(&args.scenario));
    files::create_folder(&folder)?;
    write_results(&folder, &ledger, &summary, !args.no_charts)?;

    loaded.tell_warnings();
    if args.json {
        return files::print(&json(&summary)?);
    }
    files::print(&run_table(&ledger, &summary))?;
    let written = if args.no_charts { "Ledger and summary" } else { "Ledger, summary and charts" };
    files::tell(&format!("{written}: {}\n", folder.display()));
    Ok(())
}

/// `output/` and the name of the scenario file.
fn default_folder(scenario: &Path) -> PathBuf {
    let stem = if files::is_standard(scenario) { None } else { scenario.file_stem() };
    Path::new("output").join(stem.unwrap_or("standard-input".as_ref()))
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
    if charts { write_pictures(folder, ledger, summary) } else { Ok(()) }
}

#[cfg(feature = "png")]
fn write_pictures(folder: &Path, ledger: &Ledger, summary: &Summary) -> Result<(), Error> {
    let drawn = crate::show::pictures_png(ledger, summary)
        .map_err(|source| Error::Output(std::io::Error::other(source.to_string())))?;
    for (picture, png) in drawn {
        files::write_whole(&folder.join(format!("{}.svg", picture.name)), picture.svg.as_bytes())?;
        files::write_whole(&folder.join(format!("{}.png", picture.name)), &png)?;
    }
    Ok(())
}

#[cfg(not(feature = "png"))]
fn write_pictures(folder: &Path, ledger: &Ledger, summary: &Summary) -> Result<(), Error> {
    for picture in crate::show::pictures(ledger, summary) {
        files::write_whole(&folder.join(format!("{}.svg", picture.name)), picture.svg.as_bytes())?;
    }
    Ok(())
}
