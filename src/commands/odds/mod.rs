//! `odds`: many trials of one scenario, counted.
//!
//! Lives here: the command; also how trials are run and watched ([`engine`], [`progress`]), told and
//! written ([`results`]), and which scenario they are trials of ([`fingerprint`]). Does not live
//! here: what is counted (decide) and what is shown (show).

pub mod engine;
pub mod fingerprint;
pub mod progress;
pub mod results;

use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::Ordering;

use self::engine::Engine;
use self::results::Wanted;
use super::files;
use super::folder::{Results, Work};
use super::load::{base_dir, inputs_of, load_from_now};
use super::screen::Beside;
use crate::cli::{InForceArgs, OddsArgs};
use crate::decide::odds::shard::FORMAT;
use crate::decide::odds::stopping::{MOST_TRIALS, ROUND_TRIALS, Stopping, half_width, is_enough};
use crate::decide::odds::subject::{Asked, same_start};
use crate::decide::odds::{Answers, Occasion, Part, Shard, Subject};
use crate::error::Error;
use crate::show::odds::sentence::whole;
use crate::show::shell;
use crate::simulate::trials::Watch;

/// Trials when nobody says how many.
const USUAL_TRIALS: u64 = 10_000;

/// Runs the command.
///
/// # Errors
/// When the scenario cannot be read or is wrong, or a result cannot be written.
pub fn run(args: &OddsArgs) -> Result<(), Error> {
    let loaded = load_from_now(&args.scenario, &args.in_force, None, &args.from_now)?;
    let usual = if args.until_half_width.is_some() { MOST_TRIALS } else { USUAL_TRIALS };
    let engine = Engine::new(&loaded, &args.scenario, args.seed, args.threads)?;
    let asked = Asked {
        name: files::name_of(&args.scenario),
        scenario_sha256: fingerprint::of(&loaded.scenario, &base_dir(&args.scenario))?,
        variant: args.in_force.variant.clone(),
        occasion: Occasion::of(&loaded.scenario),
        seed: args.seed,
        trials: args.trials.unwrap_or(usual),
        same_start: same_start(&loaded.scenario),
        series_years: engine.series_years(),
    };
    let subject = Subject::of(&loaded.plan, asked);
    let watch = Arc::new(Watch::default());
    progress::stop_on_interrupt(&watch);
    let part = args.shard.unwrap_or(Part::WHOLE).trials(subject.trials_asked);
    let (mut answers, stopping) = match args.until_half_width {
        Some(half_width) => rounds(&engine, &subject, half_width, &watch)?,
        None => (watched(&engine, &subject, part.clone(), &watch)?, None),
    };
    let done = part.start..part.start + answers.trials_seen();
    answers.as_stated = engine.run_as_stated(done, &watch)?;
    let mut beside = Beside::of(&args.results);
    loaded.tell_warnings(&mut beside);
    if answers.trials_seen() == 0 && watch.stop.load(Ordering::Relaxed) {
        files::tell("Stopped before a trial was done: nothing is written.\n");
        return Ok(());
    }
    let work = Work {
        command: if args.shard.is_some() { "odds-parts" } else { "odds" },
        strategies: args.in_force.strategy.as_slice(),
        variants: args.in_force.variant.as_slice(),
        from_now: args.from_now.any(),
        ..Work::default()
    };
    let folder = work.folder(args.results.out.as_ref(), &subject.name);
    let inputs = inputs_of(&args.scenario, &loaded.scenario);
    if let Some(part) = args.shard {
        return write_part(args, (&folder, inputs), part, subject, answers);
    }
    let wanted =
        Wanted { folder, inputs, json: args.results.json, charts: !args.results.no_charts };
    let flags = args.from_now.again();
    let replay = replay(&args.scenario, &args.in_force, args.seed) + &flags;
    results::tell_and_write(&subject, &answers, stopping, &wanted, &replay, beside)
}

/// Trials of a range, with their progress on a terminal.
fn watched(
    engine: &Engine,
    subject: &Subject,
    trials: Range<u64>,
    watch: &Watch,
) -> Result<Answers, Error> {
    let total = trials.end - trials.start;
    progress::shown(watch, Some(total), || engine.run(subject, trials, watch))
}

/// Rounds of trials until the range is narrow enough.
fn rounds(
    engine: &Engine,
    subject: &Subject,
    half_width_asked: f64,
    watch: &Watch,
) -> Result<(Answers, Option<Stopping>), Error> {
    let answers = progress::shown(watch, None, || {
        let mut answers = empty(subject)?;
        let mut next = 0;
        while next < subject.trials_asked && !watch.stop.load(Ordering::Relaxed) {
            let end = next.saturating_add(ROUND_TRIALS).min(subject.trials_asked);
            let round = engine.run(subject, next..end, watch)?;
            let whole_round = round.trials_seen() == end - next;
            answers.merge(&round).map_err(results::internal)?;
            next = end;
            if !whole_round || is_enough(answers.tally, half_width_asked) {
                break;
            }
        }
        Ok(answers)
    })?;
    let stopping = Stopping {
        half_width_asked,
        half_width_reached: half_width(answers.tally),
        round_trials: ROUND_TRIALS,
    };
    Ok((answers, Some(stopping)))
}

/// Nothing gathered yet.
fn empty(subject: &Subject) -> Result<Answers, Error> {
    Answers::empty(subject.shape).map_err(results::internal)
}

/// Writes the file of a part, and says so.
fn write_part(
    args: &OddsArgs,
    (folder, inputs): (&Path, Vec<PathBuf>),
    part: Part,
    subject: Subject,
    answers: Answers,
) -> Result<(), Error> {
    results::complete(&answers)?;
    let trials = part.trials(subject.trials_asked);
    let (seen, of) = (answers.trials_seen(), trials.end - trials.start);
    let name = format!("odds-part-{}-of-{}", part.number, part.of);
    let path = folder.join(format!("{name}.json"));
    let shard = Shard { shard_format: FORMAT, part, subject, answers };
    let text = serde_json::to_string(&shard).map_err(|it| Error::Output(it.into()))? + "\n";
    // Parts lie side by side: each has a list of its own.
    let mut results = Results::new(folder, &name, inputs);
    results.add(format!("{name}.json"), text.as_str());
    results.write()?;
    let early = if seen < of { ", ended early: `merge` will refuse it" } else { "" };
    files::tell(&format!("Part written: {}\n", path.display()));
    if args.results.json {
        return files::print(&text);
    }
    files::print(&format!(
        "Part {} of {}: {} of {} trials done{early}.\nOnce all parts are there: longwatch merge {}odds-part-*-of-{}.json\n",
        part.number,
        part.of,
        whole(seen),
        whole(of),
        shell::path(&folder.join("")),
        part.of
    ))
}

/// The command that runs one of the trials, without its number.
pub(super) fn replay(scenario: &Path, in_force: &InForceArgs, seed: u64) -> String {
    format!("longwatch run {}{} --seed {seed}", shell::path(scenario), in_force.again())
}
