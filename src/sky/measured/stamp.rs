//! Which hour a row of a measured series is.

use std::ops::RangeInclusive;

use chrono::format::{Item, StrftimeItems};
use chrono::{Datelike, Duration, FixedOffset, NaiveDate, NaiveDateTime, Timelike};

use crate::scenario::sun::{Measured, MeasuredTime, Stamp};

use super::super::problem::SkyProblemKind;

/// The years that a series may have.
const YEARS: RangeInclusive<i32> = 1..=2999;

/// How the rows of one series tell their hour.
#[derive(Debug, Clone)]
pub struct Clock<'a> {
    time: &'a MeasuredTime,
    /// What leads from the stamp to the beginning of the hour.
    back: Duration,
    /// Its offset from UTC.
    pub offset: FixedOffset,
}

impl<'a> Clock<'a> {
    /// The clock that a scenario declares.
    ///
    /// # Errors
    /// When the offset or the format of the stamps cannot be read.
    pub fn new(measured: &'a Measured) -> Result<Self, Vec<SkyProblemKind>> {
        let mut problems = Vec::new();
        if let MeasuredTime::Stamps { format, .. } = &measured.time
            && StrftimeItems::new(format).any(|item| item == Item::Error)
        {
            problems.push(SkyProblemKind::Format(format.clone()));
        }
        if let MeasuredTime::HoursOf { year, .. } = &measured.time
            && !YEARS.contains(year)
        {
            problems.push(SkyProblemKind::Year {
                found: *year,
                lowest: *YEARS.start(),
                highest: *YEARS.end(),
            });
        }
        let offset = measured.utc_offset.trim().parse::<FixedOffset>().ok();
        if offset.is_none() {
            problems.push(SkyProblemKind::Offset(measured.utc_offset.clone()));
        }
        match offset {
            Some(offset) if problems.is_empty() => Ok(Self {
                time: &measured.time,
                back: match measured.stamp {
                    Stamp::StartsHour => Duration::zero(),
                    Stamp::EndsHour => Duration::hours(1),
                },
                offset,
            }),
            _ => Err(problems),
        }
    }

    /// Name of the column that tells the hour.
    #[must_use]
    pub fn column(&self) -> &'a str {
        match self.time {
            MeasuredTime::Stamps { column, .. } | MeasuredTime::HoursOf { column, .. } => column,
        }
    }

    /// The year whose hours are counted, when they are.
    #[must_use]
    pub fn counted_year(&self) -> Option<i32> {
        match self.time {
            MeasuredTime::Stamps { .. } => None,
            MeasuredTime::HoursOf { year, .. } => Some(*year),
        }
    }

    /// Beginning of the hour on the clock of the series.
    ///
    /// A number counts hours by their beginning, whatever `stamp` says: hour 0 is the first. A
    /// stamp of 24:00 is midnight at the end of its date; one without minutes is a full hour.
    ///
    /// # Errors
    /// When the field cannot be read or is no full hour.
    pub fn hour(&self, field: &str) -> Result<NaiveDateTime, SkyProblemKind> {
        match self.time {
            MeasuredTime::Stamps { format, .. } => {
                let stamp = read(field, format)
                    .filter(|stamp| YEARS.contains(&stamp.year()))
                    .ok_or_else(|| SkyProblemKind::Stamp {
                        found: field.to_owned(),
                        format: format.clone(),
                    })?;
                if stamp.minute() != 0 || stamp.second() != 0 {
                    return Err(SkyProblemKind::OffTheHour(field.to_owned()));
                }
                Ok(stamp - self.back)
            }
            MeasuredTime::HoursOf { year, .. } => {
                let first = NaiveDate::from_yo_opt(*year, 1).unwrap_or_default();
                let hours = if first.leap_year() { 8784 } else { 8760 };
                field
                    .parse::<u32>()
                    .ok()
                    .filter(|number| *number < hours)
                    .map(|number| {
                        first.and_hms_opt(0, 0, 0).unwrap_or_default()
                            + Duration::hours(i64::from(number))
                    })
                    .ok_or_else(|| SkyProblemKind::HourNumber {
                        found: field.to_owned(),
                        year: *year,
                        last: hours - 1,
                    })
            }
        }
    }
}

/// Hours of the year before `at`.
#[must_use]
pub fn hour_of_year(at: NaiveDateTime) -> u32 {
    at.ordinal0() * 24 + at.hour()
}

fn read(field: &str, format: &str) -> Option<NaiveDateTime> {
    if let Some(stamp) = parse(field, format) {
        return Some(stamp);
    }
    // Chrono knows no 24:00.
    let at = field.find("24:00").filter(|at| *at > 0)?;
    let midnight = format!("{}00:00{}", &field[..at], &field[at + 5..]);
    parse(&midnight, format)?.checked_add_signed(Duration::days(1))
}

fn parse(field: &str, format: &str) -> Option<NaiveDateTime> {
    NaiveDateTime::parse_from_str(field, format)
        .or_else(|_| NaiveDateTime::parse_from_str(&format!("{field} 00"), &format!("{format} %M")))
        .ok()
}
