//! Where sunlight and air temperature come from.

use chrono::NaiveDateTime;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::basis::BasisOf;

/// One of three sources of sunlight.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Sun {
    /// The same 24 hours every day.
    Profile(Profile),
    /// Monthly means of a place.
    Climate(Climate),
    /// An hourly series from a file.
    Measured(Measured),
}

/// The same day over and over. Give `plane_w_m2` or `rated_share`, not both.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Profile {
    /// Irradiance in the plane of every array by hour of standard time, W/m2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plane_w_m2: Option<Vec<f64>>,
    /// Array output as a share of rated by hour of standard time; bypasses temperature and low
    /// light, not the named losses.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rated_share: Option<Vec<f64>>,
    /// Air temperature all day, deg C.
    #[serde(default = "room")]
    pub air_c: f64,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

fn room() -> f64 {
    20.0
}

/// Monthly means of a place; `run` plays the mean day of each date.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Climate {
    /// Mean daily global energy on the level, January first, kWh/m2.
    pub ghi_kwh_m2_day: [f64; 12],
    /// Mean air temperature by month, deg C.
    pub air_mean_c: [f64; 12],
    /// Mean difference between the warmest and the coldest hour of a day by month, K.
    pub air_swing_c: [f64; 12],
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// An hourly series in a text table beside the scenario.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// File name, relative to the scenario file.
    pub file: String,
    /// How a row says which hour it is.
    pub time: MeasuredTime,
    /// Whether the stamp starts or ends its hour.
    pub stamp: Stamp,
    /// Fixed offset from UTC of its times, such as `-07:00`.
    pub utc_offset: String,
    /// Column of global irradiance on the level, W/m2.
    pub ghi_column: String,
    /// Column of direct normal irradiance, W/m2; derived from the global when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dni_column: Option<String>,
    /// Column of diffuse irradiance on the level, W/m2; derived from the global when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dhi_column: Option<String>,
    /// Column of air temperature, deg C; 20 deg C when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub air_column: Option<String>,
    /// What stands between two fields.
    #[serde(default)]
    pub delimiter: Delimiter,
    /// What stands before the decimals.
    #[serde(default)]
    pub decimal: Decimal,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// How a row says which hour it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum MeasuredTime {
    /// A column of stamps.
    Stamps {
        /// Name of the column.
        column: String,
        /// How a stamp is written, with strftime codes such as `%Y-%m-%d %H:%M`.
        format: String,
    },
    /// A column that counts the hours of one year from 0.
    HoursOf {
        /// Name of the column.
        column: String,
        /// The calendar year.
        year: i32,
    },
}

/// Which end of its hour a stamp marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Stamp {
    /// The stamp is the beginning of the hour.
    StartsHour,
    /// The stamp is the end of the hour.
    EndsHour,
}

/// What stands between two fields.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Delimiter {
    /// `,`
    #[default]
    Comma,
    /// `;`
    Semicolon,
    /// A tabulator.
    Tab,
}

/// What stands before the decimals.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Decimal {
    /// `3.5`
    #[default]
    Point,
    /// `3,5`
    Comma,
}

/// Snow that covers the panels which stand outside, until it slides off or is cleared.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Snow {
    /// When it has snowed enough to cover a panel.
    pub falls: Vec<Snowfall>,
    /// Hours after a fall from which on somebody clears the panels, in attended hours, looked at on
    /// the hour; nobody does when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cleared_after_h: Option<f64>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// One fall of snow.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Snowfall {
    /// Local time at which the panels are covered.
    #[serde(with = "super::site::local_minute")]
    #[schemars(with = "String", extend("format" = "local-minute"))]
    pub at: NaiveDateTime,
}
