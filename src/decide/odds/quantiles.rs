//! Quantiles over all trials: those of the inverse empirical distribution (Hyndman and Fan 1996, type
//! 1), so that each is a value that some trial had. Trials without a value count as above all.
//! Trust: exact for values rounded as they are kept.

use serde::Serialize;

use crate::chance::merge::{Place, Ranked};

/// Quantiles over trials.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Quantiles {
    /// The least of all.
    pub least: Option<f64>,
    /// 1 % are this or less.
    pub p01: Option<f64>,
    /// 5 %.
    pub p05: Option<f64>,
    /// 25 %.
    pub p25: Option<f64>,
    /// Half.
    pub p50: Option<f64>,
    /// 75 %.
    pub p75: Option<f64>,
    /// 95 %.
    pub p95: Option<f64>,
    /// 99 %.
    pub p99: Option<f64>,
    /// The greatest of all; null where a trial has no value.
    pub greatest: Option<f64>,
}

impl Quantiles {
    /// Quantiles over so many trials; those without a value count as above all.
    #[allow(clippy::cast_precision_loss)]
    #[must_use]
    pub fn of(ranked: &Ranked, trials: u64, units: f64) -> Self {
        let value = |place: Place| place.value as f64 / units;
        let at = |share: f64| ranked.quantile_of(share, trials).map(value);
        let greatest = ranked.places().next_back().filter(|_| ranked.count() == trials);
        Self {
            least: ranked.places().next().map(value),
            p01: at(0.01),
            p05: at(0.05),
            p25: at(0.25),
            p50: at(0.5),
            p75: at(0.75),
            p95: at(0.95),
            p99: at(0.99),
            greatest: greatest.map(value),
        }
    }
}
