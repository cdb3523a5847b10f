//! When stations fail: the months of an outage at random, or the date that the scenario states.

use chrono::{DateTime, Datelike, Duration, FixedOffset};
use serde::Serialize;

use super::bench::Seen;
use crate::simulate::trials::Prepared;

/// Spans from here on have a season of their own, h.
const LONG_H: u32 = 45 * 24;

/// Trials of one month.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Month {
    /// January is 1.
    pub month: u32,
    /// Trials whose outage began in it; of one long span all of them.
    pub trials: u64,
    /// Of these, how many failed; in a long span, failed in that month first.
    pub failed: u64,
}

/// When a station fails.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Season {
    /// When the span begins, where it is the same in all trials.
    pub start: Option<DateTime<FixedOffset>>,
    /// By month, where trials differ in it or the span is long; else empty.
    pub months: Vec<Month>,
    /// The month that binds: in which the largest share fails; of equal ones the first.
    pub binding_month: Option<u32>,
}

impl Season {
    /// When a station failed among the trials that were seen of it.
    #[must_use]
    pub fn of(prepared: &Prepared, seen: &Seen) -> Self {
        let mut months: Vec<Month> =
            (1..=12).map(|month| Month { month, trials: 0, failed: 0 }).collect();
        let fixed = prepared.span_begins_always();
        if fixed.is_some() && prepared.span_h < LONG_H {
            let binding_month = fixed.map(|at| at.month());
            return Self { start: fixed, months: Vec::new(), binding_month };
        }
        let mut enter = |at: Option<DateTime<FixedOffset>>, failed: bool| {
            let Some(month) = at.and_then(|at| months.get_mut(at.month0() as usize)) else {
                return;
            };
            month.trials += u64::from(!failed);
            month.failed += u64::from(failed);
        };
        if fixed.is_none() {
            for after in 0..seen.survived.len() as u64 {
                enter(prepared.span_begins(seen.first + after), false);
            }
            for (trial, _) in &seen.failed {
                enter(prepared.span_begins(*trial), true);
            }
        } else {
            #[allow(clippy::cast_possible_truncation)]
            let after = |hours: f64| Duration::minutes((hours * 60.0) as i64);
            for (trial, hour) in &seen.failed {
                enter(prepared.span_begins(*trial).map(|at| at + after(*hour)), true);
            }
            for month in &mut months {
                month.trials = seen.survived.len() as u64;
            }
        }
        months.retain(|month| month.trials > 0);
        #[allow(clippy::cast_precision_loss)]
        let share = |month: &Month| month.failed as f64 / month.trials as f64;
        let binding = months.iter().fold(None, |worst: Option<&Month>, month| match worst {
            Some(worst) if share(worst) >= share(month) => Some(worst),
            _ => Some(month),
        });
        let binding_month = binding.filter(|month| month.failed > 0).map(|month| month.month);
        Self { start: fixed, binding_month, months }
    }
}
