//! One trial of a club, hour by hour: watches, the charge of every pack and where it is, swaps, the
//! generator.

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use super::sheet::invented;
use super::times::{Span, Spells};
use crate::plan::club::GoodClub;
use crate::simulate::trials::club::{ClubPlan, Place, club_outcome};

/// One trial to look at.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClubTimeline {
    /// Title of the club.
    pub title: String,
    /// Whether its author marks it as invented.
    pub invented: bool,
    /// Which trial it is: `worst`, `median`.
    pub called: String,
    /// Its number.
    pub trial: u64,
    /// Local time at which the span starts.
    pub start: Option<DateTime<FixedOffset>>,
    /// Length of the span, h.
    pub hours: f64,
    /// Length of a step, h.
    pub step_h: f64,
    /// Nights, elapsed hours.
    pub nights_h: Spells,
    /// The stations.
    pub stations: Vec<StationLine>,
    /// The packs.
    pub packs: Vec<PackLine>,
    /// Swaps in their order.
    pub swaps: Vec<SwapLine>,
    /// Members who did not come.
    pub absent: Vec<String>,
    /// Whether there is a charging point.
    pub has_point: bool,
    /// When its generator may run, elapsed hours; empty without one.
    pub engine_allowed_h: Spells,
    /// Hours in which it ran, by step.
    pub generator_h: Vec<f64>,
    /// Litres that it burnt.
    pub fuel_l: f64,
}

/// A station in it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StationLine {
    /// Its name.
    pub name: String,
    /// Whether it was there.
    pub came: bool,
    /// Whether it takes packs.
    pub takes_packs: bool,
    /// When it is on watch, elapsed hours.
    pub watch_h: Spells,
    /// Charge of its battery when the span begins.
    pub start_share: f64,
    /// Charge of its battery after each step.
    pub charge_share: Vec<f64>,
    /// Whether it was off the air at any moment of each step.
    pub off: Vec<bool>,
    /// When it was first off the air, h.
    pub first_off_h: Option<f64>,
}

/// A pack in it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PackLine {
    /// Its name.
    pub name: String,
    /// Charge when the span begins.
    pub start_share: f64,
    /// Charge after each step; empty when its owner did not come.
    pub charge_share: Vec<f64>,
    /// Where it was in each step.
    pub place: Vec<PackPlace>,
}

/// Where a pack is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PackPlace {
    /// In the station of this name.
    Station(String),
    /// On the charging point.
    Charging,
    /// Beside it.
    Standing,
    /// On its way.
    Carried,
    /// Not there.
    Absent,
}

/// A swap.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SwapLine {
    /// When, elapsed hours.
    pub at_h: f64,
    /// Station.
    pub station: String,
    /// The pack that was taken off.
    pub off: String,
    /// Its charge.
    pub off_share: f64,
    /// The one that was put on.
    pub on: String,
    /// Its charge.
    pub on_share: f64,
}

/// A trial to look at.
#[must_use]
#[allow(clippy::cast_precision_loss)]
pub fn timeline(good: &GoodClub, club: &ClubPlan, trial: u64, called: &str) -> ClubTimeline {
    let (outcome, record) = club_outcome(club, trial);
    let (_, step_h) = club.span();
    let first = good.stations.first().map(|it| &it.scenario);
    let span = first.and_then(Span::of);
    let hours = span.as_ref().map_or(0.0, Span::hours);
    let name = |at: usize| club.stations[at].name.clone();
    let stations =
        good.stations.iter().zip(&club.stations).enumerate().map(|(at, (it, part))| StationLine {
            name: it.name.clone(),
            came: outcome.came[at],
            takes_packs: part.takes_packs,
            watch_h: Span::of(&it.scenario)
                .map_or_else(Spells::new, |span| span.watch(&it.scenario)),
            start_share: outcome.stations[at].start_charge_share,
            charge_share: record.steps.iter().map(|step| step.stations[at]).collect(),
            off: record.steps.iter().map(|step| step.off[at]).collect(),
            first_off_h: outcome.stations[at].first_off_air_h,
        });
    let packs = club.packs.iter().enumerate().map(|(at, pack)| PackLine {
        name: pack.name.clone(),
        start_share: pack.charge_share,
        charge_share: record
            .steps
            .iter()
            .filter(|step| step.packs[at].0.is_some())
            .map(|step| step.packs[at].1)
            .collect(),
        place: record
            .steps
            .iter()
            .map(|step| match step.packs[at].0 {
                Some(Place::Station(station)) => PackPlace::Station(name(station)),
                Some(Place::Point) => PackPlace::Charging,
                Some(Place::Store { .. }) => PackPlace::Standing,
                Some(Place::Carried { .. }) => PackPlace::Carried,
                Some(Place::Absent) | None => PackPlace::Absent,
            })
            .collect(),
    });
    let swaps = outcome.swaps.iter().map(|swap| SwapLine {
        at_h: swap.step as f64 * step_h,
        station: name(swap.station),
        off: club.packs[swap.off.0].name.clone(),
        off_share: swap.off.1,
        on: club.packs[swap.on.0].name.clone(),
        on_share: swap.on.1,
    });
    let members = good.club.members.keys().zip(&outcome.members);
    let point = good.point.as_ref().map(|it| &it.scenario);
    let allowed = point.and_then(|it| Span::of(it).map(|span| span.engine_allowed(it)));
    let plan = &club.stations[0].part.prepared.plan;
    ClubTimeline {
        title: good.club.title.clone(),
        invented: good.club.notes.as_deref().and_then(invented).is_some(),
        called: called.to_owned(),
        trial,
        start: span.as_ref().map(|it| it.local(0)),
        hours,
        step_h,
        nights_h: crate::decide::odds::subject::nights(plan),
        stations: stations.collect(),
        packs: packs.collect(),
        swaps: swaps.collect(),
        absent: members.filter(|(_, came)| !**came).map(|(name, _)| name.clone()).collect(),
        has_point: club.point.is_some(),
        engine_allowed_h: allowed.unwrap_or_default(),
        generator_h: record.steps.iter().map(|step| step.generator_h).collect(),
        fuel_l: outcome.engine_fuel_l,
    }
}
