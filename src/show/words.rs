//! Numbers, energies and times in words: one way of saying each, for sentence, tables and pictures.

use chrono::{DateTime, Datelike, FixedOffset};

pub use crate::numbers::digits::{number, trimmed};
use crate::station::battery::register::Holds;

/// A share 0..1 as percent: `38 %`, below ten with one place, `0.4 %`.
#[must_use]
pub fn percent(share: f64) -> String {
    let value = share * 100.0;
    format!("{} %", trimmed(value, usize::from(value.abs() < 9.95)))
}

/// A charge in percent: one that is not full is not told as full.
#[must_use]
pub fn percent_full(share: f64) -> String {
    let rounded = percent(share);
    if rounded == percent(1.0) && share < 0.9995 {
        return format!("{} %", trimmed(share * 100.0, 1));
    }
    rounded
}

/// Watt-hours with three or four digits that count: `412 Wh`, `3.14 kWh`, `31.4 kWh`.
#[must_use]
pub fn energy(wh: f64) -> String {
    let size = wh.abs();
    if size < 9.95 {
        format!("{} Wh", trimmed(wh, 1))
    } else if size < 999.5 {
        format!("{} Wh", number(wh, 0))
    } else {
        let decimals = if size < 9_995.0 {
            2
        } else if size < 99_950.0 {
            1
        } else {
            0
        };
        format!("{} kWh", number(wh / 1000.0, decimals))
    }
}

/// The unit in which a table of energies is written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EnergyUnit {
    /// Its name.
    pub name: &'static str,
    /// Watt-hours in one of it.
    pub wh: f64,
    /// Decimal places.
    pub places: usize,
}

impl EnergyUnit {
    /// The unit that suits the largest energy of a table, Wh.
    #[must_use]
    pub fn for_largest(wh: f64) -> Self {
        match wh {
            wh if wh >= 9_999.5 => Self { name: "kWh", wh: 1000.0, places: 2 },
            wh if wh >= 99.95 => Self { name: "Wh", wh: 1.0, places: 0 },
            _ => Self { name: "Wh", wh: 1.0, places: 1 },
        }
    }

    /// An energy in this unit, without its name.
    #[must_use]
    pub fn write(self, wh: f64) -> String {
        let value = wh / self.wh;
        number(value, if value.abs() >= 99.995 { self.places.min(1) } else { self.places })
    }
}

/// Ampere-hours: `76 Ah`, below ten with one place.
#[must_use]
pub fn charge(ah: f64) -> String {
    format!("{} Ah", trimmed(ah, usize::from(ah.abs() < 9.95)))
}

/// What a full battery holds, with rated and usable told apart: `190 Ah; 200 Ah rated`,
/// `142 Ah drawn slowly; 134 Ah in 20 hours; 160 Ah rated`.
#[must_use]
pub fn full(capacity_ah: f64, holds: &Holds) -> String {
    let mut told = charge(capacity_ah);
    let slowly = holds.counts_h.filter(|_| charge(holds.counts_ah) != told);
    if let Some(over_h) = slowly {
        told = format!("{told} drawn slowly; {} in {}", charge(holds.counts_ah), hours(over_h));
    }
    let rated = charge(holds.rated_ah);
    if slowly.is_some() || rated != told { format!("{told}; {rated} rated") } else { told }
}

/// Volts with up to two places: `11.7 V`.
#[must_use]
pub fn volts(v: f64) -> String {
    format!("{} V", trimmed(v, 2))
}

/// `72 hours`, `1 hour`, `5.2 hours`.
#[must_use]
pub fn hours(h: f64) -> String {
    let text = trimmed(h, 1);
    if text == "1" { "1 hour".to_owned() } else { format!("{text} hours") }
}

/// A length of time in a title: whole days from two weeks on, else hours.
#[must_use]
pub fn length(h: f64) -> String {
    let days = h / 24.0;
    if days >= 14.0 && (days - days.round()).abs() < 1e-9 {
        format!("{} days", number(days, 0))
    } else {
        hours(h)
    }
}

/// A part of a whole number of hours: `5.2 of 72 hours`, `20 minutes of 72 hours`, `all 72 hours`,
/// `the whole hour`. Never rounds a part up to the whole, nor something down to nothing.
#[must_use]
pub fn hours_of(part_h: f64, whole_h: f64) -> String {
    let nearly = whole_h * 1e-9;
    if part_h >= whole_h - nearly {
        return if trimmed(whole_h, 1) == "1" {
            "the whole hour".to_owned()
        } else {
            format!("all {}", hours(whole_h))
        };
    }
    let whole = hours(whole_h);
    if part_h < 0.95 {
        let minutes = (part_h * 60.0).round();
        return if part_h > 0.0 && minutes < 1.0 {
            format!("less than a minute of {whole}")
        } else if minutes <= 1.0 {
            format!("{} of {whole}", if minutes < 1.0 { "none" } else { "1 minute" })
        } else {
            format!("{} minutes of {whole}", number(minutes, 0))
        };
    }
    let mut text = trimmed(part_h, 1);
    if text == trimmed(whole_h, 1) {
        text = trimmed((part_h * 10.0).floor() / 10.0, 1);
    }
    format!("{text} of {whole}")
}

/// How exactly a time must be told so that it is one time only.
fn dated(span_h: f64) -> (bool, bool) {
    (span_h > 7.0 * 24.0, span_h > 300.0 * 24.0)
}

/// A local time in a sentence: `Wednesday 06:00`; with the date in a span longer than a week, with
/// the year in one longer than 300 days.
#[must_use]
pub fn moment(at: &DateTime<FixedOffset>, span_h: f64) -> String {
    let pattern = match dated(span_h) {
        (false, _) => "%A %H:%M",
        (true, false) => "%A %-d %B %H:%M",
        (true, true) => "%A %-d %B %Y %H:%M",
    };
    at.format(pattern).to_string()
}

/// The same, short, for labels: `Wed 06:00`, `Wed 20 Jan 06:00`.
#[must_use]
pub fn short_moment(at: &DateTime<FixedOffset>, span_h: f64) -> String {
    let pattern = match dated(span_h) {
        (false, _) => "%a %H:%M",
        (true, false) => "%a %-d %b %H:%M",
        (true, true) => "%-d %b %Y %H:%M",
    };
    at.format(pattern).to_string()
}

/// The dates of a span: `18 to 21 January 2027`.
#[must_use]
pub fn period(start: &DateTime<FixedOffset>, end: &DateTime<FixedOffset>) -> String {
    let first = match (start.year() == end.year(), start.month() == end.month()) {
        (true, true) if start.day() == end.day() => return start.format("%-d %B %Y").to_string(),
        (true, true) => "%-d",
        (true, false) => "%-d %B",
        (false, _) => "%-d %B %Y",
    };
    format!("{} to {}", start.format(first), end.format("%-d %B %Y"))
}

/// Words in a row: `a`, `a and b`, `a, b and c`.
#[must_use]
pub fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<FixedOffset> {
        DateTime::parse_from_rfc3339(text).unwrap()
    }

    #[test]
    fn a_charge_that_is_not_full_is_not_told_as_full() {
        let told = [(1.0, "100 %"), (0.9996, "100 %"), (0.9966, "99.7 %"), (0.994, "99 %")];
        for (share, words) in told {
            assert_eq!(percent_full(share), words);
        }
    }

    #[test]
    fn rated_and_usable_are_told_apart() {
        let holds = |rated_ah, counts_ah, counts_h| Holds { rated_ah, counts_ah, counts_h };
        let acid = full(142.2, &holds(160.0, 134.0, Some(20.0)));
        assert_eq!(acid, "142 Ah drawn slowly; 134 Ah in 20 hours; 160 Ah rated");
        assert_eq!(full(190.0, &holds(200.0, 190.0, None)), "190 Ah; 200 Ah rated");
        assert_eq!(full(100.0, &holds(100.0, 100.0, None)), "100 Ah");
    }

    #[test]
    fn numbers_read_as_people_write_them() {
        assert_eq!(number(-0.04, 1), "0.0");
        assert_eq!(number(-1234.56, 1), "-1,234.6");
        assert_eq!(number(1_000_000.0, 0), "1,000,000");
        assert_eq!(number(f64::NAN, 1), "-");
        assert_eq!(trimmed(72.0, 1), "72");
        assert_eq!(trimmed(100.0, 0), "100");
        assert_eq!(percent(0.384), "38 %");
        assert_eq!(percent(0.004), "0.4 %");
        assert_eq!(percent(0.0), "0 %");
        assert_eq!(percent(0.0996), "10 %");
        assert_eq!(energy(412.3), "412 Wh");
        assert_eq!(energy(999.7), "1.00 kWh");
        assert_eq!(energy(31_415.0), "31.4 kWh");
        assert_eq!(energy(1_234_567.0), "1,235 kWh");
    }

    #[test]
    fn hours_never_round_away_what_happened() {
        assert_eq!(hours(1.0), "1 hour");
        assert_eq!(hours(0.5), "0.5 hours");
        assert_eq!(length(8760.0), "365 days");
        assert_eq!(length(240.0), "240 hours");
        assert_eq!(length(337.0), "337 hours");
        assert_eq!(hours_of(5.2, 72.0), "5.2 of 72 hours");
        assert_eq!(hours_of(71.99, 72.0), "71.9 of 72 hours");
        assert_eq!(hours_of(72.0, 72.0), "all 72 hours");
        assert_eq!(hours_of(1.0, 1.0), "the whole hour");
        assert_eq!(hours_of(0.001, 72.0), "less than a minute of 72 hours");
        assert_eq!(hours_of(0.5, 1.0), "30 minutes of 1 hour");
        assert_eq!(hours_of(1.0 / 60.0, 1.0), "1 minute of 1 hour");
        assert_eq!(hours_of(0.0, 1.0), "none of 1 hour");
    }

    #[test]
    fn times_carry_the_date_when_the_weekday_is_not_enough() {
        let time = at("2027-01-20T06:00:00-03:00");
        assert_eq!(moment(&time, 72.0), "Wednesday 06:00");
        assert_eq!(moment(&time, 240.0), "Wednesday 20 January 06:00");
        assert_eq!(moment(&time, 8760.0), "Wednesday 20 January 2027 06:00");
        assert_eq!(short_moment(&time, 240.0), "Wed 20 Jan 06:00");
        let end = at("2027-01-23T06:00:00-03:00");
        assert_eq!(period(&time, &end), "20 to 23 January 2027");
        assert_eq!(
            period(&time, &at("2028-02-01T00:00:00-03:00")),
            "20 January 2027 to 1 February 2028"
        );
        assert_eq!(period(&time, &time), "20 January 2027");
    }
}
