//! From a path to a plan: what every command that simulates begins with.

use std::path::{Path, PathBuf};

use super::screen::Beside;
use super::{check, files, from_now};
use crate::cli::InForceArgs;
use crate::cli::from_now::FromNowArgs;
use crate::decide::contest::of_variant;
use crate::error::Error;
use crate::plan::Plan;
use crate::plan::check::{Examined, Variants, not_compiled};
use crate::plan::compile::{CompileProblem, Hours};
use crate::scenario::Scenario;
use crate::scenario::problem::{likely, list_of};
use crate::scenario::spans::Spans;
use crate::scenario::sun::Sun;
use crate::show::first_sentence;
use crate::simulate::beside::{answer, silence_cost};
use crate::simulate::guard::{self, Impossible};
use crate::simulate::ledger::Ledger;
use crate::simulate::single;
use crate::simulate::summary::{Summary, summarise};
use crate::simulate::trials::{Options, prepare, replay};
use crate::station::battery::register;
use crate::warning::Warning;

/// A plan and what is needed to speak of the text it came from.
pub struct Loaded {
    /// The scenario, with the strategy in force.
    pub scenario: Scenario,
    /// The plan.
    pub plan: Plan,
    /// The same with less capacity, when that of the plan rests on a rated capacity.
    pub doubted: Option<Plan>,
    /// Places in the scenario file.
    pub spans: Spans,
    /// Its variants.
    pub variants: Variants,
}

/// Reads, checks and compiles a scenario, with the strategy and the variant in force that are named, and
/// with what a trial (its number, the seed) meets if one is asked for.
///
/// # Errors
/// When the scenario cannot be read or is wrong, or has no such strategy or variant.
pub fn load(
    path: &Path,
    in_force: &InForceArgs,
    trial: Option<(u64, u64)>,
) -> Result<Loaded, Error> {
    load_from_now(path, in_force, trial, &FromNowArgs::default())
}

/// A scenario that has been read and checked, with the strategy that is in force and what is known
/// now put in its place.
pub struct Read {
    /// The scenario.
    pub scenario: Scenario,
    /// Places in the scenario file.
    pub spans: Spans,
    /// What the check has to say.
    pub warnings: Vec<Warning>,
    /// The variant that it is.
    pub variant: Option<String>,
    examined: Examined,
}

/// Reads and checks a scenario, see [`load`].
///
/// # Errors
/// When it cannot be read or is wrong, has no such strategy or variant, or what is known now cannot
/// be.
pub fn read(path: &Path, in_force: &InForceArgs, from_now: &FromNowArgs) -> Result<Read, Error> {
    let mut examined = check::read_station(path)?;
    if let Some(name) = &in_force.variant
        && examined.problems.list.is_empty()
    {
        take_variant(&mut examined, name)?;
    }
    let (Some(mut scenario), Some(spans), true) =
        (examined.scenario.take(), examined.spans.take(), examined.problems.list.is_empty())
    else {
        return Err(Error::Scenario { rendered: examined.problems.render(true) });
    };
    if let Some(name) = &in_force.strategy {
        check_strategy(&scenario, name)?;
        scenario.strategy.clone_from(name);
    }
    if from_now.any() {
        from_now::apply(&mut scenario, from_now)?;
        // The sky that the check has brought about is that of other hours.
        examined.sky = None;
    }
    let warnings = std::mem::take(&mut examined.warnings);
    Ok(Read { scenario, spans, warnings, variant: in_force.variant.clone(), examined })
}

/// The error of a scenario that cannot be compiled: its own fault, or that of what is known now.
#[must_use]
pub fn not_to_be_played(
    problems: Vec<CompileProblem>,
    spans: &Spans,
    variant: Option<&str>,
    from_now: &FromNowArgs,
) -> Error {
    if from_now.any() {
        // The scenario was fine before the flags.
        let texts: Vec<&str> = problems.iter().map(|it| it.text.as_str()).collect();
        return Error::CommandLine(format!(
            "from now on it cannot be played: {}",
            texts.join("; ")
        ));
    }
    let problems = match variant {
        Some(name) => of_variant(name, problems),
        None => problems,
    };
    Error::Scenario { rendered: not_compiled(&problems, spans).render(true) }
}

/// The same with what is known now in the place of what the scenario says.
///
/// # Errors
/// As [`load`], and when what is known now cannot be.
pub fn load_from_now(
    path: &Path,
    in_force: &InForceArgs,
    trial: Option<(u64, u64)>,
    from_now: &FromNowArgs,
) -> Result<Loaded, Error> {
    let Read { scenario, spans, warnings, variant, mut examined } = read(path, in_force, from_now)?;
    let compiled = match trial {
        None => examined.take_sky(&scenario).and_then(|sky| {
            let hours = Hours::of(&sky, &scenario)?;
            let (plan, doubted) = rayon::join(
                || hours.plan(&scenario, warnings),
                || less(&scenario).and_then(|less| hours.plan(&less, Vec::new()).ok()),
            );
            Ok((plan?, doubted))
        }),
        Some((trial, seed)) => {
            let options = Options { seed, ..Options::default() };
            let of = |scenario: &Scenario, warnings| {
                let prepared = prepare(scenario, &base_dir(path), warnings, options)?;
                Ok(replay(&prepared, trial))
            };
            of(&scenario, warnings).map(|plan| {
                let doubted = less(&scenario).and_then(|less| of(&less, Vec::new()).ok());
                (plan, doubted)
            })
        }
    };
    match compiled {
        Ok((plan, doubted)) => {
            let variants = std::mem::take(&mut examined.variants);
            Ok(Loaded { scenario, plan, doubted, spans, variants })
        }
        Err(problems) => Err(not_to_be_played(problems, &spans, variant.as_deref(), from_now)),
    }
}

/// Where the files that a scenario names are looked for.
#[must_use]
pub fn base_dir(path: &Path) -> PathBuf {
    if files::is_standard(path) {
        return PathBuf::new();
    }
    path.parent().unwrap_or(Path::new("")).to_owned()
}

/// The files that a scenario at this path is read from.
#[must_use]
pub fn inputs_of(path: &Path, scenario: &Scenario) -> Vec<PathBuf> {
    let mut inputs = vec![path.to_owned()];
    if let Sun::Measured(measured) = &scenario.sun {
        inputs.push(base_dir(path).join(&measured.file));
    }
    inputs
}

/// The scenario with a share of the rated capacity, when it rests on that.
fn less(scenario: &Scenario) -> Option<Scenario> {
    if !register::rests_on_nameplate(&scenario.battery) {
        return None;
    }
    let mut less = scenario.clone();
    less.battery = register::at_share_of_nameplate(&scenario.battery, register::DOUBTED_SHARE);
    Some(less)
}

/// Takes a variant of this name in the place of a good scenario.
///
/// # Errors
/// When there is none: which there are, and which was probably meant.
pub fn take_variant(examined: &mut Examined, name: &str) -> Result<(), Error> {
    let known: Vec<String> = examined.variants.scenarios.keys().cloned().collect();
    if examined.take_variant(name) {
        return Ok(());
    }
    Err(Error::CommandLine(no_variant(name, known.iter())))
}

/// What is said of a variant that there is not.
#[must_use]
pub fn no_variant<'n>(name: &str, known: impl Iterator<Item = &'n String> + Clone) -> String {
    if known.clone().next().is_none() {
        return format!("the scenario has no variant `{name}`: it has no `variants`");
    }
    there_is_no("variant", name, known)
}

/// Whether a scenario has a strategy of this name.
///
/// # Errors
/// When it has not: what it has, and what was probably meant.
pub fn check_strategy(scenario: &Scenario, name: &str) -> Result<(), Error> {
    if scenario.strategies.contains_key(name) {
        return Ok(());
    }
    Err(Error::CommandLine(no_strategy(name, scenario.strategies.keys())))
}

/// What is said of a strategy that there is not.
#[must_use]
pub fn no_strategy<'n>(name: &str, known: impl Iterator<Item = &'n String> + Clone) -> String {
    there_is_no("strategy", name, known)
}

fn there_is_no<'n>(
    what: &str,
    name: &str,
    known: impl Iterator<Item = &'n String> + Clone,
) -> String {
    let hint = likely(name, known.clone().map(String::as_str))
        .map_or_else(|| ".".to_owned(), |near| format!("; did you mean `{near}`?"));
    let all = list_of(known.map(String::as_str));
    format!("the scenario has no {what} `{name}`{hint} It has {all}")
}

impl Loaded {
    /// Its hours one after the other, with all that is said of them.
    ///
    /// # Errors
    /// When they hold something that no station can come to.
    pub fn hours(&self) -> Result<(Ledger, Summary), Error> {
        let (ledger, at_65_percent) =
            rayon::join(|| single::run(&self.plan), || self.doubted.as_ref().map(answer));
        guard::ledger(&ledger).map_err(Impossible::fault)?;
        let mut summary = summarise(&self.plan, &ledger);
        summary.silence = silence_cost(&self.plan, &ledger);
        summary.at_65_percent = at_65_percent;
        let silence = summary.silence.as_ref().map(|it| &it.without);
        for beside in silence.into_iter().chain(&summary.at_65_percent) {
            guard::answer(beside, summary.hours).map_err(Impossible::fault)?;
        }
        summary.sentence = first_sentence(&ledger, &summary);
        Ok((ledger, summary))
    }

    /// Tells people the warnings, on standard error.
    pub fn tell_warnings(&self, beside: &mut Beside) {
        beside.warn(&self.scenario, &self.plan.warnings, &self.spans);
    }
}

impl Read {
    /// Tells people the warnings, on standard error.
    pub fn tell_warnings(&self, beside: &mut Beside) {
        beside.warn(&self.scenario, &self.warnings, &self.spans);
    }
}
