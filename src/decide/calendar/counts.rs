//! Counts over branches: whole numbers only, so that their order does not matter. Trust: exact.

use crate::chance::merge::Tally;
use crate::simulate::trials::branches::{Branches, DayOfBranches};
use chrono::Datelike as _;

/// Months of a year.
pub const MONTHS: usize = 12;
/// Hours of the clock.
pub const CLOCK_HOURS: usize = 24;

/// What branches came to, by month and hour of the clock.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Branches on the air to their end, and not.
    pub points: [[Tally; CLOCK_HOURS]; MONTHS],
    /// Days of a month with all their branches.
    pub days: [Days; MONTHS],
}

/// Days of one month. The branches of a day are not independent, days of different trials are: so the
/// spread is taken from day to day.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Days {
    /// How many.
    pub days: u64,
    /// Their branches that were on the air to their end.
    pub kept: u64,
    /// All their branches.
    pub branches: u64,
    /// Sum of the squares of the kept branches of a day.
    pub kept_squares: u64,
}

impl Counts {
    /// Adds what others counted.
    pub fn add(&mut self, others: &Self) {
        for (month, other) in self.points.iter_mut().zip(&others.points) {
            for (point, other) in month.iter_mut().zip(other) {
                // Trials are limited far below what a tally holds.
                *point = point.merged(*other).unwrap_or(*point);
            }
        }
        for (days, other) in self.days.iter_mut().zip(&others.days) {
            days.days += other.days;
            days.kept += other.kept;
            days.branches += other.branches;
            days.kept_squares += other.kept_squares;
        }
    }
}

impl Branches for Counts {
    fn day(&mut self, day: &DayOfBranches) {
        let month0 = day.date.month0() as usize;
        let (mut kept, mut branches) = (0, 0);
        for (point, first_off_air_h) in self.points[month0].iter_mut().zip(day.first_off_air_h) {
            let Some(hours) = first_off_air_h else { continue };
            let lasts = hours.is_infinite();
            point.count(lasts);
            kept += u64::from(lasts);
            branches += 1;
        }
        let days = &mut self.days[month0];
        days.days += 1;
        days.kept += kept;
        days.branches += branches;
        days.kept_squares += kept * kept;
    }

    fn join(&mut self, others: Self) {
        self.add(&others);
    }
}

impl Days {
    /// Share of the branches that were kept.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn share(&self) -> f64 {
        if self.branches == 0 { 0.0 } else { self.kept as f64 / self.branches as f64 }
    }

    /// Standard error of that share, from day to day: `sqrt(sum (k - mean)^2 / (D (D - 1)))` over
    /// the mean branches of a day.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn standard_error(&self) -> f64 {
        if self.days < 2 {
            return 0.0;
        }
        let days = self.days as f64;
        let mean = self.kept as f64 / days;
        let spread = (self.kept_squares as f64 - days * mean * mean).max(0.0);
        let branches_a_day = self.branches as f64 / days;
        (spread / (days * (days - 1.0))).sqrt() / branches_a_day
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveDate;

    fn day(month: u32, kept: usize) -> DayOfBranches {
        let mut hours = [Some(5.0); CLOCK_HOURS];
        hours[..kept].fill(Some(f64::INFINITY));
        let date = NaiveDate::from_ymd_opt(2027, month, 3).unwrap();
        DayOfBranches { trial: 0, date, first_off_air_h: hours }
    }

    /// By hand: 24, 12 and 0 of 24 are one half, with a deviation of 12 from day to day, so
    /// 12 / sqrt(3) / 24 is the error of the mean.
    #[test]
    fn the_error_of_a_month_is_taken_from_day_to_day() {
        let mut counts = Counts::default();
        for kept in [24, 12, 0] {
            counts.day(&day(2, kept));
        }
        let february = counts.days[1];
        assert!((february.share() - 0.5).abs() < 1e-15);
        assert!((february.standard_error() - 0.5 / 3_f64.sqrt()).abs() < 1e-15);
        assert_eq!(counts.points[1][0].successes(), 2);
        assert_eq!(counts.points[1][12].successes(), 1);
        assert_eq!(counts.points[0][0].trials(), 0);
    }

    #[test]
    fn an_hour_that_the_clock_skips_is_no_branch() {
        let mut counts = Counts::default();
        let mut skipped = day(3, 24);
        skipped.first_off_air_h[2] = None;
        counts.day(&skipped);
        assert_eq!(counts.points[2][2].trials(), 0);
        assert_eq!((counts.days[2].branches, counts.days[2].kept), (23, 23));
        let mut twice = counts;
        twice.add(&counts);
        assert_eq!(twice.points[2][3].trials(), 2);
    }
}
