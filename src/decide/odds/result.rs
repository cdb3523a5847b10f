//! Results of trials: the keys of `odds.json`.
//!
//! Chance of staying on the air over N hours is the share of trials that were never off the air in the first N: neither
//! dark nor in a tier in which the station does not count as on the air. Its intervals
//! speak of the number of trials alone, not of how well the inputs are known: Wilson 1927 for the
//! eye, the one-sided bound of Clopper and Pearson 1934 for decisions. Quantiles are those of the
//! inverse empirical distribution; bands of the charge are known to half a percent. Trust: exact for
//! the counts; the intervals are checked against published values.

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use super::answers::{Answers, CHARGE_UNITS, Causes};
pub use super::named::{NamedTrial, NamedTrials};
pub use super::quantiles::Quantiles;
use super::stopping::Stopping;
use super::subject::{Occasion, Subject};
use crate::chance::intervals::{Confidence, clopper_pearson_lower, wilson};
use crate::chance::merge::{EnergySum, Histogram, Tally};
use crate::scenario::Named;
use crate::scenario::basis::Basis;
use crate::simulate::ledger::OriginWh;
use crate::warning::{Kind, Warning};

/// What many trials come to. Energies, hours and litres are means of a trial unless said otherwise.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Odds {
    /// Title of the scenario.
    pub title: String,
    /// Version of the program.
    pub version: String,
    /// The finding in one sentence, in counts.
    pub sentence: String,
    /// SHA-256 of the scenario as understood, with the files that it names.
    pub scenario_sha256: String,
    /// Strategy in force.
    pub strategy: String,
    /// What one trial is: `storm` (the mains fails once and the sky is the worse for it), `outage`
    /// (the mains fails once whatever the sky), `sky` (only the weather is drawn), `trial` (the mains
    /// fails and comes back).
    pub occasion: Occasion,
    /// Local time at which the span starts; null where each trial has its own.
    pub start: Option<DateTime<FixedOffset>>,
    /// Years of the measured series that days are taken from, first and last; absent without one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub series_years: Option<(i32, i32)>,
    /// Random seed; trial k of a seed is the same everywhere.
    pub seed: u64,
    /// Trials counted.
    pub trials: u64,
    /// Trials asked for; with `--until-half-width` the most that there could have been.
    pub trials_asked: u64,
    /// Whether it was stopped before all trials were done; the counts are those of the trials done,
    /// the first ones.
    pub ended_early: bool,
    /// Trials left out because they held a value that is no number of a station; a fault to report.
    pub trials_left_out: u64,
    /// What was asked of the interval; absent without `--until-half-width`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stopping: Option<Stopping>,
    /// Elapsed hours of the span.
    pub hours: f64,
    /// Trials that were off the air at any moment of the span: dark, or in a tier with `on_air` false.
    pub failures: u64,
    /// Share of the trials on the air for all hours.
    pub on_air_share: f64,
    /// Wilson interval of the chance of staying on the air, 95 %: low and high end.
    pub on_air_wilson_95: [f64; 2],
    /// Clopper-Pearson bound, one-sided, 95 %: the chance is lower in at most 1 of 20 such runs.
    pub on_air_lower_95_one_sided: f64,
    /// The same trials with every input as stated in the scenario; absent where none is uncertain.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub as_stated: Option<Within>,
    /// Chance of staying on the air over the first 8, 24, 72 and 168 hours, as far as the span goes.
    pub on_air_within: Vec<Within>,
    /// Share of all time that was dark.
    pub no_power_time_share: f64,
    /// Days (24 h from the beginning of the span) with any unserved energy.
    pub loss_of_load_days: f64,
    /// Unserved energy of all trials over their demand.
    pub unserved_share: f64,
    /// Demand not delivered.
    pub expected_unserved_wh: f64,
    /// Standard error of it.
    pub expected_unserved_standard_error_wh: f64,
    /// Demand of the tiers in force.
    pub load_wh: f64,
    /// Delivered at the devices.
    pub served_wh: f64,
    /// What the top tier would have drawn besides; never a failure.
    pub shed_wh: f64,
    /// Hours in each tier.
    pub tier_h: Named<f64>,
    /// Served energy by origin.
    pub origin_wh: OriginWh,
    /// Standard deviation, from trial to trial, of the served energy by origin.
    pub origin_sd_wh: OriginWh,
    /// Energy taken from the mains.
    pub mains_plug_wh: f64,
    /// Fuel burnt by engine and vehicle, litres.
    pub fuel_l: f64,
    /// First hour off the air since the beginning of the span: the hour by which 1, 5, 25, 50, 75, 95
    /// and 99 % of all trials have been off the air, to the minute; null where fewer have been.
    pub first_off_air_h: Quantiles,
    /// Lowest charge, share of rated, aged capacity: of 1, 5, 25, 50, 75, 95 and 99 % of trials it is
    /// this or less.
    pub lowest_charge_share: Quantiles,
    /// Hours after the mains came back (or the span ended) until the battery was charged again, to the
    /// minute; null where fewer trials were within what was simulated.
    pub recharge_h: Quantiles,
    /// Trials without such hours: the mains never went, or not charged again within what was simulated.
    pub not_recharged: u64,
    /// Why trials failed, the first reason of each that applies.
    pub causes: Causes,
    /// Trials to look at with `run --trial K --seed S`.
    pub named_trials: NamedTrials,
    /// By hour: how many are still on the air, and the spread of the charge.
    pub bands: Vec<Band>,
    /// Numbers of the scenario by basis: path to basis, in file order.
    pub basis: Named<Basis>,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

/// Chance of staying on the air over the first hours of the span.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Within {
    /// How many hours.
    pub hours: f64,
    /// Trials that were off the air in them.
    pub failures: u64,
    /// Share of the trials that were not.
    pub on_air_share: f64,
    /// Wilson interval, 95 %: low and high end.
    pub on_air_wilson_95: [f64; 2],
    /// Clopper-Pearson bound, one-sided, 95 %.
    pub on_air_lower_95_one_sided: f64,
}

/// One instant of the span over all trials.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Band {
    /// Elapsed hours.
    pub hour: f64,
    /// Trials never off the air until then.
    pub on_air: u64,
    /// Their share.
    pub on_air_share: f64,
    /// Wilson interval of that share at this one instant, 95 %: low end.
    pub on_air_low_share: f64,
    /// High end.
    pub on_air_high_share: f64,
    /// Charge: 5 % of trials are at this or less.
    pub charge_p05_share: f64,
    /// 25 %.
    pub charge_p25_share: f64,
    /// Half.
    pub charge_p50_share: f64,
    /// 75 %.
    pub charge_p75_share: f64,
    /// 95 %.
    pub charge_p95_share: f64,
}

/// Hours over which chance of staying on the air is told.
pub const TOLD_HOURS: [f64; 4] = [8.0, 24.0, 72.0, 168.0];

impl Odds {
    /// What the trials come to. The sentence is left empty: wording belongs to `show`.
    #[must_use]
    pub fn of(subject: &Subject, answers: &Answers, stopping: Option<Stopping>) -> Self {
        let trials = answers.tally.trials();
        let hours = subject.shape.hours();
        let seen = answers.trials_seen();
        let ended_early = seen < subject.trials_asked
            && stopping.is_none_or(|it| it.half_width_reached > it.half_width_asked);
        let whole = Within::of(hours, answers.tally);
        let [sun, mains, generator, vehicle, stored_before] = answers.origin_wh;
        let origins = |of: fn(EnergySum) -> f64| OriginWh {
            sun: of(sun),
            mains: of(mains),
            generator: of(generator),
            vehicle: of(vehicle),
            stored_before: of(stored_before),
        };
        let tier_h = subject.tiers.iter().cloned().zip(answers.tier_h.iter().map(|it| it.mean()));
        Self {
            title: subject.title.clone(),
            version: subject.version.clone(),
            sentence: String::new(),
            scenario_sha256: subject.scenario_sha256.clone(),
            strategy: subject.strategy.clone(),
            occasion: subject.occasion,
            start: subject.start,
            series_years: subject.series_years,
            seed: subject.seed,
            trials,
            trials_asked: subject.trials_asked,
            ended_early,
            trials_left_out: answers.left_out,
            stopping,
            hours,
            failures: whole.failures,
            on_air_share: whole.on_air_share,
            on_air_wilson_95: whole.on_air_wilson_95,
            on_air_lower_95_one_sided: whole.on_air_lower_95_one_sided,
            as_stated: answers.as_stated.map(|tally| Within::of(hours, tally)),
            on_air_within: TOLD_HOURS
                .into_iter()
                .filter(|told_h| *told_h <= hours + 1e-9)
                .map(|told_h| Within::of(told_h, on_air(answers, told_h)))
                .collect(),
            no_power_time_share: answers.no_power_h.mean() / hours,
            #[allow(clippy::cast_precision_loss)]
            loss_of_load_days: answers.days_with_loss as f64 / trials.max(1) as f64,
            unserved_share: ratio(answers.unserved_wh.total(), answers.load_wh.total()),
            expected_unserved_wh: answers.unserved_wh.mean(),
            expected_unserved_standard_error_wh: answers.unserved_wh.standard_error(),
            load_wh: answers.load_wh.mean(),
            served_wh: answers.served_wh.mean(),
            shed_wh: answers.shed_wh.mean(),
            tier_h: tier_h.collect(),
            origin_wh: origins(EnergySum::mean),
            origin_sd_wh: origins(|sum| sum.variance().sqrt()),
            mains_plug_wh: answers.mains_plug_wh.mean(),
            fuel_l: answers.fuel_l.mean(),
            first_off_air_h: Quantiles::of(&answers.first_off_air_min, trials, 60.0),
            lowest_charge_share: Quantiles::of(&answers.lowest, trials, CHARGE_UNITS),
            recharge_h: Quantiles::of(&answers.recharge_min, trials, 60.0),
            not_recharged: trials.saturating_sub(answers.recharge_min.count()),
            causes: answers.causes,
            named_trials: NamedTrials::of(answers),
            bands: bands(subject, answers),
            basis: subject.basis.clone(),
            warnings: warnings(subject, answers, ended_early),
        }
    }
}

fn ratio(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}

/// Trials never off the air in the first hours, and those that were.
fn on_air(answers: &Answers, within_h: f64) -> Tally {
    #[allow(clippy::cast_possible_truncation)]
    let minute = (within_h * 60.0).round() as i64;
    let failures = answers.first_off_air_min.below(minute);
    let trials = answers.tally.trials();
    Tally::of_trials(trials.saturating_sub(failures), trials).unwrap_or(answers.tally)
}

impl Within {
    /// What a tally of the trials never off the air in the first hours says.
    #[must_use]
    pub fn of(hours: f64, tally: Tally) -> Self {
        let interval = wilson(tally, Confidence::NINETY_FIVE);
        Self {
            hours,
            failures: tally.failures(),
            on_air_share: tally.share(),
            on_air_wilson_95: [interval.low, interval.high],
            on_air_lower_95_one_sided: clopper_pearson_lower(tally, Confidence::NINETY_FIVE),
        }
    }
}

fn bands(subject: &Subject, answers: &Answers) -> Vec<Band> {
    let shape = subject.shape;
    let columns = shape.columns().zip(&answers.charge);
    columns
        .map(|(steps, bins)| {
            let hour = shape.elapsed_h(steps);
            let tally = on_air(answers, hour);
            let interval = wilson(tally, Confidence::NINETY_FIVE);
            let charge = |share: f64| quantile(bins, share);
            Band {
                hour,
                on_air: tally.successes(),
                on_air_share: tally.share(),
                on_air_low_share: interval.low,
                on_air_high_share: interval.high,
                charge_p05_share: charge(0.05),
                charge_p25_share: charge(0.25),
                charge_p50_share: charge(0.5),
                charge_p75_share: charge(0.75),
                charge_p95_share: charge(0.95),
            }
        })
        .collect()
}

fn quantile(bins: &Histogram, share: f64) -> f64 {
    bins.quantile(share).map_or(0.0, |it| it.value)
}

/// Warnings of the scenario, and those of the trials.
fn warnings(subject: &Subject, answers: &Answers, ended_early: bool) -> Vec<Warning> {
    let mut warnings = subject.warnings.clone();
    let mut note = |text: String| {
        warnings.push(Warning { kind: Kind::Note, path: String::new(), text });
    };
    if let Some(first) = answers.first_left_out {
        note(format!(
            "{} of {} trials are left out, trial {first} first: they hold a value that is no number of a station. This is a fault of longwatch",
            answers.left_out,
            answers.trials_seen()
        ));
    }
    let unlike = answers.lowest.places().nth(1).is_some()
        || answers.served_wh.variance() > 0.0
        || answers.unserved_wh.variance() > 0.0;
    if answers.tally.trials() > 1 && !unlike {
        note(
            "all trials came to the same: nothing that counts is drawn, so one run says as much"
                .to_owned(),
        );
    }
    if ended_early {
        note(format!(
            "ended early: {} of {} trials are done; the figures are those of the first ones",
            answers.trials_seen(),
            subject.trials_asked
        ));
    }
    warnings
}
