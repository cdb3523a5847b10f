//! `exercise`: many trials of a club, a timeline of two of them, a sheet for each station.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::Ordering;

use sha2::{Digest as _, Sha256};

use super::folder::{Results, Work};
use super::load::{base_dir, inputs_of};
use super::odds::{fingerprint, progress};
use super::screen::Beside;
use super::{files, json_text};
use crate::cli::ExerciseArgs;
use crate::decide::exercise::{Asked, Exercise, exercise};
use crate::decide::odds::Occasion;
use crate::error::Error;
use crate::plan::club::{ExaminedClub, GoodClub, examine_club, not_compiled};
use crate::scenario::club::StationText;
use crate::scenario::problem::Problems;
use crate::scenario::read::{attempt_json, text_of};
use crate::show::exercise::{export, first_sentence, pictures, sheets, table};
use crate::show::odds::sentence::exact_percent;
use crate::show::shell;
use crate::simulate::trials::club::prepare_club;
use crate::simulate::trials::{Options, Watch};

/// Runs the command.
///
/// # Errors
/// When the file cannot be read or is wrong, a result cannot be written, or the target is missed.
pub fn run(args: &ExerciseArgs) -> Result<(), Error> {
    let mut good = read(&args.club)?;
    if let Some(target) = args.target {
        good.club.target_chance = target;
    }
    let shown = shown(&args.club);
    let options = Options { seed: args.seed, ..Options::default() };
    let club = prepare_club(&good, options).map_err(|(name, problems)| Error::Scenario {
        rendered: not_compiled(&name, &shown, &problems).render(true),
    })?;
    let first = good.stations.first().map(|it| &it.scenario);
    let asked = Asked {
        name: files::name_of(&args.club),
        club_sha256: fingerprint_of(&good)?,
        occasion: first.map_or(Occasion::Weather, Occasion::of),
        trials: args.trials,
        threads: args.threads.map_or(0, usize::from),
    };
    let watch = Arc::new(Watch::default());
    progress::stop_on_interrupt(&watch);
    let told = progress::shown(&watch, None, || exercise(&good, &club, &asked, &watch))?;
    let mut beside = Beside::of(&args.results);
    tell_warnings(&good, args, &mut beside);
    let Some(mut told) = told else {
        files::tell("Stopped before a trial was done: nothing is written.\n");
        return Ok(());
    };
    if watch.stop.load(Ordering::Relaxed) && !told.exercise.ended_early {
        files::tell("Stopped: all trials are done, spare packs are not counted.\n");
    }
    told.exercise.sentence = first_sentence(&told.exercise);
    let work = Work { command: "exercise", ..Work::default() };
    let folder = work.folder(args.results.out.as_ref(), &asked.name);
    let json = json_of(&told.exercise)?;
    let mut results = Results::new(&folder, work.command, inputs(&args.club, &good));
    results.add("exercise.json", json.as_str());
    let csv = |made: Result<Vec<u8>, csv::Error>| made.map_err(|it| Error::Output(it.into()));
    results.add("sheets.csv", csv(export::sheets_csv(&told.sheets))?);
    for timeline in &told.timelines {
        let name = format!("timeline-{}.csv", timeline.called);
        results.add(name, csv(export::timeline_csv(timeline))?);
    }
    results.add("packing.csv", csv(export::packing_csv(&told.exercise))?);
    for sheet in &told.sheets {
        let name = sheets::file_name(&sheet.station);
        let made = (&told.exercise, sheet);
        results.add(format!("sheets/{name}.html"), sheets::html(made));
        results.add(format!("sheets/{name}.txt"), sheets::text(made));
    }
    if !args.results.no_charts {
        results.add_pictures(pictures(&told.exercise, &told.timelines))?;
    }
    results.write()?;
    if args.results.json {
        files::print(&json)?;
    } else {
        let charts = if args.results.no_charts { "" } else { ", charts" };
        let end = format!("Counts{charts} and a sheet for each station: {}\n", folder.display());
        beside.later(&end);
        beside.print(&table::exercise_page(&told.exercise))?;
        files::tell(&end);
    }
    missed(args.target, &told.exercise)
}

/// Whether a target that was asked for is missed.
fn missed(target: Option<f64>, exercise: &Exercise) -> Result<(), Error> {
    let lower = exercise.club.on_air_lower_95_one_sided;
    match target {
        Some(target) if lower < target => Err(Error::TargetMissed(format!(
            "The club misses the target of {}: at least {} at 95 %.",
            exact_percent(target),
            exact_percent(lower)
        ))),
        _ => Ok(()),
    }
}

fn json_of(exercise: &Exercise) -> Result<String, Error> {
    let value = serde_json::to_value(exercise).map_err(|it| Error::Output(it.into()))?;
    Ok(json_text::laid_out(&value))
}

fn shown(path: &Path) -> String {
    if files::is_standard(path) { "standard input".to_owned() } else { path.display().to_string() }
}

/// Reads and checks a club.
fn read(path: &Path) -> Result<GoodClub, Error> {
    let shown = shown(path);
    let examined = match text_of(files::read_bytes(path)?, &shown) {
        Ok(text) => match station_instead(&text, &shown) {
            Some(rendered) => return Err(Error::Scenario { rendered }),
            None => examine_club(&text, &shown, &base_dir(path)),
        },
        Err(problems) => ExaminedClub { club: None, problems: vec![problems] },
    };
    examined.club.ok_or_else(|| {
        let rendered: Vec<String> =
            examined.problems.iter().map(|it: &Problems| it.render(true)).collect();
        Error::Scenario { rendered: rendered.join("\n") }
    })
}

/// What to say when the file is that of one station: it has tiers of its own, and no stations.
fn station_instead(text: &str, shown: &str) -> Option<String> {
    let value = attempt_json(text, shown).scenario?;
    let has = |key: &str| value.get(key).is_some();
    let word = shell::path(Path::new(shown));
    (!has("stations") && (has("battery") || has("tiers"))).then(|| {
        format!(
            "`{shown}` is the file of one station, not of a club: `longwatch odds {word}` plays it many \
             times, `longwatch run {word}` once."
        )
    })
}

/// The files that a club is read from.
fn inputs(path: &Path, good: &GoodClub) -> Vec<PathBuf> {
    let file = |from: &StationText| match from {
        StationText::File(file) => Some(base_dir(path).join(file)),
        StationText::Inline(_) => None,
    };
    let texts = good.club.stations.values().map(|it| &it.from);
    let point = good.club.charging_point.iter().map(|it| &it.from);
    let mut inputs: Vec<PathBuf> = texts.chain(point).filter_map(file).collect();
    inputs.push(path.to_owned());
    for it in good.stations.iter().chain(&good.point) {
        inputs.extend(inputs_of(&it.base_dir.join("-"), &it.scenario));
    }
    inputs
}

/// One number for the club's file and for what its stations come to.
fn fingerprint_of(good: &GoodClub) -> Result<String, Error> {
    let mut hash = Sha256::new();
    let text = serde_json::to_vec(&good.club).map_err(|it| Error::Output(it.into()))?;
    hash.update((text.len() as u64).to_le_bytes());
    hash.update(&text);
    for composed in good.stations.iter().chain(&good.point) {
        hash.update(fingerprint::of(&composed.scenario, &composed.base_dir)?);
    }
    let mut digits = String::new();
    for byte in hash.finalize() {
        let _ = write!(digits, "{byte:02x}");
    }
    Ok(digits)
}

/// Tells people the warnings, on standard error.
fn tell_warnings(good: &GoodClub, args: &ExerciseArgs, beside: &mut Beside) {
    let to = &args.results;
    match good.warnings.len() {
        0 => {}
        many if many > 1 && !to.full && !to.json => {
            beside.tell(&format!("{many} warnings: `--full` shows them.\n"));
        }
        _ => {
            for (station, warning) in &good.warnings {
                beside.tell(&format!("warning: {station}: {}\n\n", warning.text));
            }
        }
    }
}
