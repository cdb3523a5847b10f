//! Dates of clock changes: EU Directive 2000/84/EC (last Sundays of March and October, 01:00
//! UTC); Lord Howe and Nepal as printed in the IANA time zone database.

use chrono::{NaiveDate, Timelike};
use proptest::prelude::*;

use super::*;

fn zone(name: &str) -> LocalClock {
    LocalClock::new(&Clock::Zone(name.into())).unwrap()
}

fn naive(text: &str) -> NaiveDateTime {
    NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M").unwrap()
}

fn utc(text: &str) -> DateTime<Utc> {
    naive(text).and_utc()
}

fn east_min(minutes: i32) -> FixedOffset {
    FixedOffset::east_opt(minutes * 60).unwrap()
}

#[test]
fn zurich_2025_has_a_day_of_23_hours_and_one_of_25() {
    let zurich = zone("Europe/Zurich");
    let hours = |from: &str, to: &str| {
        (zurich.instant(naive(to)).unwrap() - zurich.instant(naive(from)).unwrap()).num_hours()
    };
    assert_eq!(hours("2025-03-30T00:00", "2025-03-31T00:00"), 23);
    assert_eq!(hours("2025-10-26T00:00", "2025-10-27T00:00"), 25);
    assert_eq!(hours("2025-06-01T00:00", "2025-06-02T00:00"), 24);
    assert_eq!(
        zurich.offset_changes(utc("2025-01-01T00:00"), utc("2026-01-01T00:00")),
        [utc("2025-03-30T01:00"), utc("2025-10-26T01:00")]
    );
}

#[test]
fn a_change_on_the_edge_of_the_span_is_not_inside_it() {
    let zurich = zone("Europe/Zurich");
    let change = utc("2025-03-30T01:00");
    assert!(zurich.offset_changes(change, change + Duration::days(3)).is_empty());
    assert!(zurich.offset_changes(change - Duration::days(3), change).is_empty());
    assert_eq!(
        zurich.offset_changes(change - Duration::seconds(1), change + Duration::seconds(1)),
        [change]
    );
}

#[test]
fn the_skipped_hour_names_both_offsets() {
    let problem = zone("Europe/Zurich").instant(naive("2025-03-30T02:30")).unwrap_err();
    assert!(matches!(problem, NotOneInstant::Skipped { before, after, .. }
        if before == east_min(60) && after == east_min(120)));
    assert_eq!(
        problem.to_string(),
        "2025-03-30T02:30 does not exist: the clock jumps over it, from UTC+01:00 to UTC+02:00"
    );
}

#[test]
fn the_repeated_hour_names_both_offsets() {
    let problem = zone("Europe/Zurich").instant(naive("2025-10-26T02:30")).unwrap_err();
    assert!(matches!(problem, NotOneInstant::Twice { earlier, later, .. }
        if earlier == east_min(120) && later == east_min(60)));
    assert_eq!(
        problem.to_string(),
        "2025-10-26T02:30 happens twice: the clock goes back over it, from UTC+02:00 to UTC+01:00"
    );
}

#[test]
fn the_edges_of_the_odd_hours_are_one_instant() {
    let zurich = zone("Europe/Zurich");
    assert_eq!(zurich.instant(naive("2025-03-30T01:59")), Ok(utc("2025-03-30T00:59")));
    assert_eq!(zurich.instant(naive("2025-03-30T03:00")), Ok(utc("2025-03-30T01:00")));
    assert_eq!(zurich.instant(naive("2025-10-26T01:59")), Ok(utc("2025-10-25T23:59")));
    assert_eq!(zurich.instant(naive("2025-10-26T03:00")), Ok(utc("2025-10-26T02:00")));
}

#[test]
fn a_whole_date_can_be_left_out() {
    // Samoa went from UTC-10 to UTC+14 and had no 30 December 2011.
    let problem = zone("Pacific/Apia").instant(naive("2011-12-30T12:00")).unwrap_err();
    assert!(matches!(problem, NotOneInstant::Skipped { before, after, .. }
        if before == east_min(-600) && after == east_min(840)));
}

#[test]
fn offsets_need_not_be_whole_hours() {
    assert_eq!(
        zone("Asia/Kathmandu").local(utc("2027-01-18T18:15")).naive_local(),
        naive("2027-01-19T00:00")
    );
    let howe = zone("Australia/Lord_Howe");
    assert_eq!(howe.offset(utc("2027-01-01T00:00")), east_min(660));
    assert_eq!(howe.offset(utc("2027-07-01T00:00")), east_min(630));
    assert_eq!(howe.standard_offset(utc("2027-01-01T00:00")), east_min(630));
}

#[test]
fn standard_time_knows_no_summer() {
    for (name, minutes) in
        [("Europe/Zurich", 60), ("America/Halifax", -240), ("Australia/Sydney", 600)]
    {
        for month in 1..=12 {
            let at = NaiveDate::from_ymd_opt(2027, month, 15)
                .unwrap()
                .and_hms_opt(12, 0, 0)
                .unwrap()
                .and_utc();
            assert_eq!(zone(name).standard_offset(at), east_min(minutes), "{name} month {month}");
        }
    }
    let fixed = LocalClock::from_offset_text("-03:30").unwrap();
    assert_eq!(fixed.standard_offset(utc("2027-07-01T00:00")), east_min(-210));
}

#[test]
fn no_zone_changes_its_clock_there_and_back_within_a_day() {
    for &zone in &TZ_VARIANTS {
        let clock = LocalClock(Kind::Zone(zone));
        let (from, to) = (utc("2010-01-01T00:00"), utc("2040-01-01T00:00"));
        let changes = clock.offset_changes(from, to);
        let close = changes.windows(2).find(|pair| pair[1] - pair[0] < Duration::days(2));
        assert_eq!(close, None, "{zone}");
        // A second look at every six hours finds no other change.
        let mut at = from;
        let mut seen = 0;
        while at < to {
            let next = at + Duration::hours(6);
            seen += usize::from(clock.offset(at) != clock.offset(next));
            at = next;
        }
        assert_eq!(seen, changes.len(), "{zone}");
    }
}

#[test]
fn a_misspelt_zone_brings_its_neighbours() {
    for (found, meant) in [
        ("Europ/Zurich", "Europe/Zurich"),
        ("europe/zurich", "Europe/Zurich"),
        ("Halifax", "America/Halifax"),
        ("America/New York", "America/New_York"),
        ("Asia/Katmandoo", "Asia/Katmandu"),
    ] {
        let problem = LocalClock::new(&Clock::Zone(found.into())).unwrap_err();
        assert_eq!(problem.found, found);
        assert!(problem.near.iter().any(|near| near == meant), "{found}: {:?}", problem.near);
    }
    let problem = LocalClock::new(&Clock::Zone("Europ/Zurich".into())).unwrap_err();
    let text = problem.to_string();
    assert!(
        text.starts_with("`Europ/Zurich` is not a name of the IANA time zone database"),
        "{text}"
    );
    assert!(text.ends_with("did you mean `Europe/Zurich`?"), "{text}");
    assert!(LocalClock::new(&Clock::Zone(String::new())).unwrap_err().near.is_empty());
}

#[test]
fn says_which_clock_it_is() {
    assert_eq!(zone("Europe/Zurich").to_string(), "Europe/Zurich");
    assert_eq!(LocalClock::from_offset_text("-03:30").unwrap().to_string(), "UTC-03:30");
}

#[test]
fn years_without_known_rules_are_refused() {
    for clock in [zone("Europe/Zurich"), LocalClock::from_offset_text("-03:00").unwrap()] {
        for local in [
            naive("1969-12-31T23:59"),
            naive("2100-01-01T00:00"),
            NaiveDateTime::MAX,
            NaiveDateTime::MIN,
        ] {
            assert_eq!(clock.instant(local), Err(NotOneInstant::OutsideYears { local }));
        }
        // Looking up never fails, not even at the ends of time.
        let _ = clock.local(DateTime::<Utc>::MAX_UTC);
        let _ = clock.local(DateTime::<Utc>::MIN_UTC);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// The way back from the wall clock leads to the instant, or says that there are two.
    #[test]
    fn the_way_back_leads_home(zone_at in 0..TZ_VARIANTS.len(), minute in 0_i64..60 * 24 * 365 * 40) {
        let clock = LocalClock(Kind::Zone(TZ_VARIANTS[zone_at]));
        let instant = utc("2000-01-01T00:00") + Duration::minutes(minute);
        let local = clock.local(instant).naive_local();
        prop_assume!(local.second() == 0);
        match clock.instant(local) {
            Ok(back) => prop_assert_eq!(back, instant),
            Err(NotOneInstant::Twice { earlier, later, .. }) => {
                let first = earlier.from_local_datetime(&local).unwrap().to_utc();
                let second = later.from_local_datetime(&local).unwrap().to_utc();
                prop_assert!(first < second && (first == instant || second == instant));
            }
            Err(other) => prop_assert!(false, "{}", other),
        }
    }
}
