//! `report`: everything that is found of a station, on one page.
//!
//! Lives here: the command, and which decisions it asks for (`decisions`). Does not live here: what
//! is decided (decide) and the page (`show::report`).

mod decisions;

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::Ordering;

use self::decisions::{Decisions, decisions};
use super::files;
use super::folder::{Results, Work};
use super::load::{base_dir, inputs_of, load};
use super::odds::engine::Engine;
use super::odds::{fingerprint, progress, replay, results};
use super::screen::Beside;
use crate::cli::ReportArgs;
use crate::decide::independence::{
    BatteryAlone, Forecast, Reached, battery_alone, beside, reach, stated,
};
use crate::decide::odds::subject::{Asked, same_start};
use crate::decide::odds::{Occasion, Odds, Subject};
use crate::decide::preflight::preflight;
use crate::error::Error;
use crate::plan::check::series_text;
use crate::scenario::Scenario;
use crate::scenario::sun::Sun;
use crate::show::odds;
use crate::show::odds::Trials;
use crate::show::report::{Material, report};
use crate::show::shell;
use crate::simulate::trials::Watch;

/// Runs the command.
///
/// # Errors
/// When the scenario cannot be read or is wrong, or the page cannot be written.
pub fn run(args: &ReportArgs) -> Result<(), Error> {
    let loaded = load(&args.scenario, &args.in_force, None)?;
    let base = base_dir(&args.scenario);
    let watch = Arc::new(Watch::default());
    progress::stop_on_interrupt(&watch);
    let (ledger, summary) = loaded.hours()?;

    let engine = Engine::new(&loaded, &args.scenario, args.seed, args.threads)?;
    let subject = Subject::of(
        &loaded.plan,
        Asked {
            name: files::name_of(&args.scenario),
            scenario_sha256: fingerprint::of(&loaded.scenario, &base)?,
            variant: args.in_force.variant.clone(),
            occasion: Occasion::of(&loaded.scenario),
            seed: args.seed,
            trials: args.trials,
            same_start: same_start(&loaded.scenario),
            series_years: engine.series_years(),
        },
    );
    let (answers, reached, decided) = progress::shown(&watch, None, || {
        let mut answers = engine.run(&subject, 0..args.trials, &watch)?;
        answers.as_stated = engine.run_as_stated(0..answers.trials_seen(), &watch)?;
        let reached = lasts(args, &loaded.scenario, &base, &watch)?;
        let decided = decisions(args, &loaded, &base, &watch)?;
        Ok((answers, reached, decided))
    })?;
    loaded.tell_warnings(&mut Beside::new(args.full));
    let (Some(decided), false) = (decided, watch.stop.load(Ordering::Relaxed)) else {
        files::tell("Stopped: nothing is written.\n");
        return Ok(());
    };
    results::complete(&answers)?;
    let Decisions { comparison, without, sizing, card } = &decided;
    let mut odds = Odds::of(&subject, &answers, None);
    odds.sentence = odds::first_sentence(&odds);

    let series = measured(&loaded.scenario, &base);
    let alone: Option<BatteryAlone> = battery_alone(&loaded.scenario, series.as_deref()).ok();
    let forecast = Forecast::of(&ledger, &summary, alone.as_ref());
    let page = report(&Material {
        scenario: &loaded.scenario,
        plan: &loaded.plan,
        ledger: &ledger,
        summary: &summary,
        trials: Trials { subject: &subject, answers: &answers, odds: &odds },
        reached: &reached,
        alone: alone.as_ref(),
        tests: &beside(&loaded.scenario.field_tests, forecast),
        stated: &stated(&loaded.scenario),
        comparison,
        without,
        sizing,
        card,
        findings: &preflight(&loaded.scenario, &loaded.plan, &ledger),
        command: &command(args),
        replay: &replay(&args.scenario, &args.in_force, args.seed),
    });

    let work = Work {
        command: "report",
        strategies: args.in_force.strategy.as_slice(),
        variants: args.in_force.variant.as_slice(),
        ..Work::default()
    };
    let folder = work.folder(args.out.as_ref(), &subject.name);
    let path = folder.join("report.html");
    let inputs = inputs_of(&args.scenario, &loaded.scenario);
    let mut results = Results::new(&folder, work.command, inputs);
    results.add("report.html", page);
    results.write()?;
    files::print(&format!("{}\n", odds.sentence))?;
    files::tell(&format!("Report: {}\n", path.display()));
    Ok(())
}

/// How many trials last without mains, or why that cannot be asked.
fn lasts(
    args: &ReportArgs,
    scenario: &Scenario,
    base: &Path,
    watch: &Watch,
) -> Result<Result<Reached, String>, Error> {
    let threads = args.threads.map_or(0, usize::from);
    let reached = reach(scenario, base, args.seed, 0..args.trials, threads, watch)?;
    Ok(reached.map_err(|problems| {
        let told: Vec<String> = problems.into_iter().map(|problem| problem.text).collect();
        told.join(" ")
    }))
}

/// The text of the measured series, where the scenario has one.
fn measured(scenario: &Scenario, base: &Path) -> Option<String> {
    match &scenario.sun {
        Sun::Measured(measured) => series_text(measured, base).ok(),
        Sun::Profile(_) | Sun::Climate(_) => None,
    }
}

/// The command that makes the page again; where it goes and on how many threads does not matter.
fn command(args: &ReportArgs) -> String {
    format!(
        "longwatch report {}{} --trials {} --seed {}",
        shell::path(&args.scenario),
        args.in_force.again(),
        args.trials,
        args.seed
    )
}
