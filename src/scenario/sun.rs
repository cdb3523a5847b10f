//! Where sunlight and air temperature come from.

use chrono::NaiveDateTime;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Named;
use super::basis::BasisOf;
use super::outlook::Outlook;

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

/// A number that is known, or known within bounds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Spread {
    /// Always this.
    Fixed(f64),
    /// Anything between the two, all alike.
    Uniform([f64; 2]),
}

impl Spread {
    /// The value below which this chance lies, for a chance in (0, 1).
    #[must_use]
    pub fn value(&self, chance: f64) -> f64 {
        match self {
            Self::Fixed(value) => *value,
            Self::Uniform([low, high]) => low + (high - low) * chance,
        }
    }

    /// Its mean.
    #[must_use]
    pub fn mean(&self) -> f64 {
        match self {
            Self::Fixed(value) => *value,
            Self::Uniform([low, high]) => (low + high) / 2.0,
        }
    }
}

/// The same day over and over. Give `in_plane_w_m2` or `rated_share`, not both.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Profile {
    /// Irradiance in the plane of every array by hour of standard time, W/m2.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub in_plane_w_m2: Option<Vec<f64>>,
    /// Array output as a share of rated by hour of standard time; bypasses temperature and low
    /// light, not the named losses.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rated_share: Option<Vec<f64>>,
    /// Air temperature all day, deg C.
    #[serde(default = "room")]
    pub air_c: f64,
    /// Days that differ in trials; `run` plays their mean.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub day_types: Option<DayTypes>,
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

/// Days that differ: their types, and how one follows the other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DayTypes {
    /// Types of day, by name.
    pub types: Named<DayType>,
    /// How they follow each other.
    pub chain: Chain,
    /// Type of the day before the first one; drawn by the long-run shares when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub yesterday: Option<String>,
}

/// One type of day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DayType {
    /// What the hours of the profile are multiplied by.
    pub sun_multiplier: Spread,
    /// Whether the mains is away all day.
    #[serde(default, skip_serializing_if = "is_false")]
    pub without_mains: bool,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_false(value: &bool) -> bool {
    !*value
}

/// How types of day follow each other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Chain {
    /// By their long-run shares and how much a day depends on the one before.
    Shares {
        /// Long-run share of each type, in their order; together 1.
        type_share: Vec<f64>,
        /// Correlation of two days that follow each other; 0 when they are independent of each other.
        #[serde(default)]
        lag1_correlation: f64,
    },
    /// By the share of each next day after each day.
    Matrix {
        /// A row for each type, in their order: the share of each type on the day after; together 1.
        next_share: Vec<Vec<f64>>,
    },
}

/// Monthly means of a place; `run` plays the mean day of each date, trials draw the clearness of
/// each day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Climate {
    /// Mean daily global energy on the level, January first, kWh/m2.
    pub ghi_kwh_m2_day: [f64; 12],
    /// Mean air temperature by month, deg C.
    pub air_mean_c: [f64; 12],
    /// Mean difference between the warmest and the coldest hour of a day by month, K.
    pub air_swing_c: [f64; 12],
    /// How much the clearness of a day depends on that of the day before: the lag-one correlation
    /// of its normal deviate.
    #[serde(default = "usual_persistence", skip_serializing_if = "is_usual_persistence")]
    pub persistence: f64,
    /// What somebody was told about the coming days.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outlook: Option<Outlook>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

/// 0.29: V. A. Graham, K. G. T. Hollands and T. E. Unny, "A time series model for Kt with
/// application to global synthetic weather generation", Solar Energy 40, 83 (1988).
#[must_use]
pub fn usual_persistence() -> f64 {
    0.29
}
#[allow(clippy::trivially_copy_pass_by_ref, clippy::float_cmp)] // serde asks for a reference
fn is_usual_persistence(persistence: &f64) -> bool {
    *persistence == usual_persistence()
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
    /// Trials take blocks of its days from the same season; they replay it when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resample: Option<Resample>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// How trials take days from a series.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Resample {
    /// Days that stay together.
    pub block_days: u32,
    /// A block begins at most so many days earlier or later in its year than the date it stands for.
    #[serde(default = "a_month")]
    pub season_days: u32,
}

fn a_month() -> u32 {
    30
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
    #[serde(default)]
    pub falls: Vec<Snowfall>,
    /// Hours after a fall from which on somebody clears the panels, in attended hours, looked at on
    /// the hour; nobody does when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cleared_after_h: Option<f64>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

/// What a storm that takes the mains does to the sky, in trials.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Storm {
    /// Nothing: the sky is independent of the mains. Too hopeful where storms take the mains.
    Independent,
    /// Dark days begin with each outage.
    Coupled(Coupling),
}

/// Dark days that begin with an outage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Coupling {
    /// Days of 24 h that stay dark, from the outage on.
    #[serde(default = "two_days")]
    pub lasts_days: f64,
    /// What clearness is multiplied by meanwhile, drawn for each outage.
    #[serde(default = "darker")]
    pub clearness_multiplier: Spread,
    /// Chance that an outage comes with snow on the panels, where the air is at most 1 deg C.
    #[serde(default)]
    pub snow_chance: f64,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
    /// Where its numbers come from.
    #[serde(default, skip_serializing_if = "BasisOf::is_empty")]
    pub basis: BasisOf,
}

impl Default for Coupling {
    fn default() -> Self {
        Self {
            lasts_days: two_days(),
            clearness_multiplier: darker(),
            snow_chance: 0.0,
            notes: None,
            basis: BasisOf::default(),
        }
    }
}

/// Two days: judgement, no source.
fn two_days() -> f64 {
    2.0
}
/// A fifth to four fifths of the clearness: judgement, no source.
fn darker() -> Spread {
    Spread::Uniform([0.2, 0.8])
}

/// What is not known for sure: each trial draws how far it is from what is stated.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Uncertain {
    /// What all loads draw, over what is stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub load_multiplier: Option<Spread>,
    /// The battery's capacity over what is stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub capacity_multiplier: Option<Spread>,
    /// What all arrays give, over what the model gives.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub array_multiplier: Option<Spread>,
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
