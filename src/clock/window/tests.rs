use super::*;
use crate::scenario::basis::chrono_date::Date;
use crate::scenario::site::Clock;
use proptest::prelude::*;

fn clock(name: &str) -> LocalClock {
    let named = if name.starts_with(['+', '-']) {
        Clock::FixedOffset(name.into())
    } else {
        Clock::Zone(name.into())
    };
    LocalClock::new(&named).unwrap()
}

fn naive(text: &str) -> NaiveDateTime {
    NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M").unwrap()
}

fn utc(text: &str) -> DateTime<Utc> {
    naive(text).and_utc()
}

fn window(from: &str, to: &str) -> Window {
    Window { from: Some(from.into()), to: Some(to.into()), ..Window::default() }
}

fn compiled(window: &Window) -> TimesOfDay {
    TimesOfDay::new(window).unwrap()
}

fn dates(texts: &[&str]) -> Option<Vec<Date>> {
    Some(texts.iter().map(|text| Date(text.parse().unwrap())).collect())
}

/// Minutes for which it is open in a span, counted one by one.
fn open_minutes(
    times: &TimesOfDay,
    clock: &LocalClock,
    from: DateTime<Utc>,
    to: DateTime<Utc>,
) -> usize {
    (0..(to - from).num_minutes())
        .filter(|&minute| times.open_at(clock, from + Duration::minutes(minute)))
        .count()
}

/// Changes found by looking at every minute.
fn scan(
    times: &TimesOfDay,
    clock: &LocalClock,
    from: DateTime<Utc>,
    to: DateTime<Utc>,
) -> Vec<DateTime<Utc>> {
    (1..(to - from).num_minutes())
        .map(|minute| from + Duration::minutes(minute))
        .filter(|&at| times.open_at(clock, at) != times.open_at(clock, at - Duration::minutes(1)))
        .collect()
}

#[test]
fn is_half_open() {
    let times = compiled(&window("06:00", "23:00"));
    assert!(!times.contains(naive("2027-01-18T05:59")));
    assert!(times.contains(naive("2027-01-18T06:00")));
    assert!(times.contains(naive("2027-01-18T22:59")));
    assert!(!times.contains(naive("2027-01-18T23:00")));
}

#[test]
fn what_is_absent_does_not_restrict() {
    let always = compiled(&Window::default());
    assert!(
        always.contains(naive("2027-01-18T00:00")) && always.contains(naive("2027-01-18T23:59"))
    );
    let (from, to) = (utc("2027-01-01T00:00"), utc("2028-01-01T00:00"));
    assert!(always.changes_between(&clock("Europe/Zurich"), from, to).is_empty());
    let until_six = compiled(&Window { to: Some("06:00".into()), ..Window::default() });
    assert!(
        until_six.contains(naive("2027-01-18T00:00"))
            && !until_six.contains(naive("2027-01-18T06:00"))
    );
    let from_six = compiled(&Window { from: Some("06:00".into()), ..Window::default() });
    assert!(
        from_six.contains(naive("2027-01-18T23:59"))
            && !from_six.contains(naive("2027-01-19T05:59"))
    );
}

#[test]
fn the_end_of_the_day_can_be_written_both_ways() {
    let midnight = compiled(&window("22:00", "00:00"));
    let end_of_day = compiled(&window("22:00", "24:00"));
    for hour in 0..24 {
        let local = naive("2027-01-18T00:00") + Duration::hours(hour);
        assert_eq!(midnight.contains(local), hour >= 22);
        assert_eq!(end_of_day.contains(local), hour >= 22);
    }
}

#[test]
fn over_midnight_it_belongs_to_the_day_on_which_it_began() {
    // 18 January 2027 is a Monday.
    let monday_night =
        compiled(&Window { days: Some(vec![Weekday::Mon]), ..window("22:00", "06:00") });
    assert!(!monday_night.contains(naive("2027-01-18T05:00")));
    assert!(monday_night.contains(naive("2027-01-18T22:00")));
    assert!(monday_night.contains(naive("2027-01-19T05:59")));
    assert!(!monday_night.contains(naive("2027-01-19T06:00")));
    assert!(!monday_night.contains(naive("2027-01-19T22:00")));
    let that_night =
        compiled(&Window { dates: dates(&["2027-01-20"]), ..window("22:00", "06:00") });
    assert_eq!(
        that_night.changes_between(
            &clock("-03:00"),
            utc("2027-01-01T00:00"),
            utc("2027-03-01T00:00")
        ),
        [utc("2027-01-21T01:00"), utc("2027-01-21T09:00")]
    );
}

#[test]
fn from_a_time_to_the_same_time_is_a_day() {
    let times = compiled(&Window { days: Some(vec![Weekday::Sat]), ..window("12:00", "12:00") });
    // 23 January 2027 is a Saturday.
    let changes =
        times.changes_between(&clock("+00:00"), utc("2027-01-18T00:00"), utc("2027-01-25T00:00"));
    assert_eq!(changes, [utc("2027-01-23T12:00"), utc("2027-01-24T12:00")]);
}

#[test]
fn minutes_of_the_hour_restrict_further() {
    let times = compiled(&Window { minutes: Some([0, 5]), ..window("18:00", "20:00") });
    let changes =
        times.changes_between(&clock("-03:00"), utc("2027-01-18T03:00"), utc("2027-01-19T03:00"));
    assert_eq!(
        changes,
        [
            utc("2027-01-18T21:00"),
            utc("2027-01-18T21:05"),
            utc("2027-01-18T22:00"),
            utc("2027-01-18T22:05")
        ]
    );
    // The last minutes of an hour end with the hour, also at midnight.
    let last = compiled(&Window { minutes: Some([55, 60]), ..Window::default() });
    assert_eq!(
        open_minutes(&last, &clock("+05:45"), utc("2027-01-18T00:00"), utc("2027-01-19T00:00")),
        24 * 5
    );
    assert_eq!(
        last.changes_between(&clock("+05:45"), utc("2027-01-18T00:00"), utc("2027-01-19T00:00"))
            .len(),
        48
    );
}

#[test]
fn a_skipped_hour_is_absent_and_a_repeated_one_counts_twice() {
    // Zurich 2025: EU Directive 2000/84/EC, 30 March and 26 October at 01:00 UTC.
    let zurich = clock("Europe/Zurich");
    let (spring, autumn) = (utc("2025-03-29T12:00"), utc("2025-10-25T12:00"));
    let minutes = |window: &Window, from| {
        open_minutes(&compiled(window), &zurich, from, from + Duration::days(1))
    };
    for (from, to, usual, in_spring, in_autumn) in [
        ("02:00", "03:00", 60, 0, 120),
        ("01:30", "02:30", 60, 30, 90),
        ("22:00", "06:00", 480, 420, 540),
        ("03:00", "04:00", 60, 60, 60),
    ] {
        assert_eq!(minutes(&window(from, to), utc("2025-06-01T12:00")), usual, "{from}");
        assert_eq!(minutes(&window(from, to), spring), in_spring, "{from} in spring");
        assert_eq!(minutes(&window(from, to), autumn), in_autumn, "{from} in autumn");
    }
    // In autumn the window from 01:30 to 02:30 opens, shuts, opens with the jump and shuts again.
    let changes = compiled(&window("01:30", "02:30")).changes_between(
        &zurich,
        autumn,
        autumn + Duration::days(1),
    );
    assert_eq!(
        changes,
        [
            utc("2025-10-25T23:30"),
            utc("2025-10-26T00:30"),
            utc("2025-10-26T01:00"),
            utc("2025-10-26T01:30")
        ]
    );
    // In spring it shuts with the jump.
    let changes = compiled(&window("01:30", "02:30")).changes_between(
        &zurich,
        spring,
        spring + Duration::days(1),
    );
    assert_eq!(changes, [utc("2025-03-30T00:30"), utc("2025-03-30T01:00")]);
}

#[test]
fn edges_of_the_span_are_not_inside_it() {
    let times = compiled(&window("06:00", "23:00"));
    let utc_clock = clock("+00:00");
    assert!(
        times
            .changes_between(&utc_clock, utc("2027-01-18T06:00"), utc("2027-01-18T23:00"))
            .is_empty()
    );
    assert!(
        times
            .changes_between(&utc_clock, utc("2027-01-18T23:00"), utc("2027-01-18T06:00"))
            .is_empty()
    );
    let just = times.changes_between(&utc_clock, utc("2027-01-18T05:59"), utc("2027-01-18T06:01"));
    assert_eq!(just, [utc("2027-01-18T06:00")]);
}

#[test]
fn the_ends_of_time_do_no_harm() {
    let times = compiled(&Window { minutes: Some([0, 5]), ..window("22:00", "06:00") });
    let (day, zurich) = (Duration::days(1), clock("Europe/Zurich"));
    let _ =
        times.changes_between(&zurich, DateTime::<Utc>::MAX_UTC - day, DateTime::<Utc>::MAX_UTC);
    let _ =
        times.changes_between(&zurich, DateTime::<Utc>::MIN_UTC, DateTime::<Utc>::MIN_UTC + day);
    assert!(!times.contains(NaiveDateTime::MIN), "the first night of all has no evening before it");
}

#[test]
fn all_problems_come_at_once() {
    let wrong = Window {
        days: Some(vec![]),
        dates: Some(vec![]),
        from: Some("24:00".into()),
        to: Some("7:30".into()),
        minutes: Some([30, 61]),
        notes: None,
    };
    let problems = TimesOfDay::new(&wrong).unwrap_err();
    let fields: Vec<_> = problems.iter().map(|problem| problem.field).collect();
    assert_eq!(fields, ["from", "to", "minutes", "days", "dates"]);
    assert_eq!(
        problems[0].to_string(),
        "`from` is `24:00`; a time `HH:MM` from `00:00` to `23:59` is allowed"
    );
    assert_eq!(problems[2].found, "[30, 61]");
}

#[test]
fn minutes_must_be_a_stretch() {
    for minutes in [[5, 5], [10, 5], [0, 61], [60, 60], [0, u32::MAX]] {
        let problems =
            TimesOfDay::new(&Window { minutes: Some(minutes), ..Window::default() }).unwrap_err();
        assert_eq!(problems.len(), 1);
        assert_eq!(problems[0].field, "minutes");
    }
    assert!(TimesOfDay::new(&Window { minutes: Some([0, 60]), ..Window::default() }).is_ok());
}

#[test]
fn a_window_that_never_opens_is_a_problem() {
    let never = Window { minutes: Some([30, 40]), ..window("19:00", "19:20") };
    assert_eq!(TimesOfDay::new(&never).unwrap_err()[0].field, "minutes");
    // 20 January 2027 is a Wednesday.
    let other_day = Window {
        days: Some(vec![Weekday::Mon]),
        dates: dates(&["2027-01-20"]),
        ..Window::default()
    };
    let problems = TimesOfDay::new(&other_day).unwrap_err();
    assert_eq!((problems[0].field, problems[0].found.as_str()), ("dates", "2027-01-20"));
}

/// Clocks with summer time of an hour and of half an hour, at midnight, south of the equator,
/// with Ramadan, and with odd offsets.
const CLOCKS: [&str; 9] = [
    "Europe/Zurich",
    "America/Halifax",
    "Australia/Lord_Howe",
    "America/Santiago",
    "Africa/Cairo",
    "Africa/Casablanca",
    "Asia/Kathmandu",
    "-03:30",
    "+12:45",
];

fn any_window() -> impl Strategy<Value = Window> {
    let minute = 0_u32..1440;
    let stretch = (0_u32..60).prop_flat_map(|first| (Just(first), first + 1..=60));
    (minute.clone(), minute, proptest::option::of(1_u8..128), proptest::option::of(stretch))
        .prop_map(|(from, to, days, minutes)| {
            let text = |minute: u32| Some(format!("{:02}:{:02}", minute / 60, minute % 60));
            let all = [
                Weekday::Mon,
                Weekday::Tue,
                Weekday::Wed,
                Weekday::Thu,
                Weekday::Fri,
                Weekday::Sat,
                Weekday::Sun,
            ];
            Window {
                from: text(from),
                to: text(to),
                days: days.map(|bits| {
                    all.into_iter()
                        .enumerate()
                        .filter(|(day, _)| bits >> day & 1 == 1)
                        .map(|(_, day)| day)
                        .collect()
                }),
                minutes: minutes.map(|(first, end)| [first, end]),
                ..Window::default()
            }
        })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 200, ..ProptestConfig::default() })]

    /// Looking at every minute finds the same changes: half of the spans lie around a jump.
    #[test]
    fn changes_are_those_of_a_scan(
        window in any_window(), name in proptest::sample::select(&CLOCKS[..]),
        start_min in 0_i64..60 * 24 * 365, span_min in 1_i64..60 * 24 * 4, near_jump in any::<bool>(),
    ) {
        let clock = clock(name);
        let year = utc("2025-01-01T00:00");
        let jumps = clock.offset_changes(year, year + Duration::days(365));
        let from = match jumps.get(usize::try_from(start_min).unwrap() % jumps.len().max(1)) {
            Some(&jump) if near_jump => jump - Duration::minutes(start_min % (60 * 24)),
            _ => year + Duration::minutes(start_min),
        };
        let to = from + Duration::minutes(span_min);
        // A window whose minutes never come is refused, and nothing else that is drawn here.
        match TimesOfDay::new(&window) {
            Ok(times) => prop_assert_eq!(times.changes_between(&clock, from, to), scan(&times, &clock, from, to)),
            Err(problems) => prop_assert!(problems.iter().all(|problem| problem.field == "minutes")),
        }
    }
}
