//! Irradiance outside the air.

use chrono::{Duration, FixedOffset, NaiveDate};
use longwatch::sky::climate::{extraterrestrial_kwh_m2, month_clearness};
use longwatch::sky::position::SOLAR_CONSTANT_W_M2;
use longwatch::sky::track::SunTrack;

use super::common::{check, place, utc};
use crate::support::figures::rows;

const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// The table has three decimals and takes one declination a day and a closed formula, ours is a
/// sum over positions five minutes apart through the declinations of the day: 0.01 kWh/m2
/// covers both (0.1 % of a summer day).
#[test]
fn monthly_means_by_latitude() {
    let utc_offset = FixedOffset::east_opt(0).unwrap();
    let mut means = check(
        "NREL SPA day by day (22 latitudes, 2025)",
        "monthly mean extraterrestrial energy",
        "kWh/m2 day",
        0.01,
    );
    for row in rows("solar/h0_monthly_spa.csv") {
        let place = place(row.number("lat"), 0.0);
        let track =
            SunTrack::new(place, utc("2025-01-01T00:00:00Z"), utc("2026-01-01T00:00:00Z")).unwrap();
        for (number, name) in (1..).zip(MONTHS) {
            let date = NaiveDate::from_ymd_opt(2025, number, 11).unwrap();
            let month = month_clearness(&track, date, utc_offset, 1.0);
            means.case(
                &format!("{} N {name}", row.text("lat")),
                month.extraterrestrial_kwh_m2,
                row.number(name),
            );
        }
    }
    means.done();
}

fn day_mj_m2(latitude_deg: f64, day_of_year: u32, solar_constant_w_m2: f64) -> f64 {
    let date = NaiveDate::from_yo_opt(2025, day_of_year).unwrap();
    let start = date.and_hms_opt(0, 0, 0).unwrap().and_utc();
    let track = SunTrack::new(place(latitude_deg, 0.0), start, start + Duration::days(1))
        .unwrap()
        .with_solar_constant(solar_constant_w_m2);
    extraterrestrial_kwh_m2(&track, date, FixedOffset::east_opt(0).unwrap()) * 3.6
}

/// Handbooks take a simple declination, off by up to 0.7 degrees in February, and a simple
/// distance, with 1367 W/m2: 3.5 % of a day in that month. `handbook` has the same days with the
/// simple declination.
#[test]
fn daily_energies_of_handbooks() {
    let mut days = check(
        "Duffie & Beckman ex. 1.10.1, Madison mean days of table 1.10.1; FAO-56 ex. 8",
        "daily extraterrestrial energy",
        "share",
        0.035,
    );
    days.relative("Madison, day 105", day_mj_m2(43.0, 105, 1367.0), 33.8);
    for row in rows("solar/madison_monthly_tilt60.csv") {
        let day = row.number("n") as u32;
        let name = format!("Madison, day {day}");
        days.relative(&name, day_mj_m2(43.0, day, 1367.0), row.number("H0_printed"));
    }
    // FAO-56 writes the constant as 0.0820 MJ/m2 a minute.
    days.relative("FAO-56: 20 S, day 246", day_mj_m2(-20.0, 246, 0.0820e6 / 60.0), 32.2);
    days.done();

    // Printed with three digits; the simple law 1 + 0.033 cos is off by up to 0.002.
    let mut factor = check("FAO-56 example 8", "inverse square of distance", "1", 0.003);
    let at = utc("2025-09-03T12:00:00Z");
    let track = SunTrack::new(place(-20.0, 0.0), at, at).unwrap();
    factor.case("day 246", track.at(at).e0n_w_m2 / SOLAR_CONSTANT_W_M2, 0.985);
    factor.done();
}
