//! When a station is on watch.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// When a station is on watch, and what it asks for while it is not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Watch {
    /// Windows in which it is on watch.
    pub r#in: Vec<String>,
    /// What it asks for at other times.
    #[serde(default)]
    pub off_watch: OffWatch,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// What a station asks for while it is not on watch.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum OffWatch {
    /// Nothing: everything is switched off.
    #[default]
    Off,
    /// The loads of this tier, or of a lower one that the charge brings about.
    Tier(String),
}
