//! What can be wrong with a sky, as data; the words for people are its `Display`.

use std::fmt;

use chrono::{DateTime, NaiveDateTime, Utc};
use thiserror::Error;

use super::position::PositionError;

/// One thing wrong with the sky of a scenario.
#[derive(Debug, Clone, PartialEq)]
pub struct SkyProblem {
    /// Line of the measured series, from 1; none when it is not about a line.
    pub line: Option<usize>,
    /// What is wrong.
    pub kind: SkyProblemKind,
}

impl SkyProblem {
    /// A problem at a line of the measured series.
    #[must_use]
    pub fn at(line: usize, kind: SkyProblemKind) -> Self {
        Self { line: Some(line), kind }
    }
}

impl From<SkyProblemKind> for SkyProblem {
    fn from(kind: SkyProblemKind) -> Self {
        Self { line: None, kind }
    }
}

impl fmt::Display for SkyProblem {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(out, "line {line}: {}", self.kind),
            None => self.kind.fmt(out),
        }
    }
}

impl std::error::Error for SkyProblem {}

/// What is wrong.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SkyProblemKind {
    /// Place or year outside what the algorithm covers.
    #[error(transparent)]
    Position(#[from] PositionError),

    /// Both forms of a profile, or none.
    #[error("a profile has either `in_plane_w_m2` or `rated_share`")]
    ProfileForm,
    /// Not 24 values.
    #[error("`{key}` has {found} values; a profile has 24, one an hour of standard time")]
    #[allow(missing_docs)]
    ProfileLength { key: &'static str, found: usize },
    /// A value that no profile has.
    #[error("`{key}` has {found} at hour {hour}; a number from 0 up is allowed")]
    #[allow(missing_docs)]
    ProfileValue { key: &'static str, hour: usize, found: f64 },

    /// More light in a month than any sky lets through.
    #[error(
        "month {month} has {ghi_kwh_m2_day} kWh/m2 a day; up to {allowed_kwh_m2_day:.2} is \
         possible here, for {extraterrestrial_kwh_m2_day:.2} arrives outside the air \
         (are the units kWh/m2 a day, and the latitude right?)"
    )]
    #[allow(missing_docs)]
    MonthTooBright {
        month: u32,
        ghi_kwh_m2_day: f64,
        allowed_kwh_m2_day: f64,
        extraterrestrial_kwh_m2_day: f64,
    },

    /// The scenario names a series but its text was not handed over.
    #[error("the text of the measured series is missing")]
    NoSeries,
    /// `utc_offset` cannot be read.
    #[error("`{0}` is no offset from UTC; write it such as `-07:00` or `+05:30`")]
    Offset(String),
    /// Fields and decimals are cut by the same mark.
    #[error("`delimiter` and `decimal` cannot both be a comma")]
    SameMark,
    /// `format` of the stamps is no strftime format.
    #[error("`{0}` is no format of a stamp; write it such as `%Y-%m-%d %H:%M`")]
    Format(String),
    /// A year far from any record.
    #[error("year {found}; {lowest} to {highest} is possible")]
    #[allow(missing_docs)]
    Year { found: i32, lowest: i32, highest: i32 },
    /// Nothing but comments.
    #[error("the series has no line of column names")]
    NoHeader,
    /// Column names and then nothing.
    #[error("the series has no rows")]
    NoRows,
    /// A declared column is not there.
    #[error("there is no column `{name}` ({key}); there are {}{}", list(there), hint(like))]
    #[allow(missing_docs)]
    ColumnMissing { name: String, key: &'static str, there: Vec<String>, like: Option<String> },
    /// A declared column is there more than once.
    #[error("there is more than one column `{0}`")]
    ColumnTwice(String),
    /// A row that the reader of tables cannot cut up.
    #[error("the row cannot be read: {0}")]
    Row(String),
    /// A row with too few or too many fields.
    #[error("the row has {found} fields, the column names are {allowed}")]
    #[allow(missing_docs)]
    FieldCount { found: usize, allowed: usize },
    /// A stamp that does not follow the format.
    #[error("`{found}` is no stamp of the form `{format}`")]
    #[allow(missing_docs)]
    Stamp { found: String, format: String },
    /// A stamp between full hours.
    #[error("`{0}` is not a full hour; the series has to be hourly")]
    OffTheHour(String),
    /// An hour number outside its year.
    #[error("`{found}` is no hour of {year}; whole numbers from 0 to {last} are allowed")]
    #[allow(missing_docs)]
    HourNumber { found: String, year: i32, last: u32 },
    /// 8760 hours for a year of 8784.
    #[error(
        "{0} is a leap year of 8784 hours but the series ends with hour 8759: every hour after \
         28 February would be a day off (declare a common year)"
    )]
    LeapYear(i32),
    /// A field that is no number.
    #[error("`{found}` in column `{column}` is no number{}", decimal_hint(*comma))]
    #[allow(missing_docs)]
    Number { column: String, found: String, comma: bool },
    /// An empty field.
    #[error("column `{0}` is empty")]
    Empty(String),
    /// A number that the quantity cannot have.
    #[error("{found} in column `{column}`; {lowest} to {highest} is possible")]
    #[allow(missing_docs)]
    OutOfRange { column: String, found: f64, lowest: f64, highest: f64 },
    /// Hours are left out.
    #[error("{hours} h are missing before {next}")]
    #[allow(missing_docs)]
    Gap { hours: i64, next: NaiveDateTime },
    /// The hour before once more.
    #[error("the hour from {0} comes twice")]
    Repeated(NaiveDateTime),
    /// Time runs backwards.
    #[error("the hour from {found} comes after that from {before}")]
    #[allow(missing_docs)]
    OutOfOrder { found: NaiveDateTime, before: NaiveDateTime },
    /// More light than the sun can give at that hour.
    #[error(
        "{found} W/m2 in column `{column}` for the hour from {from}; up to {allowed:.0} is possible \
         at that hour (are `utc_offset`, `stamp` and the place right?)"
    )]
    #[allow(missing_docs)]
    TooBright { column: String, from: NaiveDateTime, found: f64, allowed: f64 },
    /// The hours of the series and of the site's clock do not coincide.
    #[error(
        "the hours of the series begin {minutes} min after those of the site's standard time; \
         they have to coincide"
    )]
    #[allow(missing_docs)]
    HoursApart { minutes: i64 },
    /// The run reaches beyond the series.
    #[error(
        "the run needs the hours from {} to {} UTC, the series has {} to {}",
        minute(needed.0), minute(needed.1), minute(has.0), minute(has.1)
    )]
    #[allow(missing_docs)]
    NotCovered { needed: (DateTime<Utc>, DateTime<Utc>), has: (DateTime<Utc>, DateTime<Utc>) },
}

fn minute(at: DateTime<Utc>) -> String {
    at.format("%Y-%m-%d %H:%M").to_string()
}

fn list(names: &[String]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

fn hint(like: &Option<String>) -> String {
    like.as_ref().map(|name| format!("; did you mean `{name}`?")).unwrap_or_default()
}

fn decimal_hint(comma: bool) -> &'static str {
    if comma { " (is the decimal mark a comma? then declare it)" } else { "" }
}
