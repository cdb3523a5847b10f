//! The sky as a whole: relations that hold whatever the numbers.

use chrono::{DateTime, Duration, FixedOffset, NaiveDate, Timelike, Utc};

use super::clearness::{Clearness, Floor};
use super::climate::{ClimateTable, mean_day_states};
use super::problem::SkyProblemKind as Kind;
use super::view::View;
use super::{Sky, SkyProblem};
use crate::scenario::Named;
use crate::scenario::site::{HorizonPoint, Site};
use crate::scenario::sources::Array;
use crate::scenario::sun::{Climate, Sun};

fn site(latitude_deg: f64) -> Site {
    let mut site: Site = serde_json::from_value(serde_json::json!({
        "latitude_deg": 0.0, "longitude_deg": -45.0, "elevation_m": 12.0,
        "clock": {"fixed_offset": "-03:00"},
        "ground_reflectance_share": [0.6, 0.6, 0.4, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.4]
    }))
    .unwrap();
    site.latitude_deg = latitude_deg;
    site
}

fn arrays() -> Named<Array> {
    let array = |tilt_deg: f64, azimuth_deg: f64| -> Array {
        serde_json::from_value(serde_json::json!({
            "rated_w": 100.0, "count": 1, "tilt_deg": tilt_deg, "azimuth_deg": azimuth_deg,
            "controller": "c"
        }))
        .unwrap()
    };
    [("steep", array(60.0, 180.0)), ("flat", array(0.0, 0.0)), ("east", array(90.0, 90.0))]
        .map(|(name, array)| (name.to_owned(), array))
        .into_iter()
        .collect()
}

fn climate() -> Climate {
    serde_json::from_value(serde_json::json!({
        "ghi_kwh_m2_day": [1.40, 2.25, 3.40, 4.35, 5.20, 5.70, 5.65, 4.90, 3.70, 2.35, 1.45, 1.10],
        "air_mean_c": [-5, -5, -1, 4, 9, 14, 18, 18, 14, 9, 4, -2],
        "air_swing_c": [7, 7, 7, 8, 9, 9, 9, 9, 8, 7, 6, 6]
    }))
    .unwrap()
}

fn zone() -> FixedOffset {
    FixedOffset::west_opt(3 * 3600).unwrap()
}

fn start() -> DateTime<Utc> {
    "2027-01-18T21:00:00Z".parse().unwrap()
}

fn kinds(found: Result<Sky, Vec<SkyProblem>>) -> Vec<Kind> {
    found.unwrap_err().into_iter().map(|problem| problem.kind).collect()
}

fn points(points: &[(f64, f64)]) -> Vec<HorizonPoint> {
    points
        .iter()
        .map(|&(azimuth_deg, height_deg)| HorizonPoint { azimuth_deg, height_deg })
        .collect()
}

#[test]
fn a_skyline_only_takes_away() {
    let open =
        Sky::new(&site(45.0), &Sun::Climate(climate()), &arrays(), zone(), start(), 240, None)
            .unwrap();
    let mut walled = site(45.0);
    walled.horizon = points(&[(90.0, 3.0), (180.0, 6.0), (270.0, 3.0)]);
    let shut =
        Sky::new(&walled, &Sun::Climate(climate()), &arrays(), zone(), start(), 240, None).unwrap();
    let mut less = 0;
    for hour in 0..240 {
        for (open, shut) in open.in_plane_w_m2(hour).iter().zip(shut.in_plane_w_m2(hour)) {
            assert!(shut <= open);
            less += usize::from(shut < open);
        }
        assert_eq!(open.hours()[hour].light, shut.hours()[hour].light);
    }
    assert!(less > 200);
}

#[test]
fn hours_follow_standard_time_and_night_is_dark() {
    // 3:45 behind: hours of standard time begin at a quarter past in UTC.
    let odd = FixedOffset::west_opt(3 * 3600 + 45 * 60).unwrap();
    let sky =
        Sky::new(&site(45.0), &Sun::Climate(climate()), &arrays(), odd, start(), 48, None).unwrap();
    assert_eq!(sky.first().to_rfc3339(), "2027-01-18T20:45:00+00:00");
    assert_eq!(sky.index_of(start()), Some(0));
    assert_eq!(sky.index_of(start() + Duration::minutes(45)), Some(1));
    assert_eq!(sky.index_of(start() - Duration::hours(1)), None);
    assert_eq!(sky.index_of(sky.first() + Duration::hours(48)), None);
    assert_eq!(sky.hours().len(), 48);
    assert!(sky.in_plane_w_m2(48).is_empty());
    for (index, hour) in sky.hours().iter().enumerate() {
        let clock = (sky.first() + Duration::hours(index as i64)).with_timezone(&odd).hour();
        let light = hour.light.unwrap();
        if !(5..20).contains(&clock) {
            assert_eq!((light.ghi_w_m2, hour.daylight_share), (0.0, 0.0));
            assert!(sky.in_plane_w_m2(index).iter().all(|plane| *plane == 0.0));
        }
        assert!(light.ghi_w_m2 >= 0.0 && light.dni_w_m2 >= 0.0 && light.dhi_w_m2 >= 0.0);
        assert_eq!(light.ghi_w_m2 > 0.0, hour.daylight_share > 0.0);
    }
}

/// A flat array gets the global light less what glass keeps: between 0.9 and 1 of it by day.
#[test]
fn a_flat_array_gets_the_global_light() {
    let run = |hours| {
        Sky::new(&site(45.0), &Sun::Climate(climate()), &arrays(), zone(), start(), hours, None)
    };
    let sky = run(8760).unwrap();
    let level: f64 = sky.hours().iter().map(|hour| hour.light.unwrap().ghi_w_m2).sum();
    let flat: f64 = (0..8760).map(|hour| sky.in_plane_w_m2(hour)[1]).sum();
    assert!((0.93..0.98).contains(&(flat / level)), "{}", flat / level);
}

#[test]
fn clearer_days_are_brighter_and_less_diffuse() {
    let view = View::new(&site(45.0), &arrays());
    let date = NaiveDate::from_ymd_opt(2027, 4, 10).unwrap();
    let table = ClimateTable::new(&view, &climate(), zone(), date, 1).unwrap();
    let day = &table.days()[0];
    for hour in 8..16 {
        let lights = [0.05, 0.2, 0.4, 0.6, 0.75].map(|clearness| day.hours[hour].light(clearness));
        for pair in lights.windows(2) {
            assert!(pair[0].ghi_w_m2 < pair[1].ghi_w_m2);
            assert!(pair[0].dni_w_m2 < pair[1].dni_w_m2);
            let share = |index: usize| pair[index].dhi_w_m2 / pair[index].ghi_w_m2;
            assert!(share(0) > share(1));
        }
    }
    let shares: f64 = day.hours.iter().map(|hour| hour.ghi_per_clearness_w_m2).sum();
    assert!((shares / 1000.0 - day.extraterrestrial_kwh_m2).abs() < 1e-9);
    assert!(day.planes(24).is_empty());
    assert_eq!(day.planes(12).len(), 3);
}

/// Sixteen days stand for the whole distribution: against 2000 within half a percent.
#[test]
fn sixteen_states_are_enough() {
    let view = View::new(&site(55.0), &arrays());
    let date = NaiveDate::from_ymd_opt(2027, 1, 15).unwrap();
    let mut dim = climate();
    dim.ghi_kwh_m2_day[0] = 0.6;
    let table = ClimateTable::new(&view, &dim, zone(), date, 1).unwrap();
    let day = &table.days()[0];
    let law = Clearness::new(day.mean_clearness, Floor::On);
    let (mut few, mut many) = (0.0, 0.0);
    for hour in 0..24 {
        let mut planes = Vec::new();
        day.mean_hour(hour, &mut planes);
        few += planes[0];
        for state in 0..2000 {
            let clearness = law.quantile((f64::from(state) + 0.5) / 2000.0);
            let light = day.hours[hour].light(clearness);
            many += day.planes(hour)[0].in_plane_w_m2(&light) / 2000.0;
        }
    }
    assert!((few / many - 1.0).abs() < 0.005, "{few} against {many}");
    let states = mean_day_states(0.3);
    assert!((states.iter().sum::<f64>() / 16.0 - 0.3).abs() < 1e-12);
}

#[test]
fn polar_night_has_no_sun_and_no_complaint() {
    let mut polar = climate();
    polar.ghi_kwh_m2_day = [0.01, 0.5, 2.0, 4.0, 5.0, 5.2, 5.0, 3.5, 2.0, 0.8, 0.05, 0.0];
    let begin = "2027-12-10T00:00:00Z".parse().unwrap();
    let sun = Sun::Climate(polar);
    let sky = Sky::new(&site(70.0), &sun, &arrays(), zone(), begin, 72, None).unwrap();
    assert!(sky.hours().iter().all(|hour| hour.light.unwrap().ghi_w_m2 == 0.0));
    assert!(sky.hours().iter().all(|hour| hour.air_c.is_finite()));
}

#[test]
fn a_month_brighter_than_the_sun_allows_is_refused() {
    let mut wrong = climate();
    wrong.ghi_kwh_m2_day[0] = 5.0;
    let found =
        kinds(Sky::new(&site(45.0), &Sun::Climate(wrong), &arrays(), zone(), start(), 24, None));
    assert!(matches!(found[..], [Kind::MonthTooBright { month: 1, .. }]), "{found:?}");
}

#[test]
fn places_and_years_beyond_reach_are_problems_not_panics() {
    let run = |latitude: f64, begin: DateTime<Utc>, hours: usize| {
        Sky::new(&site(latitude), &Sun::Climate(climate()), &arrays(), zone(), begin, hours, None)
    };
    for found in [
        run(95.0, start(), 24),
        run(f64::NAN, start(), 24),
        run(45.0, "4000-01-01T00:00:00Z".parse().unwrap(), 24),
        run(45.0, start(), usize::MAX),
        run(45.0, start(), u32::MAX as usize),
        run(45.0, DateTime::<Utc>::MAX_UTC, 24),
        run(45.0, DateTime::<Utc>::MIN_UTC, 24),
    ] {
        assert!(matches!(kinds(found)[..], [Kind::Position(_)]));
    }
    // In January the south pole has sun and the north pole none, whatever the climate says.
    assert!(run(-90.0, start(), 24).is_ok() && run(90.0, start(), 24).is_err());
    assert!(run(45.0, start(), 0).unwrap().hours().is_empty());
}

#[test]
fn a_profile_comes_back_hour_by_hour() {
    let values: Vec<f64> = (0..24).map(f64::from).collect();
    let plane: Sun = serde_json::from_value(
        serde_json::json!({"profile": {"in_plane_w_m2": values, "air_c": 4.0}}),
    )
    .unwrap();
    let sky = Sky::new(&site(45.0), &plane, &arrays(), zone(), start(), 30, None).unwrap();
    // 21:00 UTC is 18:00 on the clock.
    assert_eq!(sky.in_plane_w_m2(0), [18.0; 3]);
    assert_eq!(sky.in_plane_w_m2(6), [0.0; 3]);
    assert_eq!(sky.hours()[3].light, None);
    assert_eq!(sky.hours()[3].air_c, 4.0);
    let share: Sun =
        serde_json::from_value(serde_json::json!({"profile": {"rated_share": values}})).unwrap();
    let sky = Sky::new(&site(45.0), &share, &arrays(), zone(), start(), 30, None).unwrap();
    assert_eq!(sky.hours()[1].rated_share, Some(19.0));
    assert_eq!(sky.in_plane_w_m2(1), [0.0; 3]);
    for (wrong, problem) in [
        (serde_json::json!({"profile": {}}), Kind::ProfileForm),
        (
            serde_json::json!({"profile": {"rated_share": [0.5]}}),
            Kind::ProfileLength { key: "rated_share", found: 1 },
        ),
    ] {
        let sun: Sun = serde_json::from_value(wrong).unwrap();
        let found = kinds(Sky::new(&site(45.0), &sun, &arrays(), zone(), start(), 30, None));
        assert_eq!(found, [problem]);
    }
}

fn measured(offset: &str, text: &str) -> Result<Sky, Vec<SkyProblem>> {
    let sun: Sun = serde_json::from_value(serde_json::json!({"measured": {
        "file": "a.csv", "time": {"hours_of": {"column": "hour", "year": 2027}},
        "stamp": "starts_hour", "utc_offset": offset, "ghi_column": "ghi"
    }}))
    .unwrap();
    Sky::new(&site(45.0), &sun, &arrays(), zone(), start(), 72, Some(text))
}

/// A year with half of the extraterrestrial light, at the hours of the site's clock.
fn half_year() -> String {
    let track = super::track::SunTrack::new(
        (&site(45.0)).into(),
        "2027-01-01T03:00:00Z".parse().unwrap(),
        "2028-01-01T03:00:00Z".parse().unwrap(),
    )
    .unwrap();
    let mut text = String::from("hour,ghi\n");
    for hour in 0..8760 {
        let date = NaiveDate::from_ymd_opt(2027, 1, 1).unwrap();
        let at = super::view::hour_start(date, hour, zone()).unwrap();
        let suns = super::hour::positions(&track, at);
        let light = suns.map_or(0.0, |suns| super::hour::extraterrestrial_w_m2(&suns) / 2.0);
        text.push_str(&format!("{hour},{light}\n"));
    }
    text
}

#[test]
fn a_measured_series_is_replayed_where_it_lies() {
    let text = half_year();
    let sky = measured("-03:00", &text).unwrap();
    let noon = sky.at("2027-01-19T15:00:00Z".parse().unwrap()).unwrap();
    assert!(noon.light.unwrap().ghi_w_m2 > 200.0);
    assert_eq!(noon.air_c, 20.0);
    // Its clock 6 h wrong: light at night, with lines.
    let found = measured("+03:00", &text).unwrap_err();
    assert!(found.len() > 365, "{}", found.len());
    assert!(found.iter().all(|problem| {
        problem.line.is_some() && matches!(problem.kind, Kind::TooBright { .. })
    }));
    // Its hours between those of the site; and too short.
    let apart = kinds(measured("-03:30", &text));
    assert!(apart.contains(&Kind::HoursApart { minutes: 30 }), "{:?}", &apart[..1]);
    let short = kinds(measured("-03:00", "hour,ghi\n0,0\n1,0\n"));
    assert!(matches!(short[..], [Kind::NotCovered { .. }]));
    let none = Sky::new(
        &site(45.0),
        &serde_json::from_value(serde_json::json!({"measured": {
            "file": "a.csv", "time": {"hours_of": {"column": "hour", "year": 2027}},
            "stamp": "starts_hour", "utc_offset": "-03:00", "ghi_column": "ghi"
        }}))
        .unwrap(),
        &arrays(),
        zone(),
        start(),
        72,
        None,
    );
    assert_eq!(kinds(none), [Kind::NoSeries]);
}
