//! Reading a series: what is accepted, and where each problem is said to be.

use super::super::problem::SkyProblemKind as Kind;
use super::*;
use crate::scenario::sun::{Decimal, Delimiter, MeasuredTime, Stamp};

fn stamped() -> Measured {
    Measured {
        file: "a.csv".into(),
        time: MeasuredTime::Stamps { column: "time".into(), format: "%Y-%m-%d %H:%M".into() },
        stamp: Stamp::StartsHour,
        utc_offset: "-03:00".into(),
        ghi_column: "ghi".into(),
        dni_column: None,
        dhi_column: None,
        air_column: Some("air".into()),
        delimiter: Delimiter::Comma,
        decimal: Decimal::Point,
        resample: None,
        notes: None,
    }
}

fn counted(year: i32) -> Measured {
    let time = MeasuredTime::HoursOf { column: "time".into(), year };
    Measured { time, air_column: None, ..stamped() }
}

fn problems(measured: &Measured, text: &str) -> Vec<(Option<usize>, Kind)> {
    match Series::read(measured, text) {
        Ok(series) => panic!("accepted {series:?}"),
        Err(problems) => problems.into_iter().map(|found| (found.line, found.kind)).collect(),
    }
}

#[test]
fn accepts_comments_mark_of_order_and_both_line_ends() {
    for end in ["\n", "\r\n"] {
        let text = [
            "\u{feff}# a station",
            "# of ours",
            "time, ghi ,air",
            "2027-01-01 00:00,-2,1.5",
            "",
            "# a pause",
            "2027-01-01 01:00,10.5,2",
        ]
        .join(end);
        let series = Series::read(&stamped(), &text).unwrap();
        assert_eq!(series.first.to_rfc3339(), "2027-01-01T03:00:00+00:00");
        let read: Vec<_> =
            series.hours.iter().map(|hour| (hour.line, hour.ghi_w_m2, hour.air_c)).collect();
        assert_eq!(read, [(4, 0.0, Some(1.5)), (7, 10.5, Some(2.0))]);
        assert_eq!(series.at(series.first + Duration::hours(1)).unwrap().line, 7);
        assert_eq!(series.at(series.first + Duration::minutes(90)), None);
        assert_eq!(series.at(series.end()), None);
    }
}

#[test]
fn accepts_semicolons_with_decimal_commas() {
    let measured =
        Measured { delimiter: Delimiter::Semicolon, decimal: Decimal::Comma, ..stamped() };
    let series = Series::read(&measured, "time;ghi;air\n2027-01-01 00:00;10,5;-1,25\n").unwrap();
    assert_eq!((series.hours[0].ghi_w_m2, series.hours[0].air_c), (10.5, Some(-1.25)));
    let found = problems(&measured, "time;ghi;air\n2027-01-01 00:00;1.000,5;0\n");
    assert!(matches!(&found[..], [(Some(2), Kind::Number { .. })]), "{found:?}");
}

#[test]
fn a_stamp_that_ends_its_hour_begins_it_an_hour_earlier() {
    let measured = Measured { stamp: Stamp::EndsHour, ..stamped() };
    let text = "time,ghi,air\n2026-12-31 23:00,0,0\n2026-12-31 24:00,1,0\n2027-01-01 01:00,2,0\n";
    let series = Series::read(&measured, text).unwrap();
    assert_eq!(series.clock_of(0).to_string(), "2026-12-31 22:00:00");
    assert_eq!(series.clock_of(2).to_string(), "2027-01-01 00:00:00");
}

#[test]
fn a_stamp_without_minutes_is_a_full_hour() {
    let mut measured = stamped();
    measured.time = MeasuredTime::Stamps { column: "time".into(), format: "%Y%m%d %H".into() };
    let series = Series::read(&measured, "time,ghi,air\n20270101 07,0,0\n").unwrap();
    assert_eq!(series.clock_of(0).to_string(), "2027-01-01 07:00:00");
}

#[test]
fn all_problems_come_with_their_lines() {
    let text = "# comment\ntime,ghi,air\n\
        2027-01-01 00:00,0,1\n\
        2027-01-01 01:00,\"1,5\",1\n\
        2027-01-01 01:00,2,1\n\
        2027-01-01 05:00,-20,1\n\
        2027-01-01 04:00,5,99\n\
        2027-01-01 05:00,,1\n\
        2027-01-01 06:30,5,1\n\
        first of May,5,1\n\
        2027-01-01 08:00,5\n\
        2027-01-01 09:00,NaN,1\n";
    let found = problems(&stamped(), text);
    let lines: Vec<_> = found.iter().map(|(line, _)| line.unwrap()).collect();
    assert_eq!(lines, [4, 5, 6, 6, 7, 7, 8, 9, 10, 11, 12], "{found:?}");
    let kinds: Vec<_> = found.into_iter().map(|(_, kind)| kind).collect();
    assert!(matches!(kinds[0], Kind::Number { comma: true, .. }));
    assert!(matches!(kinds[1], Kind::Repeated(_)));
    assert!(matches!(kinds[2], Kind::Gap { hours: 3, .. }));
    assert!(matches!(kinds[3], Kind::OutOfRange { found: -20.0, .. }));
    assert!(matches!(kinds[4], Kind::OutOfOrder { .. }));
    assert!(matches!(kinds[5], Kind::OutOfRange { found: 99.0, .. }));
    assert!(matches!(kinds[6], Kind::Empty(_)));
    assert!(matches!(kinds[7], Kind::OffTheHour(_)));
    assert!(matches!(kinds[8], Kind::Stamp { .. }));
    assert!(matches!(kinds[9], Kind::FieldCount { found: 2, allowed: 3 }));
    assert!(matches!(kinds[10], Kind::Number { comma: false, .. }));
}

#[test]
fn a_missing_column_names_those_there_and_the_likely_one() {
    let found = Series::read(&stamped(), "time,GHI,temp\n2027-01-01 00:00,0,1\n").unwrap_err();
    let said: Vec<_> = found.iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "line 1: there is no column `ghi` (ghi_column); there are `time`, `GHI`, `temp`; did \
             you mean `GHI`?",
            "line 1: there is no column `air` (air_column); there are `time`, `GHI`, `temp`",
        ]
    );
    let twice = problems(&stamped(), "time,ghi,air,ghi\n");
    assert!(matches!(&twice[..], [(Some(1), Kind::ColumnTwice(name))] if name == "ghi"));
}

#[test]
fn what_is_declared_is_judged_first() {
    let bad = Measured {
        utc_offset: "west".into(),
        time: MeasuredTime::Stamps { column: "time".into(), format: "%Q".into() },
        ..stamped()
    };
    let found = problems(&bad, "");
    assert!(matches!(&found[..], [(None, Kind::Format(_)), (None, Kind::Offset(_))]));
    let same = Measured { decimal: Decimal::Comma, ..stamped() };
    assert!(matches!(&problems(&same, "")[..], [(None, Kind::SameMark)]));
    assert!(matches!(&problems(&counted(40_000), "")[..], [(None, Kind::Year { .. })]));
    assert!(matches!(&problems(&stamped(), "# nothing\n")[..], [(None, Kind::NoHeader)]));
    assert!(matches!(&problems(&stamped(), "time,ghi,air\n")[..], [(None, Kind::NoRows)]));
}

#[test]
fn a_typical_year_is_no_leap_year() {
    let rows: String = (0..8760).map(|hour| format!("{hour},0\n")).collect();
    let text = format!("time,ghi\n{rows}");
    assert_eq!(Series::read(&counted(2027), &text).unwrap().hours.len(), 8760);
    assert!(matches!(&problems(&counted(2028), &text)[..], [(None, Kind::LeapYear(2028))]));
    let beyond = problems(&counted(2027), "time,ghi\n8759,0\n8760,0\n-1,0\n0.5,0\n");
    let lines: Vec<_> = beyond.iter().map(|(line, _)| line.unwrap()).collect();
    assert_eq!(lines, [3, 4, 5]);
    assert!(beyond.iter().all(|(_, kind)| matches!(kind, Kind::HourNumber { last: 8759, .. })));
}

#[test]
fn beam_and_diffuse_close_on_the_level() {
    let sun = SunHour {
        daylight_share: 1.0,
        cos_zenith: 0.5,
        e0n_w_m2: 1380.0,
        e0h_w_m2: 690.0,
        dni_cap_w_m2: 900.0,
    };
    let hour =
        MeasuredHour { line: 1, ghi_w_m2: 400.0, dni_w_m2: None, dhi_w_m2: None, air_c: None };
    for (dni_w_m2, dhi_w_m2) in [(None, None), (Some(500.0), None), (None, Some(150.0))] {
        let light = MeasuredHour { dni_w_m2, dhi_w_m2, ..hour }.light(&sun);
        let level = light.dhi_w_m2 + light.dni_w_m2 * sun.cos_zenith;
        assert!((level - light.ghi_w_m2).abs() < 1e-9, "{light:?}");
        assert_eq!(dni_w_m2.unwrap_or(light.dni_w_m2), light.dni_w_m2);
        assert_eq!(dhi_w_m2.unwrap_or(light.dhi_w_m2), light.dhi_w_m2);
    }
    // A low sun: the beam of Erbs would be far above a clear sky's; the cut becomes diffuse.
    let low = SunHour { cos_zenith: 0.03, e0h_w_m2: 41.4, dni_cap_w_m2: 120.0, ..sun };
    let light = MeasuredHour { ghi_w_m2: 35.0, ..hour }.light(&low);
    assert_eq!(light.dni_w_m2, 120.0);
    assert!((light.dhi_w_m2 - (35.0 - 120.0 * 0.03)).abs() < 1e-12);
    // Light without sun is diffuse, and a beam without sun is none.
    let night = SunHour::default();
    assert_eq!(hour.light(&night).dhi_w_m2, 400.0);
    assert_eq!(MeasuredHour { dni_w_m2: Some(9.0), ..hour }.light(&night).dni_w_m2, 0.0);
}
