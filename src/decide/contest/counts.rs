//! Counts and sums over the trials of one station, and how each trial went.
//!
//! All are whole numbers, so they do not depend on how the trials were split. What the charge of the
//! hours says besides: hours that end above 90 % of charge, and equivalent full cycles, the sum of
//! all falls of the charge from hour to hour (what goes in and out within one step is not seen).
//! Trust: exact for values rounded so.

use crate::chance::ChanceProblem;
use crate::chance::intervals::paired::Paired;
use crate::chance::merge::{EnergySum, Ranked, Sum, Tally, TimeSum};
use crate::decide::odds::answers::{CHARGE_UNITS, Causes, FuelSum};
use crate::simulate::trials::{Cause, Gather, Outcome};

/// Charge above which lithium cells age faster while they wait (common practice, no source).
pub const HIGH_SHARE: f64 = 0.9;

/// Sum of shares of the capacity, kept in millionths.
pub type ShareSum = Sum<1_000_000>;

/// How one trial went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// On the air all along.
    Lasted,
    /// Off the air at some time.
    Fell,
    /// It held a value that is no number of a station: a fault to report.
    Unknown,
}

/// What was gathered of the trials of one station.
#[derive(Debug, Clone)]
pub struct Counts {
    step_h: f64,
    /// How each trial went, in their order.
    pub fates: Vec<Fate>,
    /// Trials on the air for all hours, and those that were not.
    pub tally: Tally,
    /// Why trials failed.
    pub causes: Causes,
    /// First minute off the air of those that failed.
    pub first_off_air_min: Ranked,
    /// Charge when the span began, hundred-thousandths.
    pub start: Ranked,
    /// Lowest charge, likewise.
    pub lowest: Ranked,
    /// Dark time.
    pub no_power_h: TimeSum,
    /// Not delivered.
    pub unserved_wh: EnergySum,
    /// Time in each tier.
    pub tier_h: Vec<TimeSum>,
    /// Taken at the mains plug.
    pub mains_plug_wh: EnergySum,
    /// Fuel burnt.
    pub fuel_l: FuelSum,
    /// Hours with supply, engine or vehicle live.
    pub noise_h: TimeSum,
    /// Hours of storms with the supply switched on.
    pub plugged_in_storm_h: TimeSum,
    /// Hours that ended above [`HIGH_SHARE`].
    pub high_h: TimeSum,
    /// Equivalent full cycles.
    pub cycles: ShareSum,
}

impl Counts {
    /// Nothing yet, of a station with so many tiers, in steps of this length.
    #[must_use]
    pub fn empty(tiers: usize, step_h: f64) -> Self {
        Self {
            step_h,
            fates: Vec::new(),
            tally: Tally::default(),
            causes: Causes::default(),
            first_off_air_min: Ranked::default(),
            start: Ranked::default(),
            lowest: Ranked::default(),
            no_power_h: TimeSum::default(),
            unserved_wh: EnergySum::default(),
            tier_h: vec![TimeSum::default(); tiers],
            mains_plug_wh: EnergySum::default(),
            fuel_l: FuelSum::default(),
            noise_h: TimeSum::default(),
            plugged_in_storm_h: TimeSum::default(),
            high_h: TimeSum::default(),
            cycles: ShareSum::default(),
        }
    }

    /// Hours of a mean trial off the air: without power, and in tiers that do not count as on the air.
    #[must_use]
    pub fn off_air_h(&self, tiers_on_air: &[bool]) -> f64 {
        let silent = self.tier_h.iter().zip(tiers_on_air).filter(|(_, on_air)| !**on_air);
        self.no_power_h.mean() + silent.map(|(it, _)| it.mean()).sum::<f64>()
    }

    /// Trials of which nothing is known.
    #[must_use]
    pub fn left_out(&self) -> usize {
        self.fates.iter().filter(|fate| **fate == Fate::Unknown).count()
    }

    /// How the same trials went for this station, A, and another, B. Trials that one of them did not
    /// run are left out.
    #[must_use]
    pub fn against(&self, other: &Self) -> Paired {
        let mut paired = Paired::default();
        for (a, b) in self.fates.iter().zip(&other.fates) {
            if *a != Fate::Unknown && *b != Fate::Unknown {
                paired.count(*a == Fate::Lasted, *b == Fate::Lasted);
            }
        }
        paired
    }

    /// The first trial that this station carries and another does not.
    #[must_use]
    pub fn first_alone(&self, other: &Self) -> Option<u64> {
        let alone = |(mine, its): (&Fate, &Fate)| *mine == Fate::Lasted && *its == Fate::Fell;
        self.fates.iter().zip(&other.fates).position(alone).map(|at| at as u64)
    }

    fn take(&mut self, outcome: &Outcome) -> Result<(), ChanceProblem> {
        let lasted = outcome.first_off_air_h.is_none();
        #[allow(clippy::cast_possible_truncation)]
        let units = |share: f64| (share * CHARGE_UNITS).round() as i64;
        let (mut high_h, mut cycles, mut before) = (0.0, 0.0, outcome.start_charge_share);
        for share in &outcome.charge_share {
            high_h += if *share > HIGH_SHARE { self.step_h } else { 0.0 };
            cycles += (before - share).max(0.0);
            before = *share;
        }
        self.no_power_h.add(outcome.no_power_h)?;
        self.unserved_wh.add(outcome.unserved_wh)?;
        for (sum, hours) in self.tier_h.iter_mut().zip(&outcome.tier_h) {
            sum.add(*hours)?;
        }
        self.mains_plug_wh.add(outcome.mains_plug_wh)?;
        self.fuel_l.add(outcome.fuel_l)?;
        self.noise_h.add(outcome.noise_h)?;
        self.plugged_in_storm_h.add(outcome.plugged_in_storm_h)?;
        self.high_h.add(high_h)?;
        self.cycles.add(cycles)?;
        self.start.add(units(outcome.start_charge_share), outcome.trial);
        self.lowest.add(units(outcome.lowest_charge_share), outcome.trial);
        if let Some(first_h) = outcome.first_off_air_h {
            let cause = self.causes.of(outcome.cause.unwrap_or(Cause::DarkRun));
            *cause = cause.saturating_add(1);
            // The minute in which it begins, within the span.
            let minute = TimeSum::units_of(first_h)?.div_euclid(60);
            #[allow(clippy::cast_precision_loss)]
            let hours = self.step_h * outcome.charge_share.len() as f64;
            let last = TimeSum::units_of(hours)?.div_euclid(60) - 1;
            self.first_off_air_min.add(minute.clamp(0, last.max(0)), outcome.trial);
        }
        self.tally.count(lasted);
        self.fates.push(if lasted { Fate::Lasted } else { Fate::Fell });
        Ok(())
    }

    fn add(&mut self, more: Self) -> Result<(), ChanceProblem> {
        self.tally = self.tally.merged(more.tally)?;
        self.no_power_h = self.no_power_h.merged(more.no_power_h)?;
        self.unserved_wh = self.unserved_wh.merged(more.unserved_wh)?;
        for (sum, more) in self.tier_h.iter_mut().zip(&more.tier_h) {
            *sum = sum.merged(*more)?;
        }
        self.mains_plug_wh = self.mains_plug_wh.merged(more.mains_plug_wh)?;
        self.fuel_l = self.fuel_l.merged(more.fuel_l)?;
        self.noise_h = self.noise_h.merged(more.noise_h)?;
        self.plugged_in_storm_h = self.plugged_in_storm_h.merged(more.plugged_in_storm_h)?;
        self.high_h = self.high_h.merged(more.high_h)?;
        self.cycles = self.cycles.merged(more.cycles)?;
        self.causes.add(&more.causes);
        self.first_off_air_min.merge(&more.first_off_air_min);
        self.start.merge(&more.start);
        self.lowest.merge(&more.lowest);
        self.fates.extend(more.fates);
        Ok(())
    }
}

/// Whether every value of a trial is a number that can be summed.
fn is_sound(outcome: &Outcome) -> bool {
    let values = [
        outcome.no_power_h,
        outcome.unserved_wh,
        outcome.mains_plug_wh,
        outcome.fuel_l,
        outcome.noise_h,
        outcome.plugged_in_storm_h,
        outcome.first_off_air_h.unwrap_or(0.0),
    ];
    let shares = [outcome.start_charge_share, outcome.lowest_charge_share];
    values.iter().chain(&outcome.tier_h).all(|value| (0.0..1e8).contains(value))
        && shares.iter().chain(&outcome.charge_share).all(|share| share.abs() < 1000.0)
}

impl Gather for Counts {
    fn trial(&mut self, outcome: &Outcome) {
        // All is looked at before anything is added: a trial is in whole or not at all.
        if !is_sound(outcome) || self.take(outcome).is_err() {
            self.fates.push(Fate::Unknown);
        }
    }

    fn join(&mut self, later: Self) {
        // Sums hold 2^30 trials, more than the command line allows.
        let fates = later.fates.len();
        if self.add(later).is_err() {
            self.fates.extend(std::iter::repeat_n(Fate::Unknown, fates));
        }
    }
}
