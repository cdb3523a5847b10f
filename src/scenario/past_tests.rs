//! Tests of the station that somebody did: what was expected and what was found.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::basis::chrono_date::Date;

/// A test of the whole station or of a part of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PastTest {
    /// Date on which it began.
    pub on: Date,
    /// What was done.
    pub what: String,
    /// What was expected before it.
    #[serde(default)]
    pub expected: Figures,
    /// What was found.
    pub measured: Figures,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// Figures of a test; those that nobody looked at are left out.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Figures {
    /// Charge that the battery gave from full to its cut-off.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capacity_ah: Option<f64>,
    /// Hours on the air on the battery alone, from full, with nothing charging it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub battery_alone_h: Option<f64>,
    /// Energy that the loads took in 24 hours.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub day_wh: Option<f64>,
    /// Lowest charge in a test of the whole span.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lowest_charge_share: Option<f64>,
}

impl Figures {
    /// Every figure with its key: the one list of them.
    #[must_use]
    pub fn all(&self) -> [(&'static str, Option<f64>); 4] {
        [
            ("capacity_ah", self.capacity_ah),
            ("battery_alone_h", self.battery_alone_h),
            ("day_wh", self.day_wh),
            ("lowest_charge_share", self.lowest_charge_share),
        ]
    }
}
