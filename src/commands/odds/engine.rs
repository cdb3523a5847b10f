//! From the command to the trials: the one place that knows how they are run.

use std::ops::Range;
use std::sync::atomic::Ordering;

use super::results::internal;
use crate::commands::load::Loaded;
use crate::decide::odds::{Answers, Occasion, Subject};
use crate::error::Error;
use crate::scenario::Scenario;
use crate::scenario::schedule::Grid;
use crate::simulate::ledger::Ledger;
use crate::simulate::single;
use crate::simulate::summary::{Summary, summarise};
use crate::simulate::trials::{Cause, Gather as _, Outcome, Watch};

/// What one trial of a scenario is called.
#[must_use]
pub fn occasion(scenario: &Scenario) -> Occasion {
    match scenario.grid {
        Grid::Always | Grid::None => Occasion::Sky,
        Grid::Listed(_) | Grid::Pattern(_) | Grid::Forced(_) => Occasion::Outage,
    }
}

/// Whether all trials of a scenario begin at the same time.
#[must_use]
pub fn same_start(_scenario: &Scenario) -> bool {
    true
}

/// Runs trials of one scenario.
pub struct Engine<'a> {
    subject: &'a Subject,
    outcome: Outcome,
}

impl<'a> Engine<'a> {
    /// Trials of a scenario.
    ///
    /// # Errors
    /// When they cannot be prepared.
    pub fn new(
        loaded: &Loaded,
        subject: &'a Subject,
        _threads: Option<u16>,
    ) -> Result<Self, Error> {
        let ledger = single::run(&loaded.plan);
        let summary = summarise(&loaded.plan, &ledger);
        Ok(Self { subject, outcome: outcome_of(&ledger, &summary) })
    }

    /// Runs the trials of a range, from the first on as far as the watch lets it.
    ///
    /// # Errors
    /// When nothing can be gathered of such a span.
    pub fn run(&self, trials: Range<u64>, watch: &Watch) -> Result<Answers, Error> {
        let mut answers = Answers::empty(self.subject.shape).map_err(internal)?;
        let mut outcome = self.outcome.clone();
        for trial in trials {
            if watch.stop.load(Ordering::Relaxed) {
                break;
            }
            outcome.trial = trial;
            answers.trial(&outcome);
            watch.done.fetch_add(1, Ordering::Relaxed);
        }
        Ok(answers)
    }
}

/// The one run of a scenario that draws nothing: every trial of it comes to this.
fn outcome_of(ledger: &Ledger, summary: &Summary) -> Outcome {
    let origin = &summary.origin_wh;
    let hours = |at: chrono::DateTime<chrono::FixedOffset>| {
        (at - summary.start).num_seconds() as f64 / 3600.0
    };
    let mut days: Vec<i64> = Vec::new();
    for row in ledger.rows.iter().filter(|row| row.groups.iter().any(|it| it.unserved_wh > 0.0)) {
        let day = (hours(row.start) / 24.0).floor() as i64;
        if days.last() != Some(&day) {
            days.push(day);
        }
    }
    let first_dark_h = summary.first_dark.map(hours);
    Outcome {
        trial: 0,
        dark_h: summary.dark_h,
        days_with_loss: u32::try_from(days.len()).unwrap_or(u32::MAX),
        unserved_wh: summary.unserved_wh,
        load_wh: summary.load_wh,
        served_wh: summary.served_wh,
        shed_wh: summary.shed_wh,
        first_dark_h,
        lowest_charge_share: summary.lowest_charge_share,
        lowest_at_h: hours(summary.lowest_charge_at),
        start_charge_share: summary.start_charge_share,
        end_charge_share: summary.end_charge_share,
        tier_h: summary.tier_h.values().copied().collect(),
        origin_wh: [
            origin.sun,
            origin.mains,
            origin.generator,
            origin.vehicle,
            origin.stored_before,
        ],
        fuel_l: summary.fuel_l,
        mains_plug_wh: summary.mains_plug_wh,
        recharge_h: None,
        cause: first_dark_h.map(|_| Cause::DarkRun),
        charge_share: ledger.rows.iter().map(|row| row.charge_end_share).collect(),
    }
}
