//! One trial of a club.
//!
//! Between two steps, in this order: packs that were carried arrive; the charging point lets a charged
//! pack go and takes the next; on the hour, in attended hours, a station whose charge is low gets
//! the fullest spare, the emptiest station first. Then every station goes through the step, the
//! charging point too while a pack is on it, and packs that stand or are carried.

mod hauling;

use hauling::fullest;

use super::super::book::OffAir;
use super::super::company::Company;
use super::super::drawn::Drawn;
use super::super::engine::Leg;
use super::super::meeting::Room;
use super::super::outcome::Outcome;
use super::super::walk::{Nothing, Walk};
use super::packs::{BatteryState, Pack, Place};
use super::plan::{ClubPlan, Part, PointPlan};
use crate::chance::draw::{Draw, Purpose};
use crate::numbers::lane::Single;
use crate::plan::{Plan, Slice};
use crate::simulate::phase::{Book, Phase};

/// What one trial of a club came to over the span.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ClubOutcome {
    /// Number of the trial.
    pub trial: u64,
    /// Whether each member came.
    pub members: Vec<bool>,
    /// Whether each station was there.
    pub came: Vec<bool>,
    /// What each station came to; of one that was not there nothing.
    pub stations: Vec<Outcome>,
    /// Fill of the well at hand (the charge but for lead-acid) of each station after each step.
    pub at_hand_share: Vec<Vec<f64>>,
    /// Hours of each station dark while packs were swapped, that do not count as off the air.
    pub handover_h: Vec<f64>,
    /// Swaps in their order.
    pub swaps: Vec<SwapDone>,
    /// The station that was first off the air, and when, h.
    pub first_out: Option<(usize, f64)>,
    /// When the club was first down, h: the beginning of the step.
    pub first_down_h: Option<f64>,
    /// Hours in which it was, whole steps.
    pub down_h: f64,
    /// Hours in which the generator of the charging point ran.
    pub generator_h: f64,
    /// What it burnt, litres.
    pub engine_fuel_l: f64,
    /// Energy put into packs there, Wh.
    pub point_wh: f64,
    /// Mains energy taken there, Wh.
    pub point_plug_wh: f64,
    /// Whether the charging point's generator would start.
    pub point_engine_starts: bool,
    /// Steps in which a station waited in vain: low, and no spare was charged.
    pub waits: u32,
}

/// A pack was swapped.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SwapDone {
    /// When, steps since the span's beginning.
    pub step: usize,
    /// In which station.
    pub station: usize,
    /// The pack that was taken off, with its charge.
    pub off: (usize, f64),
    /// The one that was put on, with its charge.
    pub on: (usize, f64),
}

/// What happened step by step.
#[derive(Debug, Clone, Default)]
pub struct Record {
    /// Step by step.
    pub steps: Vec<StepRecord>,
    /// Batteries put on: station (the charging point is beyond the last), step, battery, handover h.
    pub(super) put_on: Vec<(usize, usize, BatteryState, f64)>,
    /// Charge with which a station begins that takes another pack than its own.
    pub(super) begins: Vec<Option<f64>>,
    /// Steps in which a pack was on the charging point.
    pub(super) charging: Vec<usize>,
}

/// One step.
#[derive(Debug, Clone, Default)]
pub struct StepRecord {
    /// Where each pack was during the step, and its charge at its end.
    pub packs: Vec<(Option<Place>, f64)>,
    /// Charge of each station's battery at its end; NaN where the station was not there.
    pub stations: Vec<f64>,
    /// Whether each station was off the air at any moment of it.
    pub off: Vec<bool>,
    /// Hours in which the generator ran.
    pub generator_h: f64,
}

/// What a thread keeps from trial to trial.
#[derive(Default)]
pub(super) struct Buffers {
    stations: Vec<Kept>,
    point: Kept,
    shelf: Kept,
}

/// What is kept of one station.
#[derive(Default)]
struct Kept {
    drawn: [Drawn; 1],
    room: Room,
}

/// The outcome of one trial, and what happened in it.
#[must_use]
pub fn club_outcome(club: &ClubPlan, trial: u64) -> (ClubOutcome, Record) {
    let mut record = Record::default();
    let outcome = run_trial(club, trial, &mut Buffers::default(), Some(&mut record));
    (outcome, record)
}

fn draw(part: &Part, trial: u64, drawn: &mut Drawn) {
    drawn.draw(&part.prepared, trial, part.prepared.way_of(trial), false);
}

fn walk<'a>(part: &'a Part, trial: u64, kept: &'a mut Kept) -> Walk<'a, Single> {
    let way = part.prepared.way_of(trial);
    let leg = Leg::of_trial(&part.prepared, way);
    let (terms, company) = (&part.terms[way.variant], Company::all(&kept.drawn));
    Walk::new(Single, &part.prepared, terms, leg, company, &mut kept.room, false)
}

/// Whether each member comes.
fn members(club: &ClubPlan, trial: u64) -> Vec<bool> {
    #[allow(clippy::cast_possible_truncation)]
    let comes = |(member, chance): (usize, &f64)| {
        let draw = Draw::new(club.seed, trial, 0, Purpose::Member).with_block(member as u16);
        draw.uniform() < *chance
    };
    club.comes_chance.iter().enumerate().map(comes).collect()
}

/// The charging point's generator starts, or not: a draw apart from that of a station's own.
fn engine_starts(point: &PointPlan, seed: u64, trial: u64) -> bool {
    let fails = point.part.prepared.engine_fails_chance;
    let draw = Draw::new(seed, trial, 0, Purpose::EngineStart).with_block(1);
    fails <= 0.0 || draw.uniform() >= fails
}

pub(super) fn run_trial(
    club: &ClubPlan,
    trial: u64,
    buffers: &mut Buffers,
    record: Option<&mut Record>,
) -> ClubOutcome {
    let members = members(club, trial);
    let here = |owner: Option<usize>| owner.is_none_or(|it| members.get(it) == Some(&true));
    buffers.stations.resize_with(club.stations.len(), Default::default);
    for (station, kept) in club.stations.iter().zip(&mut buffers.stations) {
        draw(&station.part, trial, &mut kept.drawn[0]);
    }
    if let Some(point) = &club.point {
        draw(&point.part, trial, &mut buffers.point.drawn[0]);
        buffers.point.drawn[0].engine_starts =
            here(point.generator_owner) && engine_starts(point, club.seed, trial);
    }
    if let Some(shelf) = &club.shelf {
        draw(shelf, trial, &mut buffers.shelf.drawn[0]);
    }
    let starts = buffers.point.drawn[0].engine_starts;
    let Buffers { stations: kept, point: kept_point, shelf: kept_shelf } = buffers;
    let mut stations: Vec<Option<Walk<'_, Single>>> = club
        .stations
        .iter()
        .zip(kept)
        .map(|(it, kept)| here(it.owner).then(|| walk(&it.part, trial, kept)))
        .collect();
    let shelf = club.shelf.as_ref().map(|it| walk(it, trial, kept_shelf));
    let (first_c, too_cold) =
        shelf.as_ref().map_or((20.0, false), |it| (it.state.battery_c, it.state.too_cold));
    let mut packs: Vec<Pack> = club
        .packs
        .iter()
        .map(|pack| {
            let place = match pack.at {
                _ if !here(pack.owner) => Place::Absent,
                Some(at) if stations[at].is_some() => Place::Station(at),
                _ => Place::Store { since: 0 },
            };
            Pack::new(place, pack.charge_share, first_c, too_cold)
        })
        .collect();
    let mut begins = vec![None; stations.len()];
    // A station whose pack did not come begins with the fullest spare, or not at all.
    for at in 0..stations.len() {
        if !club.stations[at].takes_packs
            || stations[at].is_none()
            || packs.iter().any(|pack| pack.place == Place::Station(at))
        {
            continue;
        }
        match fullest(&packs, 0.0) {
            Some(pack) => {
                packs[pack].place = Place::Station(at);
                begins[at] = Some(packs[pack].battery.charge);
                if let Some(walk) = &mut stations[at] {
                    walk.state.charge = packs[pack].battery.charge;
                    walk.state.at_hand = packs[pack].battery.charge;
                }
            }
            None => stations[at] = None,
        }
    }
    let point = club
        .point
        .as_ref()
        .filter(|it| here(it.owner))
        .map(|it| (it, walk(&it.part, trial, kept_point)));
    let mut record = record;
    if let Some(record) = &mut record {
        record.begins = begins;
    }
    let came: Vec<bool> = stations.iter().map(Option::is_some).collect();
    let count = stations.len();
    let outcome = ClubOutcome {
        trial,
        members,
        came,
        stations: vec![Outcome::default(); count],
        at_hand_share: vec![Vec::new(); count],
        handover_h: vec![0.0; count],
        point_engine_starts: starts,
        ..ClubOutcome::default()
    };
    let mut exercise =
        Exercise { club, stations, point, shelf, packs, on_point: None, outcome, record };
    exercise.run();
    exercise.tell()
}

/// A trial under way.
struct Exercise<'a, 'r> {
    club: &'a ClubPlan,
    stations: Vec<Option<Walk<'a, Single>>>,
    point: Option<(&'a PointPlan, Walk<'a, Single>)>,
    shelf: Option<Walk<'a, Single>>,
    packs: Vec<Pack>,
    /// The pack on the charging point.
    on_point: Option<usize>,
    outcome: ClubOutcome,
    record: Option<&'r mut Record>,
}

impl Exercise<'_, '_> {
    fn run(&mut self) {
        let of = |at: usize| &self.club.stations[at].part.prepared;
        let settling = of(0).settling_steps;
        let (span_steps, _) = self.club.span();
        let steps: Vec<usize> = (0..self.stations.len()).map(|at| of(at).steps()).collect();
        let all = steps.iter().copied().max().unwrap_or(0);
        for number in 0..all {
            let in_span = (settling..settling + span_steps).contains(&number);
            if in_span {
                self.span_step(number, number - settling);
                continue;
            }
            for (walk, steps) in self.stations.iter_mut().zip(&steps) {
                if let Some(walk) = walk.as_mut().filter(|_| number < *steps) {
                    walk.step(number, &mut Nothing);
                }
            }
            if let Some((_, walk)) = &mut self.point {
                walk.pass(number);
            }
        }
    }

    #[allow(clippy::cast_precision_loss)]
    fn span_step(&mut self, number: usize, over: usize) {
        let (_, step_h) = self.club.span();
        let began_h = over as f64 * step_h;
        let mut handovers = vec![None; self.stations.len()];
        self.arrive(over, &mut handovers);
        self.tend_point(over);
        self.send(number, over, &mut handovers);
        if let Some(record) = &mut self.record {
            record.steps.push(StepRecord {
                packs: self
                    .packs
                    .iter()
                    .map(|it| (Some(it.place).filter(|it| *it != Place::Absent), 0.0))
                    .collect(),
                ..StepRecord::default()
            });
        }
        let mut up = 0;
        for (at, handover_h) in handovers.iter().enumerate() {
            let Some(walk) = &mut self.stations[at] else {
                if let Some(step) = self.record.as_mut().and_then(|it| it.steps.last_mut()) {
                    step.stations.push(f64::NAN);
                    step.off.push(true);
                }
                continue;
            };
            let before: OffAir = walk.book().off_air();
            walk.step(number, &mut Nothing);
            if let Some(handover_h) = handover_h {
                self.outcome.handover_h[at] += walk.book().excuse(before, began_h, *handover_h);
            }
            let off = walk.book().off_air().is_more_than(&before);
            up += usize::from(!off);
            self.outcome.at_hand_share[at].push(walk.state.at_hand);
            if let Some(step) = self.record.as_mut().and_then(|it| it.steps.last_mut()) {
                step.stations.push(walk.state.charge);
                step.off.push(off);
            }
        }
        if up < self.club.needed {
            self.outcome.down_h += step_h;
            self.outcome.first_down_h.get_or_insert(began_h);
        }
        self.charge(number, over);
        self.rest(number);
        self.note_packs();
    }

    /// The charging point goes through the step while a pack is on it.
    fn charge(&mut self, number: usize, over: usize) {
        let Some((_, walk)) = &mut self.point else { return };
        if self.on_point.is_none() {
            walk.pass(number);
            return;
        }
        let mut turns = Turns::default();
        walk.step(number, &mut turns);
        self.outcome.generator_h += turns.generator_h;
        self.outcome.engine_fuel_l += turns.fuel_l;
        self.outcome.point_wh += turns.used_wh;
        if let Some(record) = &mut self.record {
            record.charging.push(over);
            if let Some(step) = record.steps.last_mut() {
                step.generator_h = turns.generator_h;
            }
        }
    }

    /// Packs that stand or are carried go through the step too.
    fn rest(&mut self, number: usize) {
        let Some(walk) = &mut self.shelf else { return };
        for pack in &mut self.packs {
            if matches!(pack.place, Place::Store { .. } | Place::Carried { .. }) {
                pack.battery.put_into(&mut walk.state);
                walk.step(number, &mut Nothing);
                pack.battery = BatteryState::of(&walk.state);
            }
        }
    }

    /// Where each pack was during the step stands already; its charge at its end comes now.
    fn note_packs(&mut self) {
        let Some(step) = self.record.as_mut().and_then(|it| it.steps.last_mut()) else { return };
        for (pack, (_, charge)) in self.packs.iter().zip(&mut step.packs) {
            *charge = match pack.place {
                Place::Station(at) => {
                    self.stations[at].as_ref().map_or(f64::NAN, |it| it.state.charge)
                }
                Place::Point => self.point.as_ref().map_or(f64::NAN, |(_, it)| it.state.charge),
                Place::Store { .. } | Place::Carried { .. } => pack.battery.charge,
                Place::Absent => f64::NAN,
            };
        }
    }

    /// Writes down what it came to.
    fn tell(self) -> ClubOutcome {
        let Self { club, mut stations, mut point, mut outcome, .. } = self;
        let trial = outcome.trial;
        for (at, walk) in stations.iter_mut().enumerate() {
            if let Some(walk) = walk {
                let into = &mut outcome.stations[at];
                walk.book().tell(&club.stations[at].part.prepared, 0, trial, into);
                if let Some(first_h) = into.first_off_air_h
                    && outcome.first_out.is_none_or(|(_, h)| first_h < h)
                {
                    outcome.first_out = Some((at, first_h));
                }
            }
        }
        if let Some((point, walk)) = &mut point {
            let mut there = Outcome::default();
            walk.book().tell(&point.part.prepared, 0, trial, &mut there);
            outcome.point_plug_wh = there.mains_plug_wh;
        }
        outcome
    }
}

/// What the charging point does in a step.
#[derive(Default)]
struct Turns {
    generator_h: f64,
    fuel_l: f64,
    used_wh: f64,
}

impl Book<f64> for Turns {
    fn phase(&mut self, _: &Plan, _: &Slice, phase: &Phase<f64>) {
        if phase.hours > 0.0 {
            self.generator_h += if phase.engine { phase.hours } else { 0.0 };
            self.fuel_l += phase.fuel_l;
            self.used_wh += phase.used_wh.iter().sum::<f64>();
        }
    }
}
