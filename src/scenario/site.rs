//! Place, clock, span and start.

use chrono::NaiveDateTime;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::basis::BasisOf;

/// Where the station stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Site {
    /// Degrees north of the equator; south is negative.
    pub latitude_deg: f64,
    /// Degrees east of Greenwich; west is negative.
    pub longitude_deg: f64,
    /// Metres above the sea.
    #[serde(default)]
    pub elevation_m: f64,
    /// The clock on the wall.
    pub clock: Clock,
    /// Share of sunlight that the ground throws back: one value, or twelve by month.
    #[serde(default = "grass")]
    pub ground_reflectance_share: ByMonth,
    /// Height of what stands on the skyline, by azimuth; straight lines between, all round.
    #[serde(default)]
    pub horizon: Vec<HorizonPoint>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// 0.2: grass, the usual assumption (Liu & Jordan 1963).
fn grass() -> ByMonth {
    ByMonth::Same(0.2)
}

/// One value for the whole year or one for each month, January first.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum ByMonth {
    /// The same all year.
    Same(f64),
    /// January to December.
    Months([f64; 12]),
}

impl ByMonth {
    /// The value for `month0` (January is 0).
    #[must_use]
    pub fn at(&self, month0: usize) -> f64 {
        match self {
            Self::Same(value) => *value,
            Self::Months(values) => values[month0 % 12],
        }
    }
}

/// One point of the skyline.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HorizonPoint {
    /// Degrees east of north.
    pub azimuth_deg: f64,
    /// Degrees above level.
    pub height_deg: f64,
}

/// The clock on the wall.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Clock {
    /// A name of the IANA time zone database, with its summer time.
    Zone(String),
    /// A fixed offset from UTC such as `-03:00`.
    FixedOffset(String),
}

/// The hours that are simulated.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Span {
    /// Local wall-clock time at which the span starts, `YYYY-MM-DDTHH:MM`.
    #[serde(with = "local_minute")]
    #[schemars(with = "String", extend("format" = "local-minute"))]
    pub start: NaiveDateTime,
    /// Elapsed hours.
    pub hours: u32,
    /// Minutes a step: any divisor of 60.
    #[serde(default = "sixty")]
    pub step_min: u32,
}

fn sixty() -> u32 {
    60
}

/// In what state the span begins. Give one of `charge_share`, `charge_between_share` and
/// `warmup_days`.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Start {
    /// Charge when the span begins (default 1, unless it warms up).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_share: Option<f64>,
    /// The same when it is known only within bounds: each trial draws it, all values alike; `run`
    /// takes the middle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_between_share: Option<[f64; 2]>,
    /// Days of normal operation, under the strategy in force and with a forced outage still to
    /// come, that are simulated from a full battery before the span begins.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub warmup_days: Option<u32>,
}

impl Start {
    /// Charge when the simulation begins: the middle where it is known within bounds, full where
    /// nothing is said.
    #[must_use]
    pub fn first_share(&self) -> f64 {
        let middle = self.charge_between_share.map(|[low, high]| (low + high) / 2.0);
        self.charge_share.or(middle).unwrap_or(1.0)
    }
}

/// Local times as people write them: `2027-01-18T18:00`.
pub mod local_minute {
    use chrono::NaiveDateTime;
    use serde::{Deserialize, Deserializer, Serializer, de::Error};

    /// How a local time is written.
    pub const FORMAT: &str = "%Y-%m-%dT%H:%M";

    /// Reads `YYYY-MM-DDTHH:MM`.
    ///
    /// # Errors
    /// When the text is not such a time.
    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<NaiveDateTime, D::Error> {
        let text = String::deserialize(from)?;
        NaiveDateTime::parse_from_str(&text, FORMAT).map_err(|_| {
            D::Error::custom(format!("`{text}` is not a local time such as 2027-01-18T18:00"))
        })
    }

    /// Writes `YYYY-MM-DDTHH:MM`.
    ///
    /// # Errors
    /// Those of the writer.
    pub fn serialize<S: Serializer>(time: &NaiveDateTime, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(&time.format(FORMAT))
    }
}
