//! Counts and sums over trials, in whole numbers, so that parts join to the same bytes.
//!
//! Energies are summed in whole micro-watt-hours, fuel in microlitres, times in seconds. The charge
//! of each trial is counted in bins of half a percent at instants of the span. What must name a
//! trial is exact and still joins: the lowest charge is rounded to a hundred-thousandth and kept by
//! value, with the count and the first trial of each ([`Ranked`]), so the middle of all trials is
//! found from parts without having kept them all, and memory stays below 100,000 values; the worst
//! trial and the first that failed are the greatest and the least of their parts. Trust: exact for
//! values rounded so.

use serde::{Deserialize, Serialize};

use super::subject::Shape;
use crate::chance::ChanceProblem;
use crate::chance::merge::{EnergySum, Histogram, Ranked, Sum, Tally, TimeSum};
use crate::simulate::trials::{Cause, Gather, Outcome};

/// Litres, kept in whole microlitres.
pub type FuelSum = Sum<1_000_000>;

/// Bins of the charge.
const CHARGE_BINS: usize = 200;
/// Small units of the lowest charge.
pub const CHARGE_UNITS: f64 = 100_000.0;

/// How many trials failed, by the first reason that applies.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Causes {
    /// The generator was wanted but out of fuel, or failed to start.
    pub fuel: u64,
    /// Cold forbade charging or locked charge in the day before the first hour without power.
    pub cold: u64,
    /// Dark only while transmitting, the battery not being low.
    pub keying: u64,
    /// The charge was low when the span began.
    pub low_at_start: u64,
    /// A run of dark days.
    pub dark_run: u64,
}

impl Causes {
    /// The count of one of them.
    pub fn of(&mut self, cause: Cause) -> &mut u64 {
        match cause {
            Cause::Fuel => &mut self.fuel,
            Cause::Cold => &mut self.cold,
            Cause::Keying => &mut self.keying,
            Cause::LowAtStart => &mut self.low_at_start,
            Cause::DarkRun => &mut self.dark_run,
        }
    }

    /// Adds the counts of another.
    pub fn add(&mut self, more: &Self) {
        for (count, more) in [
            (&mut self.fuel, more.fuel),
            (&mut self.cold, more.cold),
            (&mut self.keying, more.keying),
            (&mut self.low_at_start, more.low_at_start),
            (&mut self.dark_run, more.dark_run),
        ] {
            *count = count.saturating_add(more);
        }
    }
}

/// The trial with the most unserved energy; of equal ones (such as all without any) that with the
/// lowest charge, of those the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Worst {
    /// Its unserved energy, micro-watt-hours.
    pub unserved_uwh: i64,
    /// Its lowest charge, hundred-thousandths.
    pub lowest_units: i64,
    /// Its number.
    pub trial: u64,
}

impl Worst {
    fn of_two(self, other: Self) -> Self {
        let key = |it: &Self| (std::cmp::Reverse(it.unserved_uwh), it.lowest_units, it.trial);
        if key(&other) < key(&self) { other } else { self }
    }
}

/// What has been gathered of some trials.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Answers {
    shape: Shape,
    /// Trials on the air for all hours, and those that were not.
    pub tally: Tally,
    /// Trials left out because they held a value that is no number of a station.
    pub left_out: u64,
    /// The first of them.
    pub first_left_out: Option<u64>,
    /// The tally of the same trials with every input as stated, when some are uncertain.
    pub as_stated: Option<Tally>,
    /// Why trials failed.
    pub causes: Causes,
    /// Dark time.
    pub no_power_h: TimeSum,
    /// Days with any unserved energy.
    pub days_with_loss: u64,
    /// Demand of the tiers in force.
    pub load_wh: EnergySum,
    /// Delivered.
    pub served_wh: EnergySum,
    /// Not delivered.
    pub unserved_wh: EnergySum,
    /// What the top tier would have drawn besides.
    pub shed_wh: EnergySum,
    /// Served energy by origin.
    pub origin_wh: [EnergySum; 5],
    /// Taken at the mains plug.
    pub mains_plug_wh: EnergySum,
    /// Fuel burnt.
    pub fuel_l: FuelSum,
    /// Time in each tier.
    pub tier_h: Vec<TimeSum>,
    /// First minute off the air of the trials that failed, whole minutes since the span's beginning.
    pub first_off_air_min: Ranked,
    /// Lowest charge of every trial, hundred-thousandths.
    pub lowest: Ranked,
    /// The same of those that failed.
    pub lowest_failed: Ranked,
    /// Minutes until charged again, rounded up, of the trials that were.
    pub recharge_min: Ranked,
    /// The worst trial.
    pub worst: Option<Worst>,
    /// The first trial that failed.
    pub first_failing: Option<u64>,
    /// Charge after each of [`Shape::columns`].
    pub charge: Vec<Histogram>,
}

impl Answers {
    /// Nothing gathered yet.
    ///
    /// # Errors
    /// When no span has this shape.
    pub fn empty(shape: Shape) -> Result<Self, ChanceProblem> {
        ChanceProblem::unless(shape.is_sound(), "the length of a step", shape.step_h, "0 to 24 h")?;
        let columns = shape.columns().count();
        Ok(Self {
            shape,
            tally: Tally::default(),
            left_out: 0,
            first_left_out: None,
            as_stated: None,
            causes: Causes::default(),
            no_power_h: TimeSum::default(),
            days_with_loss: 0,
            load_wh: EnergySum::default(),
            served_wh: EnergySum::default(),
            unserved_wh: EnergySum::default(),
            shed_wh: EnergySum::default(),
            origin_wh: [EnergySum::default(); 5],
            mains_plug_wh: EnergySum::default(),
            fuel_l: FuelSum::default(),
            tier_h: vec![TimeSum::default(); shape.tiers],
            first_off_air_min: Ranked::default(),
            lowest: Ranked::default(),
            lowest_failed: Ranked::default(),
            recharge_min: Ranked::default(),
            worst: None,
            first_failing: None,
            charge: vec![Histogram::new(0.0, 1.0, CHARGE_BINS)?; columns],
        })
    }

    /// The size of what is gathered.
    #[must_use]
    pub fn shape(&self) -> Shape {
        self.shape
    }

    /// All trials taken in, those left out too.
    #[must_use]
    pub fn trials_seen(&self) -> u64 {
        self.tally.trials().saturating_add(self.left_out)
    }

    /// Whether all parts speak of the same trials: what was read from a file may not.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        let trials = self.tally.trials();
        let failures = self.tally.failures();
        let causes = self.causes;
        let failed = [causes.fuel, causes.cold, causes.keying, causes.low_at_start]
            .into_iter()
            .fold(causes.dark_run, u64::saturating_add);
        let energies = [self.load_wh, self.served_wh, self.unserved_wh, self.shed_wh];
        let mut energies = energies.into_iter().chain(self.origin_wh).chain([self.mains_plug_wh]);
        let mut times = self.tier_h.iter().chain([&self.no_power_h]);
        let empty = Histogram::new(0.0, 1.0, CHARGE_BINS);
        self.shape.is_sound()
            && self.tier_h.len() == self.shape.tiers
            && self.charge.len() == self.shape.columns().count()
            && self.charge.iter().all(|bins| {
                let same = empty.clone().is_ok_and(|mut empty| empty.merge(bins).is_ok());
                same && bins.count() == trials
            })
            && energies.all(|sum| sum.count() == trials)
            && times.all(|sum| sum.count() == trials)
            && self.fuel_l.count() == trials
            && failed == failures
            && self.as_stated.is_none_or(|stated| stated.trials() == self.trials_seen())
            && self.first_off_air_min.count() == failures
            && self.lowest_failed.count() == failures
            && self.lowest.count() == trials
            && self.recharge_min.count() <= trials
            && self.worst.is_some() == (trials > 0)
            && self.first_failing.is_some() == (failures > 0)
            && self.first_left_out.is_some() == (self.left_out > 0)
    }

    /// Takes in a trial whose values are all sound.
    fn take(&mut self, outcome: &Outcome) -> Result<(), ChanceProblem> {
        let units = (outcome.lowest_charge_share * CHARGE_UNITS).round();
        #[allow(clippy::cast_possible_truncation)]
        let lowest_units = units as i64;
        self.tally.count(outcome.first_off_air_h.is_none());
        self.no_power_h.add(outcome.no_power_h)?;
        self.days_with_loss = self.days_with_loss.saturating_add(outcome.days_with_loss.into());
        self.load_wh.add(outcome.load_wh)?;
        self.served_wh.add(outcome.served_wh)?;
        self.unserved_wh.add(outcome.unserved_wh)?;
        self.shed_wh.add(outcome.shed_wh)?;
        for (sum, wh) in self.origin_wh.iter_mut().zip(outcome.origin_wh) {
            sum.add(wh)?;
        }
        self.mains_plug_wh.add(outcome.mains_plug_wh)?;
        self.fuel_l.add(outcome.fuel_l)?;
        for (sum, hours) in self.tier_h.iter_mut().zip(&outcome.tier_h) {
            sum.add(*hours)?;
        }
        if let Some(first_h) = outcome.first_off_air_h {
            let cause = self.causes.of(outcome.cause.unwrap_or(Cause::DarkRun));
            *cause = cause.saturating_add(1);
            // The minute in which it begins, within the span.
            let minute = TimeSum::units_of(first_h)?.div_euclid(60);
            let last = TimeSum::units_of(self.shape.hours())?.div_euclid(60) - 1;
            self.first_off_air_min.add(minute.clamp(0, last.max(0)), outcome.trial);
            self.lowest_failed.add(lowest_units, outcome.trial);
            self.first_failing = least(self.first_failing, Some(outcome.trial));
        }
        self.lowest.add(lowest_units, outcome.trial);
        if let Some(hours) = outcome.recharge_h {
            let minutes = -(-TimeSum::units_of(hours)?).div_euclid(60);
            self.recharge_min.add(minutes, outcome.trial);
        }
        let unserved_uwh = EnergySum::units_of(outcome.unserved_wh)?;
        let worst = Worst { unserved_uwh, lowest_units, trial: outcome.trial };
        self.worst = Some(self.worst.map_or(worst, |it| it.of_two(worst)));
        for (bins, steps) in self.charge.iter_mut().zip(self.shape.columns()) {
            let share = match steps {
                0 => Some(outcome.start_charge_share),
                steps => outcome.charge_share.get(steps - 1).copied(),
            };
            bins.add(share.unwrap_or(f64::NAN))?;
        }
        Ok(())
    }

    /// Adds another's trials.
    ///
    /// # Errors
    /// When they are of another shape, or too many together.
    pub fn merge(&mut self, other: &Self) -> Result<(), ChanceProblem> {
        let same = self.shape == other.shape
            && self.charge.len() == other.charge.len()
            && self.tier_h.len() == other.tier_h.len();
        let hours = other.shape.hours();
        ChanceProblem::unless(same, "the span of trials to be added", hours, "the same span")?;
        self.tally = self.tally.merged(other.tally)?;
        self.left_out = self.left_out.saturating_add(other.left_out);
        self.first_left_out = least(self.first_left_out, other.first_left_out);
        self.as_stated = match (self.as_stated, other.as_stated) {
            (Some(one), Some(two)) => Some(one.merged(two)?),
            _ => None,
        };
        self.causes.add(&other.causes);
        self.no_power_h = self.no_power_h.merged(other.no_power_h)?;
        self.days_with_loss = self.days_with_loss.saturating_add(other.days_with_loss);
        for (sum, more) in [
            (&mut self.load_wh, other.load_wh),
            (&mut self.served_wh, other.served_wh),
            (&mut self.unserved_wh, other.unserved_wh),
            (&mut self.shed_wh, other.shed_wh),
            (&mut self.mains_plug_wh, other.mains_plug_wh),
        ] {
            *sum = sum.merged(more)?;
        }
        for (sum, more) in self.origin_wh.iter_mut().zip(other.origin_wh) {
            *sum = sum.merged(more)?;
        }
        self.fuel_l = self.fuel_l.merged(other.fuel_l)?;
        for (sum, more) in self.tier_h.iter_mut().zip(&other.tier_h) {
            *sum = sum.merged(*more)?;
        }
        self.first_off_air_min.merge(&other.first_off_air_min);
        self.lowest.merge(&other.lowest);
        self.lowest_failed.merge(&other.lowest_failed);
        self.recharge_min.merge(&other.recharge_min);
        self.worst = match (self.worst, other.worst) {
            (Some(one), Some(two)) => Some(one.of_two(two)),
            (one, two) => one.or(two),
        };
        self.first_failing = least(self.first_failing, other.first_failing);
        for (bins, more) in self.charge.iter_mut().zip(&other.charge) {
            bins.merge(more)?;
        }
        Ok(())
    }

    /// Whether every value of a trial can be taken in.
    fn can_take(&self, outcome: &Outcome) -> bool {
        let energies = [
            outcome.load_wh,
            outcome.served_wh,
            outcome.unserved_wh,
            outcome.shed_wh,
            outcome.mains_plug_wh,
            outcome.fuel_l,
        ];
        let energies = energies.into_iter().chain(outcome.origin_wh);
        let times = [Some(outcome.no_power_h), outcome.first_off_air_h, outcome.recharge_h];
        let times = times.into_iter().flatten().chain(outcome.tier_h.iter().copied());
        let ends = [outcome.lowest_charge_share, outcome.start_charge_share];
        let mut shares = ends.iter().chain(&outcome.charge_share);
        outcome.charge_share.len() == self.shape.steps
            && outcome.tier_h.len() == self.shape.tiers
            && energies.map(EnergySum::units_of).all(|units| units.is_ok())
            && times.map(TimeSum::units_of).all(|units| units.is_ok_and(|units| units >= 0))
            && shares.all(|share| share.abs() < 1000.0)
    }
}

impl Gather for Answers {
    fn trial(&mut self, outcome: &Outcome) {
        // All is looked at before anything is added: a trial is in whole or not at all. What can
        // still go wrong is a number of trials that the command line refuses.
        if !self.can_take(outcome) || self.take(outcome).is_err() {
            self.left_out = self.left_out.saturating_add(1);
            self.first_left_out = least(self.first_left_out, Some(outcome.trial));
        }
    }

    fn join(&mut self, later: Self) {
        // Parts of one run have one shape.
        if self.merge(&later).is_err() {
            self.left_out = self.left_out.saturating_add(later.trials_seen());
        }
    }
}

fn least(one: Option<u64>, two: Option<u64>) -> Option<u64> {
    one.into_iter().chain(two).min()
}
