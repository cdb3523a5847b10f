//! Results of trials told and written: the same for `odds` and for `merge`.

use std::path::PathBuf;

use crate::chance::ChanceProblem;
use crate::commands::folder::Results;
use crate::commands::screen::Beside;
use crate::commands::{files, json_text};
use crate::decide::odds::stopping::Stopping;
use crate::decide::odds::{Answers, Odds, Subject};
use crate::error::Error;
use crate::show::odds::{Trials, export, first_sentence, odds_page, pictures};

/// What the user wants of the results.
pub struct Wanted {
    /// Folder that the files go into.
    pub folder: PathBuf,
    /// Files that were read.
    pub inputs: Vec<PathBuf>,
    /// JSON on standard output instead of text.
    pub json: bool,
    /// Charts too.
    pub charts: bool,
}

/// Writes the files and prints the result. `replay` runs one of the trials.
///
/// # Errors
/// When a trial is left out, or something cannot be written.
pub fn tell_and_write(
    subject: &Subject,
    answers: &Answers,
    stopping: Option<Stopping>,
    wanted: &Wanted,
    replay: &str,
    mut beside: Beside,
) -> Result<(), Error> {
    complete(answers)?;
    let mut odds = Odds::of(subject, answers, stopping);
    odds.sentence = first_sentence(&odds);
    let value = serde_json::to_value(&odds).map_err(|it| Error::Output(it.into()))?;
    let json = json_text::laid_out(&value);
    let mut results = Results::new(&wanted.folder, "odds", wanted.inputs.clone());
    results.add("odds.json", json.as_str());
    let bands = export::bands_csv(&odds).map_err(|it| Error::Output(it.into()))?;
    results.add("bands.csv", bands);
    if wanted.charts {
        results.add_pictures(pictures(Trials { subject, answers, odds: &odds }))?;
    }
    results.write()?;
    // Those of the scenario have been told with their lines.
    let known = subject.warnings.len();
    beside.warn_plainly(odds.warnings.get(known..).unwrap_or_default());
    if wanted.json {
        return files::print(&json);
    }
    let written = if wanted.charts { "Odds, bands and charts" } else { "Odds and bands" };
    let end = format!("{written}: {}\n", wanted.folder.display());
    beside.later(&end);
    beside.print(&odds_page(&odds, replay))?;
    files::tell(&end);
    Ok(())
}

/// Whether all trials are counted.
///
/// # Errors
/// When one is left out, which is a fault of the program.
pub fn complete(answers: &Answers) -> Result<(), Error> {
    let Some(first) = answers.first_left_out else { return Ok(()) };
    let (left_out, all) = (answers.left_out, answers.trials_seen());
    Err(Error::fault(format!(
        "{left_out} of {all} trials hold a value that is no number of a station; the first is trial {first}."
    )))
}

/// A count that cannot be, of numbers that the program made itself.
#[must_use]
pub fn internal(problem: ChanceProblem) -> Error {
    Error::fault(problem.to_string())
}
