//! From now on: how long the station lasts in each tier, how much transmitting lasts until a stated time,
//! and whether to start the generator.
//!
//! Lives here: the questions and what the trials answer. Does not live here: how a charge or a sky is
//! told (`cli`, `commands::from_now`), and the words (`show::now`).

mod engine;
mod keying;
pub mod lasts;

use std::path::Path;

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

pub use engine::EngineAdvice;
pub use keying::Keying;
use lasts::{Asked, Lasted};

use crate::decide::odds::Occasion;
use crate::error::Error;
use crate::plan::compile::{CompileProblem, clock_and_stretch};
use crate::scenario::Scenario;
use crate::scenario::outlook::Outlook;
use crate::scenario::schedule::Grid;
use crate::scenario::site::Start;
use crate::scenario::sun::Sun;
use crate::simulate::trials;
use crate::station::battery::register::Holds;

/// The answers look at least so far ahead, h.
const LOOK_AHEAD_H: u32 = 168;
/// The days of the darkest sky: each as dark as the darkest share of its like, so large a part of what
/// the chance leave out. Below one half, or a single day told may be darker (judgement).
const DARKEST_PART: f64 = 0.4;

/// What is asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// In what share of the trials the answers must hold.
    pub target_chance: f64,
    /// Random seed.
    pub seed: u64,
    /// Threads; 0 for all cores.
    pub threads: usize,
    /// Whether the scenario knows when the mains is back; otherwise it stays away.
    pub mains_back: bool,
}

/// The station from now on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Now {
    /// Title of the scenario.
    pub title: String,
    /// Version of the program.
    pub version: &'static str,
    /// Strategy in force.
    pub strategy: String,
    /// Now, on the local clock.
    pub at: DateTime<FixedOffset>,
    /// The stated time.
    pub until: DateTime<FixedOffset>,
    /// Hours between the two.
    pub until_h: f64,
    /// How far the answers look, h.
    pub look_ahead_h: f64,
    /// Charge now, from and to; absent where warm-up days find it.
    pub charge_share: Option<[f64; 2]>,
    /// What the battery gives from full, aged, Ah; lead-acid when drawn slowly.
    pub capacity_ah: f64,
    /// What is told of it beside that.
    pub holds: Holds,
    /// What a trial is called.
    #[serde(skip)]
    pub occasion: Occasion,
    /// Hours from now until the mains is back; absent where it stays away or there is none.
    pub mains_back_h: Option<f64>,
    /// In what share of the trials the answers hold, shown with 95 % confidence.
    pub target_chance: f64,
    /// Random seed.
    pub seed: u64,
    /// Trials under the sky as the outlook says.
    pub trials: u64,
    /// Whether days ahead are told; otherwise the sky is the usual one of the scenario.
    pub outlook_told: bool,
    /// Each day of the darkest sky is the one that this share of its like does not exceed; absent
    /// where the sun of the scenario has no such law.
    pub darkest_day_share: Option<f64>,
    /// The tiers, the fullest first.
    pub tiers: Vec<TierFromNow>,
    /// Whether to start the generator; absent where there is none.
    pub engine: Option<EngineAdvice>,
    /// The first sentence.
    pub sentence: String,
    /// What can be read out on the air, at most 160 characters.
    pub line: String,
}

/// One tier held from now on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TierFromNow {
    /// Its name.
    pub name: String,
    /// Whether the station counts as on the air in it.
    pub on_air: bool,
    /// Whether any load is on in it.
    pub has_loads: bool,
    /// Under the sky as the outlook says.
    pub told: Lasts,
    /// Under the darkest plausible sky.
    pub darkest: Option<Lasts>,
    /// How much transmitting lasts until the stated time; absent where nothing in it is transmitting.
    pub keying: Option<Keying>,
}

/// How long something lasts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Lasts {
    /// Hours that it lasts at the chance; absent where it is longer than the answers look.
    pub hours: Option<f64>,
    /// Hours that half of the trials last, or longer; absent likewise.
    pub half_hours: Option<f64>,
    /// Whether it lasts until the stated time at the chance.
    pub until: bool,
}

/// Why there is no answer.
#[derive(Debug)]
pub enum Failure {
    /// The scenario cannot be compiled.
    Compile(Vec<CompileProblem>),
    /// The trials could not be run.
    Run(Error),
}

impl From<Vec<CompileProblem>> for Failure {
    fn from(problems: Vec<CompileProblem>) -> Self {
        Self::Compile(problems)
    }
}

impl From<Error> for Failure {
    fn from(error: Error) -> Self {
        Self::Run(error)
    }
}

/// Answers for a checked scenario whose span begins now and ends at the stated time, with the mains
/// away. Files that it names are looked for in `base_dir`. Sentence and line are left empty.
///
/// # Errors
/// When the scenario cannot be compiled, or threads cannot be started.
pub fn now(scenario: &Scenario, base_dir: &Path, options: &Options) -> Result<Now, Failure> {
    let until_h = f64::from(scenario.span.hours);
    let mut long = scenario.clone();
    long.span.hours = scenario.span.hours.max(LOOK_AHEAD_H);
    long.shedding = None;
    let look_ahead_h = f64::from(long.span.hours);
    let mut mains_back_h = None;
    if let Grid::Outage(forced) = &mut long.grid {
        if options.mains_back {
            mains_back_h = Some(forced.hours);
        } else {
            forced.hours = look_ahead_h;
        }
    }
    let ladders = keying::ladders(&mut long);
    let drawn = trials::Options { seed: options.seed, recharge: false, uncertain: true };
    let mut prepared = trials::prepare(&long, base_dir, Vec::new(), drawn)?;
    let (clock, stretch) = clock_and_stretch(scenario)?;

    let with_engine = prepared.plan.engine.map(|_| prepared.clone());
    prepared.engine_for(0.0);
    let asked = Asked::new(&prepared, options, false);
    let (mut tiers, mut starts) = (Vec::new(), Vec::new());
    for (place, tier) in scenario.tiers.iter().enumerate() {
        let has_loads = !tier.loads.is_empty();
        let told = if has_loads {
            prepared.hold(place);
            let lasted = asked.lasted(&prepared)?;
            starts.push(lasted.start_at_odds_share());
            lasts(&lasted, until_h, look_ahead_h)
        } else {
            starts.push(0.0);
            Lasts { hours: None, half_hours: None, until: true }
        };
        tiers.push(TierFromNow {
            name: tier.name.clone(),
            on_air: tier.on_air,
            has_loads,
            told,
            darkest: None,
            keying: None,
        });
    }
    let darkest_share = DARKEST_PART * (1.0 - options.target_chance);
    let darkest_day_share = prepared.darkest(Some(darkest_share)).then_some(darkest_share);
    if darkest_day_share.is_some() {
        let with_start = tiers.iter_mut().zip(starts).enumerate();
        for (place, (tier, start)) in with_start.filter(|(_, (tier, _))| tier.has_loads) {
            let mut dark = if prepared.settling_steps > 0 {
                from_charge(&long, start, base_dir, drawn)?
            } else {
                prepared.clone()
            };
            dark.darkest(darkest_day_share);
            dark.hold(place);
            let asked = Asked::new(&dark, options, true);
            tier.darkest = Some(lasts(&asked.lasted(&dark)?, until_h, look_ahead_h));
        }
    }
    prepared.darkest(None);
    prepared.end_after(until_h);
    for ladder in &ladders {
        tiers[ladder.tier].keying = Some(ladder.search(&mut prepared, &asked)?);
    }
    let engine = match with_engine {
        Some(with) => engine::advice(with, &tiers, &asked, until_h)?,
        None => None,
    };
    Ok(Now {
        title: scenario.title.clone(),
        version: env!("CARGO_PKG_VERSION"),
        strategy: scenario.strategy.clone(),
        at: clock.local(stretch.start),
        until: clock.local(stretch.end),
        until_h,
        look_ahead_h,
        charge_share: scenario.start.warmup_days.is_none().then(|| {
            let share = scenario.start.first_share();
            scenario.start.charge_between_share.unwrap_or([share, share])
        }),
        capacity_ah: prepared.plan.heads.capacity_ah,
        holds: prepared.plan.heads.holds,
        occasion: Occasion::of(&long),
        mains_back_h,
        target_chance: options.target_chance,
        seed: options.seed,
        trials: asked.trials,
        outlook_told: matches!(&scenario.sun, Sun::Climate(climate) if climate.outlook.as_ref().is_some_and(Outlook::tells)),
        darkest_day_share,
        tiers,
        engine,
        sentence: String::new(),
        line: String::new(),
    })
}

/// Trials that begin with their span at a charge, the generator off. The darkest sky begins where the
/// warm-up days under the sky as the outlook says leave enough of the trials: were they dark too, somebody would
/// top up in them, and the station would begin with more.
fn from_charge(
    long: &Scenario,
    charge_share: f64,
    base_dir: &Path,
    drawn: trials::Options,
) -> Result<trials::Prepared, Failure> {
    let mut known = long.clone();
    known.start = Start { charge_share: Some(charge_share), ..Start::default() };
    let mut prepared = trials::prepare(&known, base_dir, Vec::new(), drawn)?;
    prepared.engine_for(0.0);
    Ok(prepared)
}

/// What trials say of a tier.
fn lasts(lasted: &Lasted, until_h: f64, look_ahead_h: f64) -> Lasts {
    let within = |hours: f64| Some(hours).filter(|it| *it < look_ahead_h - 1e-9);
    let hours = lasted.at_odds_h();
    Lasts {
        hours: within(hours),
        half_hours: within(lasted.half_h()),
        until: hours >= until_h - 1e-9,
    }
}

impl Now {
    /// Whether a tier in which the station is on the air lasts until the stated time.
    #[must_use]
    pub fn reaches(&self) -> bool {
        let engine = self.engine.as_ref().is_some_and(EngineAdvice::reaches);
        let lasts = |tier: &TierFromNow| tier.on_air && tier.has_loads && tier.told.until;
        engine || self.tiers.iter().any(lasts)
    }
}
