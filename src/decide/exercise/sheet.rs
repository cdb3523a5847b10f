//! What one station takes along on paper: its plan, and what the meter should show hour by hour.
//!
//! Volts are those while receiving, with panels and chargers off for a minute; ampere-hours what is
//! left in the battery. The band holds nine of ten trials in which the station was there.

use serde::Serialize;

use super::times::{Span, inside};
use crate::chance::merge::Histogram;
use crate::decide::cautions::{Caution, of_club_station};
use crate::decide::odds::Odds;
use crate::plan::club::GoodClub;
use crate::scenario::battery::Battery;
use crate::scenario::club::Swap;
use crate::scenario::schedule::{Attended, Disconnect};
use crate::simulate::trials::club::ClubPlan;
use crate::station::battery::register::Holds;

/// The sheet of a station.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sheet {
    /// The station.
    pub station: String,
    /// Title of the club.
    pub title: String,
    /// What its author wrote about it.
    pub notes: Option<String>,
    /// Whose it is.
    pub owner: Option<String>,
    /// The pack that stands in it at the beginning.
    pub pack: Option<String>,
    /// Whether the battery's volts say little (lithium iron phosphate between its ends).
    pub volts_say_little: bool,
    /// What the battery gives from full, aged, Ah; lead-acid when drawn slowly.
    pub capacity_ah: f64,
    /// What is told of it beside that.
    pub holds: Holds,
    /// Its watches, `Saturday 12:00 to 18:00`.
    pub watches: Vec<(String, String)>,
    /// Whether it is on watch all the time.
    pub always_on_watch: bool,
    /// What it asks for off watch; empty for nothing.
    pub off_watch: Option<String>,
    /// Tiers, the fullest first: name, loads, charge below which the next begins.
    pub tiers: Vec<SheetTier>,
    /// What its author says of where it stands: the first sentence of notes that begin with
    /// `Invented`.
    pub invented: Option<String>,
    /// Whether anybody is ever there.
    pub attended: bool,
    /// When its pack is swapped.
    #[serde(skip)]
    pub swap: Option<Swap>,
    /// The disconnect.
    #[serde(skip)]
    pub disconnect: Option<Disconnect>,
    /// In how many trials of how many it was there and on the air all the time.
    pub ready: (u64, u64),
    /// What can hurt somebody at this station.
    pub cautions: Vec<Caution>,
    /// Hour by hour.
    pub rows: Vec<SheetRow>,
}

/// A tier.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SheetTier {
    /// Its name.
    pub name: String,
    /// What is on.
    pub loads: Vec<String>,
    /// Charge below which the next begins.
    pub down_below_share: Option<f64>,
}

/// One instant.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SheetRow {
    /// Elapsed hours.
    pub hour: f64,
    /// Local time.
    pub at: chrono::DateTime<chrono::FixedOffset>,
    /// Whether it is on watch from now on.
    pub on_watch: bool,
    /// Ampere-hours left: 5 % of trials have this or less.
    pub left_p05_ah: f64,
    /// Half.
    pub left_p50_ah: f64,
    /// 95 %.
    pub left_p95_ah: f64,
    /// Volts while receiving: 5 %.
    pub receiving_p05_v: f64,
    /// Half.
    pub receiving_p50_v: f64,
    /// 95 %.
    pub receiving_p95_v: f64,
}

/// The sheet of a station.
#[must_use]
#[allow(clippy::cast_possible_truncation)]
pub fn sheet(
    good: &GoodClub,
    club: &ClubPlan,
    at: usize,
    odds: &Odds,
    volts: &[Histogram],
) -> Sheet {
    let composed = &good.stations[at];
    let scenario = &composed.scenario;
    let station = good.club.stations.get(&composed.name);
    let capacity_ah = club.stations[at].part.prepared.plan.heads.capacity_ah;
    let span = Span::of(scenario);
    let watch_h = span.as_ref().map(|it| it.watch(scenario)).unwrap_or_default();
    let local = |h: f64| span.as_ref().map(|it| it.local((h * 60.0).round() as i64));
    let rows = odds.bands.iter().zip(volts).filter_map(|(band, volts)| {
        let v = |share: f64| volts.quantile(share).map_or(f64::NAN, |it| it.value);
        Some(SheetRow {
            hour: band.hour,
            at: local(band.hour)?,
            on_watch: inside(&watch_h, band.hour),
            left_p05_ah: band.charge_p05_share * capacity_ah,
            left_p50_ah: band.charge_p50_share * capacity_ah,
            left_p95_ah: band.charge_p95_share * capacity_ah,
            receiving_p05_v: v(0.05),
            receiving_p50_v: v(0.5),
            receiving_p95_v: v(0.95),
        })
    });
    let words = |h: f64| local(h).map_or(String::new(), |at| at.format("%A %H:%M").to_string());
    // The day of the end only where it is another one.
    let to_words = |from: f64, to: f64| match (local(from), local(to)) {
        (Some(from), Some(to)) if from.date_naive() == to.date_naive() => {
            to.format("%H:%M").to_string()
        }
        _ => words(to),
    };
    let watches = watch_h.iter().map(|(from, to)| (words(*from), to_words(*from, *to)));
    let down = scenario.shedding.as_ref().map(|it| &it.down_below_share);
    let tiers = scenario.tiers.iter().enumerate().map(|(place, tier)| SheetTier {
        name: tier.name.clone(),
        loads: tier.loads.keys().cloned().collect(),
        down_below_share: down.and_then(|it| it.get(place)).copied(),
    });
    let packs = good.club.packs.iter().flat_map(|packs| &packs.each);
    let mine = |pack: &&crate::scenario::club::ClubPack| {
        pack.at.as_deref() == Some(composed.name.as_str())
    };
    let point = good.point.as_ref().map(|it| &it.scenario);
    let carried = good.club.packs.iter().filter(|_| composed.takes_packs);
    let masses_kg: Vec<Option<f64>> =
        carried.flat_map(|packs| packs.each.values().map(|pack| pack.mass_kg)).collect();
    // Where packs are not carried to a point, nobody of this station goes there.
    let point = point.filter(|_| composed.takes_packs);
    let stayed = odds.trials.saturating_sub(odds.failures);
    Sheet {
        station: composed.name.clone(),
        title: good.club.title.clone(),
        notes: station.and_then(|it| it.notes.clone()),
        owner: station.and_then(|it| it.owner.clone()),
        pack: packs.into_iter().find(|(_, pack)| mine(pack)).map(|(name, _)| name.clone()),
        volts_say_little: matches!(scenario.battery, Battery::LithiumIronPhosphate(_)),
        capacity_ah,
        holds: club.stations[at].part.prepared.plan.heads.holds,
        watches: watches.collect(),
        always_on_watch: scenario.watch.is_none(),
        off_watch: scenario.watch.as_ref().and_then(|it| match &it.off_watch {
            crate::scenario::watch::OffWatch::Off => None,
            crate::scenario::watch::OffWatch::Tier(name) => Some(name.clone()),
        }),
        tiers: tiers.collect(),
        invented: good.club.notes.as_deref().and_then(invented),
        attended: scenario.attended != Attended::Never,
        swap: station.and_then(|it| it.swap.clone()),
        disconnect: scenario.disconnect.clone(),
        ready: (stayed, odds.trials),
        cautions: of_club_station(scenario, &masses_kg, point),
        rows: rows.collect(),
    }
}

/// The first sentence of notes that mark what they are next to as invented.
#[must_use]
pub fn invented(notes: &str) -> Option<String> {
    let notes = notes.trim();
    let first = notes.split_once(". ").map_or(notes, |(first, _)| first);
    let marked = first.to_lowercase().starts_with("invented");
    marked.then(|| format!("{}.", first.trim_end_matches('.')))
}
