//! Past tests beside what is forecast now.

use serde::Serialize;

use super::battery_alone::BatteryAlone;
use crate::scenario::basis::chrono_date::Date;
use crate::scenario::past_tests::{Figures, PastTest};
use crate::simulate::ledger::Ledger;
use crate::simulate::summary::Summary;

/// One figure of a test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// Its key: `capacity_ah`.
    pub key: &'static str,
    /// What was expected before the test.
    pub expected: Option<f64>,
    /// What was found.
    pub measured: Option<f64>,
    /// What is forecast for the station as the scenario describes it now.
    pub forecast: Option<f64>,
}

/// A test and its figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Beside {
    /// When it began.
    pub on: Date,
    /// What was done.
    pub what: String,
    /// Its figures, those that were expected or measured.
    pub lines: Vec<Line>,
}

/// What is forecast of each figure of a test.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Forecast(pub Figures);

impl Forecast {
    /// From a run and from the battery alone.
    #[must_use]
    pub fn of(ledger: &Ledger, summary: &Summary, alone: Option<&BatteryAlone>) -> Self {
        let days = summary.hours / 24.0;
        Self(Figures {
            capacity_ah: Some(ledger.heads.capacity_ah).filter(|it| *it > 0.0),
            battery_alone_h: alone.and_then(|it| it.stepping_down_h),
            day_wh: Some(summary.load_wh / days).filter(|it| it.is_finite()),
            lowest_charge_share: Some(summary.lowest_charge_share).filter(|it| it.is_finite()),
        })
    }
}

/// Every test beside the forecast, the latest first.
#[must_use]
pub fn beside(tests: &[PastTest], forecast: Forecast) -> Vec<Beside> {
    let mut all: Vec<Beside> = tests
        .iter()
        .map(|test| {
            let figures = test.expected.all().into_iter();
            let figures = figures.zip(test.measured.all()).zip(forecast.0.all());
            let lines = figures
                .map(|(((key, expected), (_, measured)), (_, forecast))| Line {
                    key,
                    expected,
                    measured,
                    forecast,
                })
                .filter(|line| line.expected.is_some() || line.measured.is_some());
            Beside { on: test.on, what: test.what.clone(), lines: lines.collect() }
        })
        .collect();
    all.sort_by_key(|test| std::cmp::Reverse(test.on));
    all
}
