//! The time a ledger covers, as pictures need it: elapsed hours, local days, spells of a state.
//!
//! Steps with a value that is not finite are left out here, once, and counted, so that no picture
//! can draw them.

use chrono::{DateTime, Datelike, Days, FixedOffset, NaiveDate, NaiveTime, TimeDelta, Timelike};

use crate::simulate::ledger::{Ledger, Row};

/// A step that can be drawn.
#[derive(Clone, Copy)]
pub struct Step<'a> {
    /// Its beginning, elapsed hours since the span began.
    pub at_h: f64,
    /// What it holds.
    pub row: &'a Row,
}

impl Step<'_> {
    /// Its end, elapsed hours.
    #[must_use]
    pub fn end_h(&self) -> f64 {
        self.at_h + self.row.hours
    }
}

/// The time a ledger covers.
pub struct Span<'a> {
    /// The book.
    pub ledger: &'a Ledger,
    /// Steps that can be drawn, in time.
    pub steps: Vec<Step<'a>>,
    /// Length, h.
    pub hours: f64,
    /// Beginning on the local clock.
    pub start: DateTime<FixedOffset>,
    /// End on the local clock in force at the end.
    pub end: DateTime<FixedOffset>,
    /// Steps left out because a value is not finite.
    pub left_out: usize,
}

/// No watt-hours, volts or shares of a station are larger; not-a-number is not smaller.
const LARGEST: f64 = 1e12;
/// No step is longer, h.
const LONGEST_STEP_H: f64 = 24.0;

/// Seconds as hours.
fn in_hours(delta: TimeDelta) -> f64 {
    delta.num_seconds() as f64 / 3600.0
}

/// Whether every value that a picture may draw is a number of some station.
fn is_sound(row: &Row) -> bool {
    let losses = row.losses.total_wh();
    let own = [
        row.daylight_share,
        row.grid_share,
        row.supply_share,
        row.shed_wh,
        row.standby_wh,
        row.heater_wh,
        losses,
        row.stored_start_wh,
        row.stored_end_wh,
        row.charge_start_share,
        row.charge_end_share,
        row.charge_lowest_share,
        row.mean_v,
        row.lowest_v,
        row.highest_v,
        row.open_h,
        row.no_power_h,
        row.mains_plug_wh,
    ];
    let sources = row
        .sources
        .iter()
        .flat_map(|s| [s.used_wh, s.to_load_wh, s.to_battery_wh, s.clipped_wh, s.curtailed_wh]);
    let groups = row.groups.iter().flat_map(|g| [g.served_wh, g.unserved_wh]);
    row.hours > 0.0
        && row.hours <= LONGEST_STEP_H
        && own.into_iter().chain(sources).chain(groups).all(|value| value.abs() < LARGEST)
}

impl<'a> Span<'a> {
    /// The span of a ledger; `None` if it holds no step that can be drawn.
    #[must_use]
    pub fn of(ledger: &'a Ledger) -> Option<Self> {
        let first = ledger.rows.first()?;
        let steps: Vec<Step<'a>> = ledger
            .rows
            .iter()
            .filter(|row| is_sound(row))
            .map(|row| Step { at_h: in_hours(row.start - first.start), row })
            .collect();
        let last = steps.last()?;
        let hours = last.end_h();
        let whole_seconds = TimeDelta::seconds((last.row.hours * 3600.0).round() as i64);
        let end = last.row.start.checked_add_signed(whole_seconds)?;
        let left_out = ledger.rows.len() - steps.len();
        Some(Self { ledger, hours, start: first.start, end, left_out, steps })
    }

    /// Elapsed hours at a time, kept within the span.
    #[must_use]
    pub fn elapsed_h(&self, at: &DateTime<FixedOffset>) -> f64 {
        in_hours(*at - self.start).clamp(0.0, self.hours)
    }

    /// Instants at which the local clock shows a multiple of `every_min` minutes past midnight, with
    /// what it shows. At a skipped or repeated hour the clock decides, not the count of hours.
    #[must_use]
    pub fn clock_marks(&self, every_min: u32) -> Vec<(f64, NaiveTime)> {
        let every_s = u64::from(every_min.max(1)) * 60;
        let mut marks: Vec<(f64, NaiveTime)> = Vec::new();
        for (place, step) in self.steps.iter().enumerate() {
            let clock = step.row.start.naive_local().time();
            let since = u64::from(clock.num_seconds_from_midnight());
            let mut wait_s = (every_s - since % every_s) % every_s;
            let length_s = (step.row.hours * 3600.0).round() as u64;
            let closed = place + 1 == self.steps.len();
            while wait_s < length_s || (closed && wait_s == length_s) {
                let shown = clock + TimeDelta::seconds(wait_s as i64);
                marks.push((step.at_h + wait_s as f64 / 3600.0, shown));
                wait_s += every_s;
            }
        }
        marks
    }

    /// Local days: where each begins within the span (the first at its start), h, and its date.
    #[must_use]
    pub fn days(&self) -> Vec<(f64, NaiveDate)> {
        let mut days: Vec<(f64, NaiveDate)> = Vec::new();
        for step in &self.steps {
            let local = step.row.start.naive_local();
            let mut date = local.date();
            if days.last().is_none_or(|(_, known)| *known < date) {
                days.push((step.at_h, date));
            }
            while let Some(next) = date.checked_add_days(Days::new(1)) {
                let wait_h = in_hours(next.and_time(NaiveTime::MIN) - local);
                if wait_h >= step.row.hours {
                    break;
                }
                if days.last().is_none_or(|(_, known)| *known < next) {
                    days.push((step.at_h + wait_h, next));
                }
                date = next;
            }
        }
        days
    }

    /// Spells in which a state holds, h, from the share of each step in which it does. A step that
    /// is partly in the state joins the neighbour that is more so.
    #[must_use]
    pub fn spells(&self, share: impl Fn(&Row) -> f64) -> Vec<(f64, f64)> {
        let share_at = |i: usize| self.steps.get(i).map_or(0.0, |s| share(s.row).clamp(0.0, 1.0));
        let mut spells: Vec<(f64, f64)> = Vec::new();
        for (i, step) in self.steps.iter().enumerate() {
            let here = share_at(i);
            if here <= 1e-9 {
                continue;
            }
            let before = if i == 0 { 0.0 } else { share_at(i - 1) };
            let length = here * step.row.hours;
            let from = if before >= share_at(i + 1) || here > 1.0 - 1e-9 {
                step.at_h
            } else {
                step.end_h() - length
            };
            join(&mut spells, (from, from + length));
        }
        spells
    }

    /// Spells with an essential load unserved, h: their beginning within a step is known.
    #[must_use]
    pub fn dark_spells(&self) -> Vec<(f64, f64)> {
        self.spells_within(|row| {
            (row.no_power_h > 0.0).then(|| (row.first_dark_h.unwrap_or(0.0), row.no_power_h))
        })
    }

    /// Spells off the air, h: those, and those in a tier that does not count as on the air.
    #[must_use]
    pub fn off_air_spells(&self) -> Vec<(f64, f64)> {
        self.spells_within(|row| self.ledger.off_air(row))
    }

    /// Spells of which it is known how long after the start of a step they begin and how long they
    /// last within it, h.
    fn spells_within(&self, part: impl Fn(&Row) -> Option<(f64, f64)>) -> Vec<(f64, f64)> {
        let mut spells: Vec<(f64, f64)> = Vec::new();
        for step in &self.steps {
            let Some((wait, length)) = part(step.row) else { continue };
            let length = length.min(step.row.hours);
            let wait = if wait.is_finite() { wait } else { 0.0 };
            let from = step.at_h + wait.clamp(0.0, step.row.hours - length);
            join(&mut spells, (from, from + length));
        }
        spells
    }
}

/// Adds a spell, joined to the last if they touch.
fn join(spells: &mut Vec<(f64, f64)>, (from, to): (f64, f64)) {
    match spells.last_mut() {
        Some((_, end)) if from <= *end + 1e-6 => *end = end.max(to),
        _ => spells.push((from, to)),
    }
}

/// Monday of a date's week.
#[must_use]
pub fn monday(date: NaiveDate) -> NaiveDate {
    let back = u64::from(date.weekday().num_days_from_monday());
    date.checked_sub_days(Days::new(back)).unwrap_or(date)
}

/// First day of a date's month.
#[must_use]
pub fn first_of_month(date: NaiveDate) -> NaiveDate {
    date.with_day(1).unwrap_or(date)
}

/// First day of a date's year.
#[must_use]
pub fn first_of_year(date: NaiveDate) -> NaiveDate {
    date.with_ordinal(1).unwrap_or(date)
}
