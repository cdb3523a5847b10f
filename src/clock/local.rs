//! The clock on the wall.
//!
//! A zone of the IANA time zone database (crate `chrono-tz`, which knows the rules of 1970 to
//! 2099) or a fixed offset. From UTC to the wall clock there is always one answer; the way back
//! has none in the hour that is skipped and two in the hour that is repeated.
//!
//! Trust: exact, as far as the database knows what governments will do.

use std::fmt;

use chrono::{
    DateTime, Datelike, Duration, FixedOffset, LocalResult, NaiveDateTime, Offset, TimeZone, Utc,
};
use chrono_tz::{OffsetComponents, TZ_VARIANTS, Tz};

use super::offset::offset_from_text;
use super::{ClockProblem, NotOneInstant};
use crate::scenario::site::Clock;

/// Years whose clock changes the database knows.
const YEARS: std::ops::RangeInclusive<i32> = 1970..=2099;

/// The clock on the wall of the station.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LocalClock(Kind);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Zone(Tz),
    Fixed(FixedOffset),
}

impl LocalClock {
    /// The clock that a scenario names.
    ///
    /// # Errors
    /// When the zone or the offset is not known.
    pub fn new(clock: &Clock) -> Result<Self, ClockProblem> {
        match clock {
            Clock::Zone(name) => {
                name.parse().map(|zone| Self(Kind::Zone(zone))).map_err(|_| ClockProblem {
                    found: name.clone(),
                    allowed: "a name of the IANA time zone database such as `America/Halifax`",
                    near: near_zones(name),
                })
            }
            Clock::FixedOffset(text) => Self::from_offset_text(text),
        }
    }

    /// The clock that always shows UTC plus an offset written like `-07:00`.
    ///
    /// # Errors
    /// When the text is not an offset.
    pub fn from_offset_text(text: &str) -> Result<Self, ClockProblem> {
        offset_from_text(text).map(|offset| Self(Kind::Fixed(offset)))
    }

    /// What the wall clock shows at an instant, with its offset.
    #[must_use]
    pub fn local(&self, instant: DateTime<Utc>) -> DateTime<FixedOffset> {
        instant.with_timezone(&self.offset(instant))
    }

    /// The offset in force at an instant.
    #[must_use]
    pub fn offset(&self, instant: DateTime<Utc>) -> FixedOffset {
        match self.0 {
            Kind::Zone(zone) => zone.offset_from_utc_datetime(&instant.naive_utc()).fix(),
            Kind::Fixed(offset) => offset,
        }
    }

    /// The offset of standard time at an instant: what the wall clock would show without summer
    /// time. Weather days run from midnight to midnight of it.
    ///
    /// The database follows the law: in Dublin standard time is +01:00 all year and winter the
    /// exception, in Casablanca the month of Ramadan is.
    #[must_use]
    pub fn standard_offset(&self, at: DateTime<Utc>) -> FixedOffset {
        match self.0 {
            Kind::Zone(zone) => {
                let parts = zone.offset_from_utc_datetime(&at.naive_utc());
                i32::try_from(parts.base_utc_offset().num_seconds())
                    .ok()
                    .and_then(FixedOffset::east_opt)
                    .unwrap_or_else(|| parts.fix())
            }
            Kind::Fixed(offset) => offset,
        }
    }

    /// The one instant at which the wall clock shows `local`.
    ///
    /// # Errors
    /// When the clock jumps over that time or shows it twice, or outside the years 1970 to 2099.
    pub fn instant(&self, local: NaiveDateTime) -> Result<DateTime<Utc>, NotOneInstant> {
        if !YEARS.contains(&local.year()) {
            return Err(NotOneInstant::OutsideYears { local });
        }
        let found = match self.0 {
            Kind::Zone(zone) => zone.from_local_datetime(&local).map(|time| time.fixed_offset()),
            Kind::Fixed(offset) => offset.from_local_datetime(&local),
        };
        match found {
            LocalResult::Single(time) => Ok(time.to_utc()),
            LocalResult::Ambiguous(earlier, later) => Err(NotOneInstant::Twice {
                local,
                earlier: *earlier.offset(),
                later: *later.offset(),
            }),
            LocalResult::None => Err(self.skipped(local)),
        }
    }

    /// The jump over `local`. No offset is a day or more, so it lies within a day of the same
    /// reading in UTC, or within two where a whole date was left out.
    fn skipped(self, local: NaiveDateTime) -> NotOneInstant {
        let about = local.and_utc();
        self.offset_changes(about - Duration::days(2), about + Duration::days(2))
            .into_iter()
            .map(|change| (change, self.offset(change - Duration::seconds(1)), self.offset(change)))
            .find(|(change, before, after)| {
                let jumps_from = change.with_timezone(before).naive_local();
                let jumps_to = change.with_timezone(after).naive_local();
                jumps_from <= local && local < jumps_to
            })
            .map_or(NotOneInstant::OutsideYears { local }, |(_, before, after)| {
                NotOneInstant::Skipped { local, before, after }
            })
    }

    /// The instants strictly between two at which the offset changes.
    ///
    /// Looked for day by day, then by halving: no zone changes its clock there and back within a
    /// day (a test goes through all of them).
    #[must_use]
    pub fn offset_changes(&self, from: DateTime<Utc>, to: DateTime<Utc>) -> Vec<DateTime<Utc>> {
        let mut changes = Vec::new();
        if matches!(self.0, Kind::Fixed(_)) {
            return changes;
        }
        let (mut before, mut offset) = (from, self.offset(from));
        while before < to {
            let after =
                before.checked_add_signed(Duration::days(1)).map_or(to, |next| next.min(to));
            let offset_after = self.offset(after);
            if offset_after != offset {
                let change = self.change_within(before, after);
                if change < to {
                    changes.push(change);
                }
            }
            (before, offset) = (after, offset_after);
        }
        changes
    }

    /// The first whole second at which the offset is no longer that of `before` but that of `after`.
    fn change_within(self, before: DateTime<Utc>, after: DateTime<Utc>) -> DateTime<Utc> {
        let offset_before = self.offset(before);
        let (mut low, mut high) = (before.timestamp(), after.timestamp());
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            let still = DateTime::from_timestamp(middle, 0)
                .is_some_and(|at| self.offset(at) == offset_before);
            if still { low = middle } else { high = middle }
        }
        DateTime::from_timestamp(high, 0).unwrap_or(after)
    }
}

impl fmt::Display for LocalClock {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            Kind::Zone(zone) => to.write_str(zone.name()),
            Kind::Fixed(offset) => write!(to, "UTC{offset}"),
        }
    }
}

/// At most three zones whose name, or the city in it, looks like `name`.
fn near_zones(name: &str) -> Vec<String> {
    let plain = |text: &str| text.trim().to_lowercase().replace(' ', "_");
    let wanted = plain(name);
    let mut scored: Vec<(f64, &str)> = TZ_VARIANTS
        .iter()
        .map(|zone| {
            let whole = plain(zone.name());
            let city = whole.rsplit('/').next().unwrap_or(&whole);
            let score =
                strsim::jaro_winkler(&wanted, &whole).max(strsim::jaro_winkler(&wanted, city));
            (score, zone.name())
        })
        .filter(|(score, _)| *score >= 0.85)
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    // Names much farther off than the nearest one only distract.
    let nearest = scored.first().map_or(0.0, |(score, _)| *score);
    scored.retain(|(score, _)| *score > nearest - 0.04);
    scored.into_iter().take(3).map(|(_, zone)| zone.to_owned()).collect()
}

#[cfg(test)]
mod tests;
