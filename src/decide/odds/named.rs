//! Trials to look at, each told by its number, so that a run can play it again.

use serde::Serialize;

use super::answers::{Answers, CHARGE_UNITS};

/// A trial to look at.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct NamedTrial {
    /// Its number.
    pub trial: u64,
    /// Its unserved energy, where it was chosen for that.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unserved_wh: Option<f64>,
    /// Its lowest charge, rounded to a hundred-thousandth, where it was chosen for that.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lowest_charge_share: Option<f64>,
}

/// Trials to look at; null where there is none.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct NamedTrials {
    /// Most unserved energy; of equal ones that with the lowest charge, of those the first.
    pub worst: Option<NamedTrial>,
    /// Lower median of the lowest charge; of equal ones the first.
    pub median: Option<NamedTrial>,
    /// The first that failed.
    pub first_failing: Option<NamedTrial>,
}

impl NamedTrials {
    #[allow(clippy::cast_precision_loss)]
    pub(super) fn of(answers: &Answers) -> Self {
        let named = |trial| NamedTrial { trial, unserved_wh: None, lowest_charge_share: None };
        let share = |units: i64| Some(units as f64 / CHARGE_UNITS);
        Self {
            worst: answers.worst.map(|it| NamedTrial {
                unserved_wh: Some(it.unserved_uwh as f64 / 1e6),
                lowest_charge_share: share(it.lowest_units),
                ..named(it.trial)
            }),
            median: answers.lowest.lower_median().map(|it| NamedTrial {
                lowest_charge_share: share(it.value),
                ..named(it.first_trial)
            }),
            first_failing: answers.first_failing.map(named),
        }
    }
}
