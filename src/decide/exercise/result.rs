//! What the trials of a club come to: the keys of `exercise.json`.
//!
//! A station is ready in a trial in which it was there and never off the air; minutes of a handover count
//! only where its swap rule says so. The club is up in a step in which at least so many stations were
//! not off the air at any moment of it, and ready in a trial in which it was up in every step.
//! Members who do not come are in these counts. Trust: exact for the counts; the intervals are
//! checked against published values.

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use super::gather::{ClubGather, StationGather};
use super::packing::{Packing, packing};
use super::sheet::{Sheet, sheet};
use super::spares::{Spares, spares};
use super::timeline::{ClubTimeline, timeline};
use super::times::Span;
use crate::chance::ChanceProblem;
use crate::decide::odds::answers::CHARGE_UNITS;
use crate::decide::odds::quantiles::Quantiles;
use crate::decide::odds::result::{Odds, Within};
use crate::decide::odds::subject::{Asked as AskedOfOne, Occasion, Subject};
use crate::error::Error;
use crate::plan::club::GoodClub;
use crate::scenario::Named;
use crate::simulate::ledger::OriginWh;
use crate::simulate::trials::Watch;
use crate::simulate::trials::club::{ClubPlan, run_club};

/// What is asked of a club.
#[derive(Debug, Clone)]
pub struct Asked {
    /// Word for files.
    pub name: String,
    /// SHA-256 of the club and of what its stations come to.
    pub club_sha256: String,
    /// What a trial is called.
    pub occasion: Occasion,
    /// How many trials.
    pub trials: u64,
    /// Threads; 0 for all cores.
    pub threads: usize,
}

/// What many trials of a club come to. Hours, litres, energies and counts are means of a trial unless
/// said otherwise.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Exercise {
    /// Title of the club.
    pub title: String,
    /// Version of the program.
    pub version: String,
    /// The finding in one sentence, in counts.
    pub sentence: String,
    /// SHA-256 of the club's file as understood and of the scenarios of its stations.
    pub club_sha256: String,
    /// What one trial is: see `odds`.
    pub occasion: Occasion,
    /// Random seed.
    pub seed: u64,
    /// Trials counted.
    pub trials: u64,
    /// Trials asked for.
    pub trials_asked: u64,
    /// Whether it was stopped before all were done.
    pub ended_early: bool,
    /// Trials in which something could not be counted; a fault to report.
    pub trials_left_out: u64,
    /// Local time at which the span starts.
    pub start: Option<DateTime<FixedOffset>>,
    /// Elapsed hours of the span.
    pub hours: f64,
    /// How many stations must be up at every moment.
    pub stations_needed: usize,
    /// Chance of staying on the air of the club.
    pub club: Within,
    /// Hours in which it was down, whole steps.
    pub club_down_h: f64,
    /// When it was first down, h: of 1, 5, ... 99 % of trials by then; null where fewer were.
    pub club_first_down_h: Quantiles,
    /// The stations, by name.
    pub stations: Named<StationResult>,
    /// Served energy of all stations by origin.
    pub origin_wh: OriginWh,
    /// The charging point and its generator; absent without one.
    pub charging_point: Option<PointResult>,
    /// Swaps of all stations.
    pub swaps: Quantiles,
    /// Looks (on the hour) at a low station for which no spare was charged.
    pub waits_in_vain: Quantiles,
    /// How many spare packs the chance of staying on the air takes; absent where nothing is swapped.
    pub spares: Option<Spares>,
    /// Members: in how many trials each came.
    pub members: Named<MemberResult>,
    /// Who brings what.
    pub packing: Packing,
    /// The trials of the timelines.
    pub named_trials: NamedTrials,
}

/// What many trials of one station come to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StationResult {
    /// There and on the air for all hours, of all trials.
    pub ready: Within,
    /// Trials in which it was not there: its member or its pack did not come.
    pub absent: u64,
    /// Of the trials in which it was there: those never off the air.
    pub ready_when_there: Within,
    /// Trials in which it was the first to be off the air.
    pub first_out: u64,
    /// When, of these trials, h.
    pub first_out_h: Quantiles,
    /// Hours in which an essential load was not served.
    pub no_power_h: f64,
    /// Hours without power while packs were swapped; not among `no_power_h` unless the rule says so.
    pub handover_h: f64,
    /// Demand, Wh.
    pub load_wh: f64,
    /// Not delivered, Wh.
    pub unserved_wh: f64,
    /// What the top tier would have drawn besides, Wh.
    pub shed_wh: f64,
    /// Served energy by origin.
    pub origin_wh: OriginWh,
    /// Lowest charge.
    pub lowest_charge_share: Quantiles,
    /// Swaps.
    pub swaps: Quantiles,
}

/// What the charging point comes to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PointResult {
    /// Hours in which its generator ran.
    pub generator_h: f64,
    /// The same over trials.
    pub generator_h_spread: Quantiles,
    /// What it burnt, litres.
    pub fuel_l: f64,
    /// The same over trials.
    pub fuel_l_spread: Quantiles,
    /// What was brought, litres.
    pub fuel_brought_l: f64,
    /// Energy put into packs, Wh.
    pub charged_wh: f64,
}

/// A member.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MemberResult {
    /// Chance to come.
    pub comes_chance: f64,
    /// Trials in which the member came.
    pub came: u64,
}

/// Trials to look at.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct NamedTrials {
    /// The longest time down; of equal ones the most energy unserved, of those the first.
    pub worst: Option<u64>,
    /// Lower median of the lowest charge of any station; of equal ones the first.
    pub median: Option<u64>,
}

/// Everything about a club: counts, one or two trials to look at, a sheet for each station.
pub struct Told {
    /// The counts.
    pub exercise: Exercise,
    /// The median and the worst trial.
    pub timelines: Vec<ClubTimeline>,
    /// A sheet for each station.
    pub sheets: Vec<Sheet>,
}

/// Runs the trials of a club. `None` when the watch stopped it before a trial was done.
///
/// # Errors
/// When threads cannot be started, or nothing can be gathered of such a span.
#[allow(clippy::cast_precision_loss)]
pub fn exercise(
    good: &GoodClub,
    club: &ClubPlan,
    asked: &Asked,
    watch: &Watch,
) -> Result<Option<Told>, Error> {
    let internal = |problem: ChanceProblem| Error::fault(problem.to_string());
    let subjects: Vec<Subject> = club
        .stations
        .iter()
        .map(|it| Subject::of(&it.part.prepared.plan, one_of(asked, club, &it.name)))
        .collect();
    let shapes: Vec<_> = subjects.iter().map(|it| it.shape).collect();
    let mut gather = ClubGather::empty(club, &shapes).map_err(internal)?;
    run_club(club, 0..asked.trials, asked.threads, watch, |outcome| gather.trial(outcome))?;
    if gather.left_out > 0 {
        return Err(Error::fault(format!(
            "{} of {} trials hold a value that is no number of a club.",
            gather.left_out, gather.trials
        )));
    }
    if gather.trials == 0 {
        return Ok(None);
    }
    let found = spares(club, good.club.target_chance, gather.up, asked.threads, watch)?;
    let hours = shapes.first().map_or(0.0, |it| it.hours());
    let trials = gather.trials;
    let mut stations = Named::new();
    let mut sheets = Vec::new();
    let mut origin_wh = OriginWh::default();
    for (at, (subject, it)) in subjects.iter().zip(&gather.stations).enumerate() {
        let odds = Odds::of(subject, &it.answers, None);
        // Means of all trials: of a station that was not there nothing.
        let there = (trials - it.absent) as f64 / trials as f64;
        for (sum, part) in [
            (&mut origin_wh.sun, odds.origin_wh.sun),
            (&mut origin_wh.mains, odds.origin_wh.mains),
            (&mut origin_wh.generator, odds.origin_wh.generator),
            (&mut origin_wh.vehicle, odds.origin_wh.vehicle),
            (&mut origin_wh.stored_before, odds.origin_wh.stored_before),
        ] {
            *sum += part * there;
        }
        sheets.push(sheet(good, club, at, &odds, &it.volts));
        stations.insert(subject.name.clone(), station_result(hours, it, odds));
    }
    let named = NamedTrials {
        worst: gather.worst.map(|(_, _, trial)| trial),
        median: gather.lowest.lower_median().map(|it| it.first_trial),
    };
    let timelines = [("median", named.median), ("worst", named.worst)]
        .into_iter()
        .filter_map(|(called, trial)| Some(timeline(good, club, trial?, called)))
        .collect();
    let members = good.club.members.iter().zip(&gather.members).map(|((name, member), came)| {
        (name.clone(), MemberResult { comes_chance: member.comes_chance, came: *came })
    });
    let span = good.stations.first().and_then(|it| Span::of(&it.scenario));
    let exercise = Exercise {
        title: good.club.title.clone(),
        version: env!("CARGO_PKG_VERSION").into(),
        sentence: String::new(),
        club_sha256: asked.club_sha256.clone(),
        occasion: asked.occasion,
        seed: club.seed,
        trials,
        trials_asked: asked.trials,
        ended_early: trials < asked.trials,
        trials_left_out: gather.left_out,
        start: span.map(|it| it.local(0)),
        hours,
        stations_needed: club.needed,
        club: Within::of(hours, gather.up),
        club_down_h: gather.down_h.mean(),
        club_first_down_h: Quantiles::of(&gather.first_down_min, trials, 60.0),
        stations,
        origin_wh,
        charging_point: good.point.as_ref().map(|point| PointResult {
            generator_h: gather.generator_h.mean(),
            generator_h_spread: Quantiles::of(&gather.engine_min, trials, 60.0),
            fuel_l: gather.fuel_l.mean(),
            fuel_l_spread: Quantiles::of(&gather.fuel_ml, trials, 1000.0),
            fuel_brought_l: point.scenario.generator.as_ref().map_or(0.0, |it| it.fuel_l),
            charged_wh: gather.point_wh.mean(),
        }),
        swaps: Quantiles::of(&gather.swaps, trials, 1.0),
        waits_in_vain: Quantiles::of(&gather.waits, trials, 1.0),
        spares: found.map(|it| it.priced(good.club.packs.as_ref())),
        members: members.collect(),
        packing: packing(good),
        named_trials: named,
    };
    Ok(Some(Told { exercise, timelines, sheets }))
}

fn one_of(asked: &Asked, club: &ClubPlan, name: &str) -> AskedOfOne {
    AskedOfOne {
        name: name.to_owned(),
        scenario_sha256: asked.club_sha256.clone(),
        variant: None,
        occasion: asked.occasion,
        seed: club.seed,
        trials: asked.trials,
        same_start: true,
        series_years: None,
    }
}

fn station_result(hours: f64, it: &StationGather, odds: Odds) -> StationResult {
    let there = it.answers.tally;
    StationResult {
        ready: Within::of(hours, it.ready),
        absent: it.absent,
        ready_when_there: Within::of(hours, there),
        first_out: it.first_out_min.count(),
        first_out_h: Quantiles::of(&it.first_out_min, it.first_out_min.count(), 60.0),
        no_power_h: odds.no_power_time_share * hours,
        handover_h: it.handover_h.mean(),
        load_wh: odds.load_wh,
        unserved_wh: odds.expected_unserved_wh,
        shed_wh: odds.shed_wh,
        origin_wh: odds.origin_wh,
        lowest_charge_share: Quantiles::of(&it.answers.lowest, there.trials(), CHARGE_UNITS),
        swaps: Quantiles::of(&it.swaps, there.trials(), 1.0),
    }
}
