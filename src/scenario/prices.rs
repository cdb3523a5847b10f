//! What things cost.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::basis::BasisOf;

/// What things cost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Prices {
    /// One kilowatt-hour at the mains plug, in `currency`.
    pub mains_per_kwh: f64,
    /// What prices are given in, as it is to stand behind a number.
    pub currency: String,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}
