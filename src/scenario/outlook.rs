//! What somebody was told about the sky of the coming days.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::basis::chrono_date::Date;

/// What the coming days are said to be like. The told word counts in full on the first day, less on
/// each day after it, and from the sixth day on the climate has the word.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Outlook {
    /// The date (of standard time) of the first of them.
    pub from: Date,
    /// The days in order.
    pub days: Vec<ToldDay>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// What is said of one day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ToldDay {
    /// In a word.
    Sky(SkyWord),
    /// By its global energy on the level, kWh/m2.
    GhiKwhM2Day(f64),
}

/// The sky of a day in a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SkyWord {
    /// Hardly a cloud.
    Clear,
    /// Sun and clouds.
    Partly,
    /// More clouds than sun.
    MostlyCloudy,
    /// Closed cloud.
    Overcast,
    /// Rain, snow, fog or smoke all day.
    DarkAllDay,
    /// Nothing is known of it: as the climate has it.
    Unknown,
}
