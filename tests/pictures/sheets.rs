//! Pictures: text on the sheet and apart, every number finite, hostile names harmless.

use chrono::{NaiveDate, TimeDelta};
use longwatch::show::png::with_png;
use longwatch::show::span::Span;
use longwatch::show::text::width_px;
use longwatch::show::theme::{LABEL, Type};
use longwatch::show::{CHARTS, pictures};
use longwatch::simulate::ledger::{Ledger, Row};
use longwatch::simulate::summary::Summary;

use super::invented::{Station, summary_of};
use super::measure::{faults, laid_out, texts};

fn assert_sound(name: &str, ledger: &Ledger, summary: &Summary) {
    for chart in CHARTS {
        let picture = chart(ledger, summary);
        let faults = faults(&picture);
        assert!(faults.is_empty(), "{name}, {}: {faults:#?}", picture.name);
    }
}

#[test]
fn pictures_of_ordinary_runs_are_legible_and_left_for_eyes() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("target/pictures");
    std::fs::create_dir_all(&folder).unwrap();
    let stations = [
        ("72h", Station::january()),
        ("240h", Station::ten_days()),
        ("8760h", Station::year()),
        ("1h", Station::hour()),
    ];
    for (name, station) in stations {
        let (ledger, summary) = station.walk();
        assert_sound(name, &ledger, &summary);
        for (picture, png) in with_png(pictures(&ledger, &summary)).unwrap() {
            assert_eq!(&png[1..4], b"PNG");
            std::fs::write(folder.join(format!("{name}-{}.svg", picture.name)), &picture.svg)
                .unwrap();
            std::fs::write(folder.join(format!("{name}-{}.png", picture.name)), &png).unwrap();
        }
    }
}

#[test]
fn spans_of_every_length_keep_their_labels_apart() {
    for hours in [
        2, 5, 12, 23, 25, 36, 48, 96, 120, 168, 200, 336, 337, 500, 720, 1000, 1600, 2200, 3000,
        5000, 20_000,
    ] {
        for start in
            ["2027-02-27T18:00:00-03:00", "2027-12-30T23:00:00-03:00", "2027-03-13T00:00:00-03:00"]
        {
            let station = Station { hours, start, summer_time: true, ..Station::january() };
            let (ledger, summary) = station.walk();
            assert_sound(&format!("{hours} h from {start}"), &ledger, &summary);
        }
    }
}

#[test]
fn odd_stations_are_drawn() {
    let many: Vec<(&'static str, f64)> =
        (0..40).map(|k| ("one of many", 20.0 + f64::from(k))).collect();
    let odd = [
        ("five-minute steps", Station { step_min: 5, ..Station::january() }),
        ("five-minute steps, ten days", Station { step_min: 5, hours: 240, ..Station::january() }),
        ("many controllers", Station { controllers: many, ..Station::january() }),
        ("no load", Station { load_w: 0.0, ..Station::january() }),
        (
            "no sun, no mains",
            Station { controllers: Vec::new(), mains: false, ..Station::january() },
        ),
        (
            "dark all along",
            Station { start_share: 0.0, mains: false, sky: vec![0.0], ..Station::january() },
        ),
        (
            "large",
            Station {
                capacity_ah: 98_765.0,
                load_w: 45_678.0,
                controllers: vec![("field", 345_678.0)],
                ..Station::january()
            },
        ),
        (
            "small",
            Station {
                capacity_ah: 0.8,
                load_w: 0.3,
                controllers: vec![("leaf", 0.7)],
                ..Station::january()
            },
        ),
        ("window far off", Station { window: Some((9.0, "a", 33.0, "b")), ..Station::january() }),
        (
            "quarter-hour zone",
            Station { start: "2027-06-05T12:00:00+05:45", hours: 50, ..Station::january() },
        ),
        (
            "twelve tiers",
            Station {
                tiers: vec!["a", "b", "c", "d", "e", "f", "g", "h", "i", "j", "k", "l"],
                ..Station::january()
            },
        ),
    ];
    for (name, station) in odd {
        let (ledger, summary) = station.walk();
        assert_sound(name, &ledger, &summary);
    }
}

#[test]
fn hostile_names_are_harmless() {
    let long = "a very long name that goes on and on without an end ".repeat(8);
    let hostile = [
        "<script>alert('&amp;\"]]>')</script>",
        "\u{0}\u{1}\u{8}\u{b}tab\there\nnew line\u{7f}\u{85}",
        "\u{202E}right to left\u{202C}\u{FEFF}\u{FFFF}\u{200B}",
        "",
        "   ",
        "Κύματα и волны 海辺の局 محطة",
        "e\u{301}\u{301}\u{301}\u{301}",
        long.as_str(),
        "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW",
    ];
    for name in hostile {
        let (mut ledger, mut summary) = Station::january().walk();
        ledger.heads.title = name.to_owned();
        for (k, source) in ledger.heads.sources.iter_mut().enumerate() {
            source.name = if k == 0 { name.to_owned() } else { format!("{name}{k}") };
        }
        ledger.heads.groups = vec![name.to_owned(), name.to_owned()];
        ledger.heads.tiers = (0..4).map(|k| format!("{name}{k}")).collect();
        if let Some(window) = &mut ledger.heads.window_v {
            (window.lowest_load, window.highest_load) = (name.to_owned(), name.to_owned());
        }
        summary.title = name.to_owned();
        summary.tier_h = ledger.heads.tiers.iter().map(|tier| (tier.clone(), 18.0)).collect();
        assert_sound(name, &ledger, &summary);
        for picture in pictures(&ledger, &summary) {
            assert!(!picture.svg.contains("<script"), "markup got through");
            assert!(picture.svg.chars().all(|c| c == '\n' || !c.is_control()));
        }
    }
}

#[test]
fn values_that_are_not_numbers_are_left_out_and_told() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let (mut ledger, mut summary) = Station::january().walk();
        ledger.rows[10].mean_v = bad;
        ledger.rows[11].charge_end_share = bad;
        ledger.rows[30].sources[0].used_wh = bad;
        ledger.rows[71].stored_end_wh = bad;
        summary.lowest_charge_share = bad;
        summary.lowest_v = bad;
        summary.stored_change_wh = bad;
        assert_sound("not numbers", &ledger, &summary);
        for picture in pictures(&ledger, &summary) {
            let told =
                texts(&picture).iter().any(|(words, _)| words.contains("4 steps are left out"));
            assert!(told, "{}", picture.name);
        }
        for row in &mut ledger.rows {
            row.lowest_v = bad;
        }
        assert_sound("nothing left", &ledger, &summary);
    }
}

#[test]
fn no_value_makes_a_picture_fail() {
    let fields: [fn(&mut Row) -> &mut f64; 23] = [
        |r| &mut r.hours,
        |r| &mut r.daylight_share,
        |r| &mut r.grid_share,
        |r| &mut r.supply_share,
        |r| &mut r.shed_wh,
        |r| &mut r.standby_wh,
        |r| &mut r.heater_wh,
        |r| &mut r.losses.wiring_wh,
        |r| &mut r.stored_start_wh,
        |r| &mut r.stored_end_wh,
        |r| &mut r.charge_start_share,
        |r| &mut r.charge_end_share,
        |r| &mut r.charge_lowest_share,
        |r| &mut r.mean_v,
        |r| &mut r.lowest_v,
        |r| &mut r.highest_v,
        |r| &mut r.open_h,
        |r| &mut r.no_power_h,
        |r| r.first_dark_h.get_or_insert(0.0),
        |r| &mut r.sources[0].used_wh,
        |r| &mut r.sources[1].curtailed_wh,
        |r| &mut r.groups[0].served_wh,
        |r| &mut r.groups[0].unserved_wh,
    ];
    let station = Station { hours: 30, ..Station::january() };
    for value in [-1.0, 0.0, 1e-300, 1e12, -1e300, f64::MAX, f64::NAN, f64::INFINITY] {
        for field in fields {
            let (mut ledger, mut summary) = station.walk();
            *field(&mut ledger.rows[0]) = value;
            *field(&mut ledger.rows[7]) = value;
            *field(&mut ledger.rows[29]) = value;
            summary.unserved_wh = value;
            summary.load_wh = value;
            summary.hours = value;
            for picture in pictures(&ledger, &summary) {
                let document = resvg::usvg::roxmltree::Document::parse(&picture.svg).unwrap();
                for attribute in document.descendants().flat_map(|node| node.attributes()) {
                    let text = attribute.value();
                    assert!(!text.contains("NaN") && !text.contains("inf"), "{value}: {text}");
                }
            }
            assert!(!longwatch::show::run_table(&ledger, &summary).is_empty());
            assert!(longwatch::show::export::ledger_csv(&ledger).is_ok());
        }
    }
}

#[test]
fn an_empty_book_gives_a_sheet_that_says_so() {
    let (mut ledger, summary) = Station::january().walk();
    ledger.rows.clear();
    for picture in pictures(&ledger, &summary) {
        assert!(picture.title.starts_with("Nothing to draw"));
        assert!(super::measure::faults(&picture).is_empty());
    }
}

#[test]
fn the_line_of_charge_runs_where_the_book_says() {
    let (ledger, summary) = Station::january().walk();
    let picture = longwatch::show::charge::charge(&ledger, &summary);
    let document = resvg::usvg::roxmltree::Document::parse(&picture.svg).unwrap();
    // The leading line is 2.2 px wide; the plot runs from its first to its last point.
    let line =
        document.descendants().find(|node| node.attribute("stroke-width") == Some("22")).unwrap();
    let points: Vec<(f64, f64)> = line
        .attribute("points")
        .unwrap()
        .split_whitespace()
        .map(|pair| pair.split_once(',').unwrap())
        .map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap()))
        .collect();
    assert_eq!(points.len(), 73);
    let shares: Vec<f64> = std::iter::once(ledger.rows[0].charge_start_share)
        .chain(ledger.rows.iter().map(|row| row.charge_end_share))
        .collect();
    // Height of the plot: 260 px for the whole charge, drawn ten times as fine; whole units, so half
    // a unit of rounding at each end.
    for k in 1..73 {
        let drop = (points[k].1 - points[0].1) / 2600.0;
        assert!((drop - (shares[0] - shares[k])).abs() < 1.01 / 2600.0, "step {k}");
        let along = (points[k].0 - points[0].0) / (points[72].0 - points[0].0);
        assert!((along - k as f64 / 72.0).abs() < 1e-3);
    }
}

#[test]
fn days_begin_at_real_local_midnights() {
    // Clocks go forward on day 73 of the invented year (14 March) and back on day 311.
    let station = Station {
        hours: 72,
        start: "2027-03-12T12:00:00-03:00",
        summer_time: true,
        ..Station::january()
    };
    let (ledger, _) = station.walk();
    let span = Span::of(&ledger).unwrap();
    let date = |day| NaiveDate::from_ymd_opt(2027, 3, day).unwrap();
    // The offset changes at 2027-03-14T00:00-03:00, which is 01:00 in summer time: that day begins
    // where the date changes, and is 23 hours long.
    assert_eq!(
        span.days(),
        [(0.0, date(12)), (12.0, date(13)), (36.0, date(14)), (59.0, date(15))]
    );
    let marks = span.clock_marks(720);
    assert!(marks.iter().all(|(at_h, _)| (0.0..=72.0).contains(at_h)));
    let zone = Station { start: "2027-06-05T12:00:00+05:45", hours: 30, ..Station::hour() };
    let (mut ledger, _) = zone.walk();
    // Steps at a quarter to: midnight falls inside one.
    for row in &mut ledger.rows {
        row.start += TimeDelta::minutes(45);
    }
    let span = Span::of(&ledger).unwrap();
    let days: Vec<f64> = span.days().iter().map(|(at_h, _)| *at_h).collect();
    assert_eq!(days, [0.0, 11.25]);
    let first = span.clock_marks(360)[0];
    assert_eq!((first.0, first.1.to_string()), (5.25, "18:00:00".to_owned()));
}

#[test]
fn pictures_do_not_depend_on_the_number_of_threads() {
    let (ledger, summary) = Station::january().walk();
    let with = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| with_png(pictures(&ledger, &summary)).unwrap())
    };
    assert!(with(1) == with(7));
}

#[test]
fn widths_are_those_of_the_font() {
    // Metrics of DejaVu Sans 2.37 as laid out by the renderer, kerning off. Tolerance: single-precision
    // layout.
    let size_px = 100.0;
    let face = |bold| Type { size_px, bold, ..LABEL };
    let codes = (0x21..=0x7E_u32).chain(0xA1..=0xFF).filter(|code| *code != 0xAD);
    let tried: Vec<(String, bool)> = codes
        .filter_map(char::from_u32)
        // One `f` only: two would be drawn as a ligature.
        .map(|c| format!("x{}x", c.to_string().repeat(if c == 'f' { 1 } else { 4 })))
        .flat_map(|words| [false, true].map(|bold| (words.clone(), bold)))
        .collect();
    let measured = laid_out(&tried, size_px);
    assert_eq!(measured.len(), tried.len());
    for ((words, bold), width) in tried.iter().zip(measured) {
        let ours = width_px(words, face(*bold));
        assert!((ours - width).abs() < 0.2, "{words} bold {bold}: {ours} against {width}");
    }
}

#[test]
fn a_summary_that_disagrees_with_its_book_is_still_drawn() {
    let (ledger, _) = Station::january().walk();
    let (_, summary) = Station::year().walk();
    assert_sound("another run's summary", &ledger, &summary);
    let same = summary_of(&ledger);
    assert!(same.hours < summary.hours);
}
