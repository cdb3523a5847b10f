//! Times of day on the wall clock, compiled.
//!
//! A window is half-open on the wall clock: at `from` it is open, at `to` it is shut. When `to`
//! is at or before `from` it runs over midnight and belongs to the day on which it began. So a
//! wall-clock hour that is skipped is absent from it and one that is repeated counts twice.

use std::fmt;

use chrono::{DateTime, Datelike, Duration, NaiveDate, NaiveDateTime, Timelike, Utc};

use super::LocalClock;
use super::time_of_day::{MINUTES_A_DAY, parse_time_of_day};
use crate::scenario::schedule::{Weekday, Window};

/// Times of day on the wall clock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TimesOfDay {
    /// Minute of the day at which it begins, 0..1440.
    from_min: u32,
    /// How long it is on the wall clock, 1..=1440.
    length_min: u32,
    /// Days of the week on which it begins, Monday first.
    days: [bool; 7],
    /// Dates on which it begins, sorted; any when `None`.
    dates: Option<Vec<NaiveDate>>,
    /// Minutes of each hour, half-open.
    minutes: (u32, u32),
    /// Minutes of the day at which it can open or shut, sorted.
    edges_min: Vec<u32>,
}

/// What is wrong with one field of a window.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{field}` is {found}; {allowed}")]
pub struct WindowProblem {
    /// The field, `from`.
    pub field: &'static str,
    /// What stands there, as typed.
    pub found: String,
    /// What is allowed, as a clause.
    pub allowed: &'static str,
}

impl TimesOfDay {
    /// Compiles a window.
    ///
    /// # Errors
    /// Every field that is wrong; a window that can never open is wrong too.
    pub fn new(window: &Window) -> Result<Self, Vec<WindowProblem>> {
        let mut problems = Vec::new();
        let mut refuse =
            |field, found: String, allowed| problems.push(WindowProblem { field, found, allowed });

        let from_min = match window.from.as_deref() {
            None => 0,
            Some(text) => {
                parse_time_of_day(text).filter(|&from| from < MINUTES_A_DAY).unwrap_or_else(|| {
                    refuse(
                        "from",
                        quoted(text),
                        "a time `HH:MM` from `00:00` to `23:59` is allowed",
                    );
                    0
                })
            }
        };
        let to_min = match window.to.as_deref() {
            None => MINUTES_A_DAY,
            Some(text) => parse_time_of_day(text).unwrap_or_else(|| {
                refuse("to", quoted(text), "a time `HH:MM` from `00:00` to `24:00` is allowed");
                MINUTES_A_DAY
            }),
        };
        let minutes = match window.minutes {
            None => (0, 60),
            Some([first, end]) if first < end && end <= 60 => (first, end),
            Some([first, end]) => {
                refuse(
                    "minutes",
                    format!("[{first}, {end}]"),
                    "`[first, end]` with first below end, both 0 to 60, is allowed",
                );
                (0, 60)
            }
        };
        if window.days.as_ref().is_some_and(Vec::is_empty) {
            refuse(
                "days",
                "empty".into(),
                "name at least one of `mon` to `sun`, or leave it out for every day",
            );
        }
        if window.dates.as_ref().is_some_and(Vec::is_empty) {
            refuse(
                "dates",
                "empty".into(),
                "name at least one date, or leave it out for every date",
            );
        }

        let days = match &window.days {
            None => [true; 7],
            Some(named) => {
                std::array::from_fn(|day| named.iter().any(|&name| monday_first(name) == day))
            }
        };
        let dates = window.dates.as_ref().map(|named| {
            let mut dates: Vec<NaiveDate> = named.iter().map(|date| date.0).collect();
            dates.sort_unstable();
            dates.dedup();
            dates
        });
        let length_min =
            if to_min > from_min { to_min - from_min } else { to_min + MINUTES_A_DAY - from_min };
        let compiled = Self {
            from_min,
            length_min,
            days,
            dates,
            minutes,
            edges_min: edges(from_min, length_min, minutes),
        };

        if problems.is_empty() {
            problems.extend(compiled.never_opens(window));
        }
        if problems.is_empty() { Ok(compiled) } else { Err(problems) }
    }

    /// Fields that are right one by one and leave nothing together.
    fn never_opens(&self, window: &Window) -> Vec<WindowProblem> {
        let mut problems = Vec::new();
        let listed = |dates: &[NaiveDate]| {
            dates.iter().map(NaiveDate::to_string).collect::<Vec<_>>().join(", ")
        };
        if let Some(dates) =
            self.dates.as_deref().filter(|dates| !dates.iter().any(|&date| self.begins_on(date)))
        {
            problems.push(WindowProblem {
                field: "dates",
                found: listed(dates),
                allowed: "at least one date must fall on one of its `days`",
            });
        }
        let open_minutes = |minute: u32| self.has_minute((self.from_min + minute) % 60);
        if let Some([first, end]) =
            window.minutes.filter(|_| !(0..self.length_min).any(open_minutes))
        {
            problems.push(WindowProblem {
                field: "minutes",
                found: format!("[{first}, {end}]"),
                allowed: "at least one of these minutes must lie between `from` and `to`",
            });
        }
        problems
    }

    /// Whether it is open when the wall clock shows `local`.
    #[must_use]
    pub fn contains(&self, local: NaiveDateTime) -> bool {
        if !self.has_minute(local.minute()) {
            return false;
        }
        let minute = local.hour() * 60 + local.minute();
        let end = self.from_min + self.length_min;
        if minute >= self.from_min && minute < end {
            self.begins_on(local.date())
        } else if minute + MINUTES_A_DAY < end {
            local.date().pred_opt().is_some_and(|yesterday| self.begins_on(yesterday))
        } else {
            false
        }
    }

    /// The instants strictly between two at which it opens or shuts, in order.
    ///
    /// Only minutes of the day at which it can open or shut are looked at, and the instants at
    /// which the clock itself jumps.
    #[must_use]
    pub fn changes_between(
        &self,
        clock: &LocalClock,
        from: DateTime<Utc>,
        to: DateTime<Utc>,
    ) -> Vec<DateTime<Utc>> {
        let mut changes = Vec::new();
        if from >= to {
            return changes;
        }
        let mut open = self.open_at(clock, from);
        let mut look = |instant: DateTime<Utc>, now_open: bool| {
            if now_open != open {
                open = now_open;
                changes.push(instant);
            }
        };
        let mut begin = from;
        for end in clock.offset_changes(from, to).into_iter().chain([to]) {
            // Between two jumps the wall clock is UTC plus one offset.
            let offset = clock.offset(begin);
            let wall = |instant: DateTime<Utc>| instant.naive_utc().checked_add_offset(offset);
            if let (Some(first), Some(last)) = (wall(begin), wall(end)) {
                if begin > from {
                    look(begin, self.contains(first));
                }
                for date in first.date().iter_days().take_while(|date| *date <= last.date()) {
                    for &edge_min in &self.edges_min {
                        let Some(local) = at_minute(date, edge_min) else { continue };
                        if local <= first || local >= last {
                            continue;
                        }
                        if let Some(instant) = local.checked_sub_offset(offset) {
                            look(instant.and_utc(), self.contains(local));
                        }
                    }
                }
            }
            begin = end;
        }
        changes
    }

    /// Whether it is open at an instant.
    #[must_use]
    pub fn open_at(&self, clock: &LocalClock, instant: DateTime<Utc>) -> bool {
        instant
            .naive_utc()
            .checked_add_offset(clock.offset(instant))
            .is_some_and(|local| self.contains(local))
    }

    fn has_minute(&self, minute: u32) -> bool {
        (self.minutes.0..self.minutes.1).contains(&minute)
    }

    fn begins_on(&self, date: NaiveDate) -> bool {
        self.days[date.weekday().num_days_from_monday() as usize]
            && self.dates.as_ref().is_none_or(|dates| dates.binary_search(&date).is_ok())
    }
}

/// Minutes of the day at which a window can open or shut.
fn edges(from_min: u32, length_min: u32, minutes: (u32, u32)) -> Vec<u32> {
    let mut edges = vec![from_min, (from_min + length_min) % MINUTES_A_DAY];
    if minutes != (0, 60) {
        let of_each_hour = (0..24).flat_map(|hour| [hour * 60 + minutes.0, hour * 60 + minutes.1]);
        edges.extend(
            of_each_hour
                .map(|minute| minute % MINUTES_A_DAY)
                .filter(|minute| (minute + MINUTES_A_DAY - from_min) % MINUTES_A_DAY < length_min),
        );
    }
    edges.sort_unstable();
    edges.dedup();
    edges
}

fn at_minute(date: NaiveDate, minute: u32) -> Option<NaiveDateTime> {
    date.and_hms_opt(0, 0, 0)?.checked_add_signed(Duration::minutes(i64::from(minute)))
}

fn monday_first(day: Weekday) -> usize {
    match day {
        Weekday::Mon => 0,
        Weekday::Tue => 1,
        Weekday::Wed => 2,
        Weekday::Thu => 3,
        Weekday::Fri => 4,
        Weekday::Sat => 5,
        Weekday::Sun => 6,
    }
}

fn quoted(text: impl fmt::Display) -> String {
    format!("`{text}`")
}

#[cfg(test)]
mod tests;
