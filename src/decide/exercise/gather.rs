//! Counts over the trials of a club, in whole numbers.

use crate::chance::ChanceProblem;
use crate::chance::merge::{EnergySum, Histogram, Ranked, Tally, TimeSum};
use crate::decide::odds::answers::{Answers, CHARGE_UNITS, FuelSum};
use crate::decide::odds::subject::Shape;
use crate::simulate::trials::Gather as _;
use crate::simulate::trials::club::{ClubOutcome, ClubPlan};
use crate::station::battery::FULL_AT_REST_SHARE;

/// Bins of the volts: a hundredth of a rated volt at 12.8 V and finer than a meter reads.
const VOLT_BINS: usize = 600;

/// What was gathered of one station.
pub struct StationGather {
    /// Of the trials in which it was there.
    pub answers: Answers,
    /// Trials in which it was not.
    pub absent: u64,
    /// Trials in which it was there and never off the air, and the others.
    pub ready: Tally,
    /// Trials in which it was the first off the air, by the minute.
    pub first_out_min: Ranked,
    /// Dark while swapping.
    pub handover_h: TimeSum,
    /// Its swaps.
    pub swaps: Ranked,
    /// Volts while receiving, at the instants of [`Shape::columns`].
    pub volts: Vec<Histogram>,
    /// The current while receiving at these instants, A.
    receiving_a: Vec<f64>,
}

/// What was gathered of a club.
pub struct ClubGather<'a> {
    club: &'a ClubPlan,
    shape: Shape,
    /// Trials seen.
    pub trials: u64,
    /// Trials in which the club was up all the time, and the others.
    pub up: Tally,
    /// Trials by the minute in which the club was first down.
    pub first_down_min: Ranked,
    /// Hours down.
    pub down_h: TimeSum,
    /// The stations.
    pub stations: Vec<StationGather>,
    /// Trials in which each member came.
    pub members: Vec<u64>,
    /// Generator hours, minutes.
    pub engine_min: Ranked,
    /// Hours of the generator.
    pub generator_h: TimeSum,
    /// Fuel of the generator.
    pub fuel_l: FuelSum,
    /// Fuel, millilitres.
    pub fuel_ml: Ranked,
    /// Put into packs.
    pub point_wh: EnergySum,
    /// Swaps of all.
    pub swaps: Ranked,
    /// Looks at a low station for which no spare was charged.
    pub waits: Ranked,
    /// Lowest charge of any station.
    pub lowest: Ranked,
    /// The worst trial: hours down, energy unserved, number.
    pub worst: Option<(i64, i64, u64)>,
    /// Values that could not be counted; a fault to report.
    pub left_out: u64,
}

impl<'a> ClubGather<'a> {
    /// Nothing yet.
    ///
    /// # Errors
    /// When nothing can be gathered of such a span.
    pub fn empty(club: &'a ClubPlan, shapes: &[Shape]) -> Result<Self, ChanceProblem> {
        let none = Shape { steps: 0, step_h: 1.0, tiers: 1 };
        let shape = shapes.first().copied().unwrap_or(none);
        let mut stations = Vec::new();
        for (station, shape) in club.stations.iter().zip(shapes) {
            let plan = &station.part.prepared.plan;
            let (low, high) = (plan.battery.nominal_v * 0.7, plan.battery.nominal_v * 1.25);
            let columns: Vec<usize> = shape.columns().collect();
            let receiving_a =
                columns.iter().map(|steps| station.part.receiving_a(*steps)).collect();
            let volts: Result<Vec<Histogram>, ChanceProblem> =
                columns.iter().map(|_| Histogram::new(low, high, VOLT_BINS)).collect();
            stations.push(StationGather {
                answers: Answers::empty(*shape)?,
                absent: 0,
                ready: Tally::default(),
                first_out_min: Ranked::default(),
                handover_h: TimeSum::default(),
                swaps: Ranked::default(),
                volts: volts?,
                receiving_a,
            });
        }
        Ok(Self {
            club,
            shape,
            trials: 0,
            up: Tally::default(),
            first_down_min: Ranked::default(),
            down_h: TimeSum::default(),
            stations,
            members: vec![0; club.comes_chance.len()],
            engine_min: Ranked::default(),
            generator_h: TimeSum::default(),
            fuel_l: FuelSum::default(),
            fuel_ml: Ranked::default(),
            point_wh: EnergySum::default(),
            swaps: Ranked::default(),
            waits: Ranked::default(),
            lowest: Ranked::default(),
            worst: None,
            left_out: 0,
        })
    }

    /// One trial; they come in their order.
    pub fn trial(&mut self, outcome: &ClubOutcome) {
        if self.count(outcome).is_err() {
            self.left_out += 1;
        }
    }

    #[allow(clippy::cast_possible_truncation)]
    fn count(&mut self, outcome: &ClubOutcome) -> Result<(), ChanceProblem> {
        let trial = outcome.trial;
        let minutes = |h: f64| (h * 60.0).round() as i64;
        self.trials += 1;
        self.up.count(outcome.first_down_h.is_none());
        self.down_h.add(outcome.down_h)?;
        if let Some(first_h) = outcome.first_down_h {
            self.first_down_min.add(minutes(first_h), trial);
        }
        for (count, came) in self.members.iter_mut().zip(&outcome.members) {
            *count += u64::from(*came);
        }
        self.engine_min.add(minutes(outcome.generator_h), trial);
        self.generator_h.add(outcome.generator_h)?;
        self.fuel_l.add(outcome.engine_fuel_l)?;
        self.fuel_ml.add((outcome.engine_fuel_l * 1000.0).round() as i64, trial);
        self.point_wh.add(outcome.point_wh)?;
        self.swaps.add(outcome.swaps.len() as i64, trial);
        self.waits.add(i64::from(outcome.waits), trial);
        let mut unserved_uwh = 0;
        let mut lowest = 1.0_f64;
        for (at, gather) in self.stations.iter_mut().enumerate() {
            if !outcome.came[at] {
                gather.absent += 1;
                gather.ready.count(false);
                continue;
            }
            let station = &outcome.stations[at];
            gather.answers.trial(station);
            gather.ready.count(station.first_off_air_h.is_none());
            gather.handover_h.add(outcome.handover_h[at])?;
            let swaps = outcome.swaps.iter().filter(|it| it.station == at).count();
            gather.swaps.add(swaps as i64, trial);
            unserved_uwh += EnergySum::units_of(station.unserved_wh)?;
            lowest = lowest.min(station.lowest_charge_share);
            let battery = &self.club.stations[at].part.prepared.plan.battery;
            let mut columns = self.shape.columns();
            for (volts, receiving_a) in gather.volts.iter_mut().zip(&gather.receiving_a) {
                let steps = columns.next().unwrap_or(0);
                let at_hand = match steps.checked_sub(1) {
                    Some(step) => outcome.at_hand_share[at].get(step).copied(),
                    None => Some(station.start_charge_share),
                };
                if let Some(at_hand) = at_hand {
                    // What a full battery holds above that is gone within minutes off the charger.
                    let at_rest = at_hand.min(FULL_AT_REST_SHARE);
                    volts.add(battery.terminal_v(at_rest, -receiving_a))?;
                }
            }
        }
        if let Some((at, first_h)) = outcome.first_out {
            self.stations[at].first_out_min.add(minutes(first_h), trial);
        }
        self.lowest.add((lowest * CHARGE_UNITS).round() as i64, trial);
        let down = minutes(outcome.down_h);
        let key = (-down, -unserved_uwh, trial);
        if self.worst.is_none_or(|worst| key < worst) {
            self.worst = Some(key);
        }
        Ok(())
    }
}
