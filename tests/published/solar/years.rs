//! Two typical years (NREL, TMY3) through the program.

use std::iter::once;

use chrono::{DateTime, Datelike, Duration, FixedOffset, Timelike, Utc};
use longwatch::scenario::Named;
use longwatch::scenario::site::{ByMonth, Clock, HorizonPoint, Site};
use longwatch::scenario::sources::Array;
use longwatch::scenario::sun::{
    Climate, Decimal, Delimiter, Measured, MeasuredTime, Stamp, Sun, usual_persistence,
};
use longwatch::sky::Sky;
use longwatch::sky::hour::{SunHour, positions};
use longwatch::sky::measured::Series;
use longwatch::sky::position::Place;
use longwatch::sky::skyline::Skyline;
use longwatch::sky::tilt::{Incidence, Plane, PlaneHour};
use longwatch::sky::track::{SunTrack, SunVector};

use super::common::check;
use crate::support::figures::{reference, rows};

/// Any common year does: dates differ by up to a day of the sun's path.
const YEAR: i32 = 2023;
const TILTS: [f64; 7] = [0.0, 15.0, 30.0, 45.0, 60.0, 75.0, 90.0];

struct Year {
    name: &'static str,
    site: Site,
    offset: FixedOffset,
    measured: Measured,
    text: String,
    series: Series,
    track: SunTrack,
}

fn year(name: &'static str, file: &str, lat: f64, lon: f64, offset_h: i32) -> Year {
    let offset = FixedOffset::east_opt(offset_h * 3600).unwrap();
    let measured = Measured {
        file: file.into(),
        time: MeasuredTime::HoursOf { column: "hour".into(), year: YEAR },
        stamp: Stamp::StartsHour,
        utc_offset: offset.to_string(),
        ghi_column: "ghi".into(),
        dni_column: Some("dni".into()),
        dhi_column: Some("dhi".into()),
        air_column: Some("temp".into()),
        delimiter: Delimiter::Comma,
        decimal: Decimal::Point,
        resample: None,
        notes: None,
    };
    let text = reference(&format!("solar/{file}"));
    let series = Series::read(&measured, &text).unwrap();
    let place = Place { latitude_deg: lat, longitude_deg: lon, elevation_m: 0.0 };
    let track = SunTrack::new(place, series.first, series.end()).unwrap();
    let site = Site {
        latitude_deg: lat,
        longitude_deg: lon,
        elevation_m: 0.0,
        clock: Clock::FixedOffset(offset.to_string()),
        ground_reflectance_share: ByMonth::Same(0.2),
        horizon: Vec::new(),
        notes: None,
        basis: Named::default(),
    };
    Year { name, site, offset, measured, text, series, track }
}

fn years() -> [Year; 2] {
    [
        year("Sand Point AK TMY3", "hourly_sandpoint_ak_tmy3.csv", 55.317, -160.517, -9),
        year("Greensboro NC TMY3", "hourly_greensboro_nc_tmy3.csv", 36.1, -79.95, -5),
    ]
}

impl Year {
    /// Hours with their month (January is 0), twelve positions or the one in the middle.
    fn hours(&self, middle: bool) -> Vec<(DateTime<Utc>, usize, Vec<SunVector>)> {
        (0..self.series.hours.len())
            .map(|index| {
                let start = self.series.first + Duration::hours(index as i64);
                let month = start.with_timezone(&self.offset).month0() as usize;
                let suns = if middle {
                    Some(vec![self.track.at(start + Duration::minutes(30))])
                } else {
                    positions(&self.track, start).map(|suns| suns.to_vec())
                };
                (start, month, suns.unwrap_or_default())
            })
            .collect()
    }

    /// Monthly mean daily energy in a plane, kWh/m2, and the beam's part.
    fn plane_months(
        &self,
        hours: &[(DateTime<Utc>, usize, Vec<SunVector>)],
        plane: &Plane,
        skyline: &Skyline,
    ) -> [(f64, f64); 12] {
        let mut months = [(0.0, 0.0); 12];
        for ((start, month, suns), row) in hours.iter().zip(&self.series.hours) {
            let sun = SunHour::new(suns, 0.0);
            let made = PlaneHour::new(plane, suns, &sun, skyline, 0.2);
            let light = row.light(&sun);
            let days = days_of(start.with_timezone(&self.offset).month());
            months[*month].0 += made.in_plane_w_m2(&light) / 1000.0 / days;
            months[*month].1 += light.dni_w_m2 * made.beam / 1000.0 / days;
        }
        months
    }
}

fn days_of(month: u32) -> f64 {
    match month {
        2 => 28.0,
        4 | 6 | 9 | 11 => 30.0,
        _ => 31.0,
    }
}

fn south(tilt_deg: f64) -> Plane {
    Plane::new(tilt_deg, 180.0, &Skyline::default()).with_incidence(Incidence::NONE)
}

/// The table puts the sun in the middle of each hour. The same way we differ by its older solar
/// constant, the year of the dates and the refraction in its zenith: 1 % of a month. With twelve
/// positions an hour, as the program runs, hours of sunrise and sunset come out differently, most
/// where winter days are short: 4 % of a month.
#[test]
fn flat_against_tilted() {
    const TABLE: &str = "pvlib 0.16.1 on two TMY3 years (Hay & Davies, 7 tilts, 12 months)";
    let mut middle = check(TABLE, "monthly plane energy, sun at mid hour", "share", 0.01);
    let mut twelve = check(TABLE, "monthly plane energy, twelve positions an hour", "share", 0.04);
    for year in years() {
        for (check, hours) in [(&mut middle, year.hours(true)), (&mut twelve, year.hours(false))] {
            for tilt in TILTS {
                let months = year.plane_months(&hours, &south(tilt), &Skyline::default());
                for row in rows("solar/flat_vs_tilted.csv") {
                    if row.text("site") == year.name {
                        let month = row.number("month") as usize;
                        check.relative(
                            &format!("{} month {month} tilt {tilt}", year.name),
                            months[month - 1].0,
                            row.number(&format!("tilt{tilt}")),
                        );
                    }
                }
            }
        }
    }
    middle.done();
    twelve.done();
}

/// The table counts beam while the sun of mid hour is below a height; a skyline of that height all
/// round cuts the same beam. The table's heights have refraction (0.1 degrees there), which takes
/// a few hours to the other side of a height: 0.012 with the sun at mid hour (0.003 when the same
/// refraction is added). Twelve positions spread an hour over its heights: 0.03.
#[test]
fn skyline_all_round() {
    const TABLE: &str = "pvlib 0.16.1 on two TMY3 years, November to January, tilt 60";
    let mut middle = check(TABLE, "beam below a skyline, sun at mid hour", "share", 0.012);
    let mut twelve = check(TABLE, "beam below a skyline, twelve positions", "share", 0.03);
    for year in years() {
        for (check, hours) in [(&mut middle, year.hours(true)), (&mut twelve, year.hours(false))] {
            let winter = |skyline: &Skyline| {
                let months = year.plane_months(&hours, &south(60.0), skyline);
                once(&months[0])
                    .chain(&months[10..])
                    .zip([31.0, 30.0, 31.0])
                    .fold((0.0, 0.0), |sum, (month, days)| {
                        (sum.0 + month.0 * days, sum.1 + month.1 * days)
                    })
            };
            let open = winter(&Skyline::default());
            for row in rows("solar/horizon_share.csv") {
                if row.text("site") == year.name {
                    let height = row.number("horizon_deg");
                    let points = [HorizonPoint { azimuth_deg: 0.0, height_deg: height }];
                    let shut = winter(&Skyline::new(&points));
                    check.case(
                        &format!("{} {height} deg", year.name),
                        (open.1 - shut.1) / open.0,
                        row.number("beam_below_share"),
                    );
                }
            }
        }
    }
    middle.done();
    twelve.done();
}

/// Beam and diffuse from the global column alone. The beam of these years is modelled from cloud
/// records, and Erbs was fitted between 31 and 42 N: sums of months can be compared, apart by most
/// in the Alaskan December (0.15), where little light is at stake; the year within 0.06.
#[test]
fn split_of_a_year() {
    let mut shares = check(
        "NREL TMY3 (Sand Point, Greensboro)",
        "diffuse share of a month, from its global column",
        "1",
        0.16,
    );
    let mut whole = check(
        "NREL TMY3 (Sand Point, Greensboro)",
        "diffuse share of the year, from its global column",
        "1",
        0.06,
    );
    for year in years() {
        let mut sums = [(0.0, 0.0, 0.0); 12];
        for ((_, month, suns), row) in year.hours(false).iter().zip(&year.series.hours) {
            let split = SunHour::new(suns, 0.0).split(row.ghi_w_m2);
            sums[*month].0 += row.ghi_w_m2;
            sums[*month].1 += split.dhi_w_m2;
            sums[*month].2 += row.dhi_w_m2.unwrap();
        }
        for (month, sum) in sums.iter().enumerate() {
            shares.case(&format!("{} {}", year.name, month + 1), sum.1 / sum.0, sum.2 / sum.0);
        }
        let all = sums
            .iter()
            .fold((0.0, 0.0, 0.0), |all, sum| (all.0 + sum.0, all.1 + sum.1, all.2 + sum.2));
        whole.case(year.name, all.1 / all.0, all.2 / all.0);
    }
    shares.done();
    whole.done();
}

fn array(tilt_deg: f64) -> Named<Array> {
    let array = serde_json::json!({
        "rated_w": 100.0, "count": 1, "tilt_deg": tilt_deg, "azimuth_deg": 180.0, "controller": "c"
    });
    once(("array".to_owned(), serde_json::from_value(array).unwrap())).collect()
}

/// Twelve monthly means of a year through the climate: global energy and air come back exactly, the
/// air of an hour within 1.5 K, and the year on a tilted plane is near that of its hours, though no day of it was a mean day.
#[test]
fn climate_of_a_year() {
    let mut level = check(
        "NREL TMY3 (Sand Point, Greensboro)",
        "monthly global energy of the climate's mean days",
        "share",
        1e-9,
    );
    let mut air =
        check("NREL TMY3 (Sand Point, Greensboro)", "monthly mean air of the climate", "K", 1e-9);
    let mut tilted = check(
        "NREL TMY3 (Sand Point, Greensboro)",
        "year on a plane of 60 deg: mean days against hours",
        "share",
        0.08,
    );
    let mut shape = check(
        "NREL TMY3 (Sand Point, Greensboro)",
        "mean air of a month by hour of the day",
        "K",
        1.5,
    );
    for year in years() {
        let mut ghi = [0.0; 12];
        let mut air_mean = [0.0; 12];
        let mut by_hour = [[0.0; 24]; 12];
        for (index, row) in year.series.hours.iter().enumerate() {
            let clock = year.series.clock_of(index);
            let (month, days) = (clock.month0() as usize, days_of(clock.month()));
            ghi[month] += row.ghi_w_m2 / 1000.0 / days;
            air_mean[month] += row.air_c.unwrap() / 24.0 / days;
            by_hour[month][clock.hour() as usize] += row.air_c.unwrap() / days;
        }
        let swing = by_hour.map(|hours| {
            hours.iter().copied().fold(f64::MIN, f64::max)
                - hours.iter().copied().fold(f64::MAX, f64::min)
        });
        let climate = Climate {
            ghi_kwh_m2_day: ghi,
            air_mean_c: air_mean,
            air_swing_c: swing,
            persistence: usual_persistence(),
            outlook: None,
            notes: None,
            basis: Named::default(),
        };
        let made = |sun: &Sun, text| {
            Sky::new(&year.site, sun, &array(60.0), year.offset, year.series.first, 8760, text)
                .unwrap()
        };
        let mean_days = made(&Sun::Climate(climate), None);
        let hours = made(&Sun::Measured(year.measured.clone()), Some(year.text.as_str()));
        let mut back = ([0.0; 12], [0.0; 12]);
        let mut air_back = [[0.0; 24]; 12];
        for (index, hour) in mean_days.hours().iter().enumerate() {
            let clock = year.series.clock_of(index);
            let (month, days) = (clock.month0() as usize, days_of(clock.month()));
            back.0[month] += hour.light.unwrap().ghi_w_m2 / 1000.0 / days;
            back.1[month] += hour.air_c / 24.0 / days;
            air_back[month][clock.hour() as usize] += hour.air_c / days;
        }
        for month in 0..12 {
            let name = format!("{} {}", year.name, month + 1);
            level.relative(&name, back.0[month], ghi[month]);
            air.case(&name, back.1[month], air_mean[month]);
            for hour in 0..24 {
                shape.case(
                    &format!("{name} {hour} h"),
                    air_back[month][hour],
                    by_hour[month][hour],
                );
            }
        }
        let sum = |sky: &Sky| -> f64 { (0..8760).map(|index| sky.in_plane_w_m2(index)[0]).sum() };
        tilted.relative(year.name, sum(&mean_days), sum(&hours));
    }
    level.done();
    air.done();
    tilted.done();
    shape.done();
}
