//! Which way to run or to build a station: its strategies and variants in the same trials.
//!
//! Lives here: who is compared ([`mod@contenders`]), the trials of all of them, and what they come to
//! ([`result`]). Does not live here: the trials of one station and the counting of pairs (contest),
//! wording, pictures.

pub mod contenders;
pub mod result;

use std::path::Path;

pub use contenders::{Contender, Kind, contenders};
pub use result::Comparison;

use self::result::{Facts, OfContender};
use super::contest::counts::Counts;
use super::contest::month::month;
use super::contest::pairs::Pair;
use super::contest::{Play, Played, Unplayed, of_variant, play};
use super::odds::Occasion;
use super::odds::subject::{Shape, nights, same_start};
use crate::error::Error;
use crate::scenario::Scenario;
use crate::simulate::trials::Watch;

/// Plays all contenders in the same trials. `scenario` is the one that they are contenders of. The
/// sentence is left empty: wording belongs to `show`.
///
/// # Errors
/// When one cannot be compiled, threads cannot be started, or the watch ended it.
pub fn compare(
    scenario: &Scenario,
    contenders: &[Contender],
    base_dir: &Path,
    how: &Play,
    watch: &Watch,
) -> Result<Comparison, Unplayed> {
    let mut played = Vec::with_capacity(contenders.len());
    for contender in contenders {
        let its = played_with_month(contender, base_dir, how, watch);
        played.push(its.map_err(|unplayed| match (unplayed, contender.kind) {
            (Unplayed::Wrong(problems), Kind::Variant) => {
                Unplayed::Wrong(of_variant(&contender.name, problems))
            }
            (other, _) => other,
        })?);
    }
    let Some((first, _)) = played.first() else { return Err(Unplayed::Stopped) };
    let facts = Facts {
        title: scenario.title.clone(),
        occasion: Occasion::of(scenario),
        seed: how.seed,
        trials: how.trials,
        months: how.months,
        shape: Shape::of(&first.plan),
        start: first.plan.steps.get(first.plan.settling_steps).map(|step| step.start),
        same_start: same_start(scenario),
        nights_h: if same_start(scenario) { nights(&first.plan) } else { Vec::new() },
        warmup_days: scenario.start.warmup_days.unwrap_or(0),
        prices: scenario.prices.clone(),
    };
    let stations = contenders
        .iter()
        .zip(&played)
        .map(|(contender, (played, month))| OfContender::of(contender, played, *month, &facts))
        .collect();
    let counts: Vec<(&str, &Counts)> = contenders
        .iter()
        .zip(&played)
        .map(|(contender, (played, _))| (contender.name.as_str(), &played.counts))
        .collect();
    let pairs = pairs_of(&counts)
        .map_err(|problem| Unplayed::Failed(Error::Output(std::io::Error::other(problem))))?;
    let left_out = played.iter().map(|(played, _)| played.counts.left_out()).max().unwrap_or(0);
    Ok(Comparison::of(facts, stations, pairs, left_out))
}

fn played_with_month(
    contender: &Contender,
    base_dir: &Path,
    how: &Play,
    watch: &Watch,
) -> Result<(Played, Option<super::contest::month::Month>), Unplayed> {
    let played = play(&contender.scenario, base_dir, how, watch)?;
    Ok((played, month(&contender.scenario, base_dir, how, watch)?))
}

/// All pairs, in the order of the contenders.
fn pairs_of(counts: &[(&str, &Counts)]) -> Result<Vec<Pair>, crate::chance::ChanceProblem> {
    let pairs = counts.len() * counts.len().saturating_sub(1) / 2;
    let mut all = Vec::with_capacity(pairs);
    for (at, a) in counts.iter().enumerate() {
        for b in &counts[at + 1..] {
            all.push(Pair::of(*a, *b, pairs)?);
        }
    }
    Ok(all)
}
