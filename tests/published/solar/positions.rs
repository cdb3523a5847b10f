//! Positions of the sun, sunrise and sunset.

use chrono::{DateTime, Duration, FixedOffset, NaiveDate, Utc};
use longwatch::sky::events::{SunDay, sun_day};
use longwatch::sky::position::{Air, Place, geocentric, sun_position};
use longwatch::sky::skyline::Skyline;
use longwatch::sky::tilt::Plane;
use longwatch::sky::track::SunTrack;

use super::common::{check, place, sun_towards, turn_deg, utc};
use crate::support::figures::{reference, rows};

const NREL: &str = "Reda & Andreas, NREL/TP-560-34302, worked example A.5";
const GRID: &str = "pvlib 0.16.1 spa_python, 70 positions 78 N to 90 S";
const EVENTS: &str = "pvlib 0.16.1 sun_rise_set_transit_spa, 11 sites x 5 dates";

/// Equation of time, minutes, from the hour angle at Greenwich.
fn equation_of_time_min(at: DateTime<Utc>, greenwich_hour_angle_deg: f64) -> f64 {
    let day_share = at.timestamp().rem_euclid(86_400) as f64 / 86_400.0;
    turn_deg(greenwich_hour_angle_deg, day_share * 360.0 - 180.0) * 4.0
}

/// The report prints six decimals; the algorithm states 0.0003 degrees. Equal to 1e-5 means the
/// same algorithm.
#[test]
fn worked_example_of_the_algorithm() {
    let example: serde_json::Value =
        serde_json::from_str(&reference("solar/spa_worked_example.json")).unwrap();
    let input = |key: &str| example["input"][key].as_f64().unwrap();
    let inner = |key: &str| example["intermediate"][key].as_f64().unwrap();
    let output = |key: &str| example["output"][key].as_f64().unwrap();
    let at = utc(example["input"]["utc"].as_str().unwrap());
    let place = Place {
        latitude_deg: input("latitude_deg"),
        longitude_deg: input("longitude_deg"),
        elevation_m: input("elevation_m"),
    };
    let air = Air { pressure_hpa: input("pressure_mbar"), air_c: input("temperature_C") };
    let sun = sun_position(at, place, input("delta_t_s"), air).unwrap();
    let seen = geocentric(at, input("delta_t_s")).unwrap();

    let mut angles = check(NREL, "zenith, azimuth, declination", "deg", 1e-5);
    angles.case(
        "zenith without refraction",
        sun.zenith_deg,
        90.0 - inner("elevation_no_refraction_deg"),
    );
    angles.case("zenith", sun.apparent_zenith_deg, output("zenith_deg"));
    angles.case("azimuth", sun.azimuth_deg, output("azimuth_from_north_deg"));
    angles.case("declination", sun.declination_deg, inner("geocentric_declination_deg"));
    angles.done();

    // The example prints the hour angle with four decimals.
    let mut hour = check(NREL, "local hour angle", "deg", 1e-4);
    hour.case(
        "hour angle",
        turn_deg(seen.greenwich_hour_angle_deg, -place.longitude_deg),
        inner("observer_hour_angle_deg"),
    );
    hour.done();

    let mut distance = check(NREL, "distance of earth and sun", "AU", 1e-9);
    distance.case("R", seen.distance_au, inner("R_earth_sun_distance_AU"));
    distance.case(
        "1 / sqrt(factor)",
        1.0 / sun.earth_sun_factor.sqrt(),
        inner("R_earth_sun_distance_AU"),
    );
    distance.done();

    // Ours counts from the mean sun of the clock, the report's from its own mean longitude: the
    // two clocks agree to a tenth of a second.
    let mut equation = check(NREL, "equation of time", "min", 0.01);
    equation.case(
        "E",
        equation_of_time_min(at, seen.greenwich_hour_angle_deg),
        output("equation_of_time_min"),
    );
    equation.done();

    // Printed with five digits.
    let plane = Plane::new(
        input("slope_deg"),
        input("surface_azimuth_deg_from_north"),
        &Skyline::default(),
    );
    let sun = sun_towards(sun.apparent_zenith_deg, sun.azimuth_deg, 1361.0);
    let mut incidence = check(NREL, "angle of incidence", "deg", 1e-4);
    incidence.case(
        "slope 30, 10 degrees east of south",
        plane.cos_incidence(&sun).acos().to_degrees(),
        output("incidence_angle_deg"),
    );
    incidence.done();

    // Whole seconds are printed, found by three interpolated points a day (A.2.10); ours searches
    // for the event itself. The report takes the events of a UTC date and puts them on the
    // clock: its sunset of 00:20 UTC on the 17th is that of the local evening before.
    let zone = FixedOffset::west_opt(7 * 3600).unwrap();
    let day =
        |number| sun_day(NaiveDate::from_ymd_opt(2003, 10, number).unwrap(), zone, place).unwrap();
    let printed = |date: &str, key: &str| {
        let clock = example["output"][key].as_str().unwrap();
        utc(&format!("{date}T{clock}Z")) + Duration::hours(7)
    };
    let mut events = check(NREL, "sunrise and sunset", "s", 2.0);
    for (name, ours, theirs) in [
        ("sunrise", day(17).sunrise(), printed("2003-10-17", "sunrise_local")),
        ("sunset", day(16).sunset(), printed("2003-10-16", "sunset_local")),
    ] {
        events.case(name, seconds_of_century(ours.unwrap()), seconds_of_century(theirs));
    }
    events.done();
}

fn seconds_of_century(at: DateTime<Utc>) -> f64 {
    (at - utc("2000-01-01T00:00:00Z")).num_milliseconds() as f64 / 1000.0
}

/// The table has six decimals; 1e-5 degrees means the same algorithm. An azimuth counts by its
/// arc on the sky.
#[test]
fn grid_of_positions() {
    const DELTA_T_S: f64 = 69.2;
    let mut heights = check(GRID, "height without and with refraction", "deg", 1e-5);
    let mut azimuths = check(GRID, "azimuth along the sky", "deg", 1e-5);
    let mut equations = check(GRID, "equation of time", "min", 0.01);
    // The quick path: straight lines between positions 12 h apart, and its own delta T.
    let mut quick = check(GRID, "quick path: arc from the table", "deg", 5e-4);
    let air = Air { pressure_hpa: 1013.25, air_c: 15.0 };
    for row in rows("solar/spa_grid.csv") {
        let name = format!("{} {}", row.text("site"), row.text("utc"));
        let at = utc(row.text("utc"));
        let place = place(row.number("lat"), row.number("lon"));
        let sun = sun_position(at, place, DELTA_T_S, air).unwrap();
        let height = row.number("elevation");
        heights.case(&name, 90.0 - sun.zenith_deg, height);
        heights.case(&name, 90.0 - sun.apparent_zenith_deg, row.number("apparent_elevation"));
        let arc = turn_deg(sun.azimuth_deg, row.number("azimuth")) * height.to_radians().cos();
        azimuths.case(&name, arc, 0.0);
        let seen = geocentric(at, DELTA_T_S).unwrap();
        equations.case(
            &name,
            equation_of_time_min(at, seen.greenwich_hour_angle_deg),
            row.number("equation_of_time_min"),
        );
        let track =
            SunTrack::new(place, at - Duration::hours(30), at + Duration::hours(40)).unwrap();
        let here = track.at(at);
        let there = sun_towards(90.0 - height, row.number("azimuth"), 1361.0);
        quick.case(&name, arc_deg(&here, &there), 0.0);
    }
    heights.done();
    azimuths.done();
    equations.done();
    quick.done();
}

fn arc_deg(
    one: &longwatch::sky::track::SunVector,
    other: &longwatch::sky::track::SunVector,
) -> f64 {
    let (e, n, u) = (one.east - other.east, one.north - other.north, one.up - other.up);
    (e * e + n * n + u * u).sqrt().to_degrees()
}

/// The bound of the quick path that its module head states, over six years.
#[test]
fn quick_path_keeps_its_bound() {
    let mut arcs =
        check("NREL/TP-560-34302 by the crate", "quick path: arc from each position", "deg", 5e-4);
    for (latitude, longitude, elevation_m) in
        [(45.0, -45.0, 12.0), (69.65, 18.96, 0.0), (-33.9, 151.2, 40.0), (0.0, -179.9, 3000.0)]
    {
        let place = Place { latitude_deg: latitude, longitude_deg: longitude, elevation_m };
        let (from, until) = (utc("2024-01-01T00:00:00Z"), utc("2030-01-01T00:00:00Z"));
        let track = SunTrack::new(place, from, until).unwrap();
        let mut at = from;
        while at < until {
            let delta_t_s = longwatch::sky::position::delta_t_s(at).unwrap();
            let sun = sun_position(at, place, delta_t_s, Air::STANDARD).unwrap();
            let there = sun_towards(sun.zenith_deg, sun.azimuth_deg, 1361.0);
            arcs.case(&at.to_rfc3339(), arc_deg(&track.at(at), &there), 0.0);
            at += Duration::minutes(5 * 397);
        }
    }
    arcs.done();
}

/// A minute is what the table itself promises, and what almanacs print. The table, like the
/// report, finds the events of a UTC date and then moves those that fall outside a day around
/// noon by a whole day: such an event is compared where it was found, a day earlier or later.
#[test]
fn sunrise_and_sunset() {
    let mut times = check(EVENTS, "sunrise and sunset", "min", 1.0);
    let mut kinds = check(EVENTS, "polar day or night told apart", "cases wrong", 0.0);
    for row in rows("solar/sun_events.csv") {
        let date = NaiveDate::parse_from_str(row.text("date"), "%Y-%m-%d").unwrap();
        let place = place(row.number("lat"), row.number("lon"));
        let zone =
            FixedOffset::east_opt((place.longitude_deg / 15.0).round() as i32 * 3600).unwrap();
        let day_of = |date: NaiveDate| sun_day(date, zone, place).unwrap();
        let name = format!("{} {date}", row.text("site"));
        let right = match row.text("polar") {
            "day" => day_of(date) == SunDay::UpAllDay,
            "night" => day_of(date) == SunDay::DownAllDay,
            _ => matches!(day_of(date), SunDay::RisesAndSets { .. }),
        };
        kinds.case(&name, f64::from(u8::from(!right)), 0.0);
        for (event, column) in [
            (SunDay::sunrise as fn(&SunDay) -> Option<DateTime<Utc>>, "sunrise_utc"),
            (SunDay::sunset, "sunset_utc"),
        ] {
            if row.text(column).is_empty() {
                continue;
            }
            let theirs = utc(row.text(column));
            let moved = theirs.date_naive() - date;
            let ours = event(&day_of(date - moved)).unwrap() + moved;
            times.case(&format!("{name} {column}"), minutes(ours), minutes(theirs));
        }
    }
    times.done();
    kinds.done();
}

fn minutes(at: DateTime<Utc>) -> f64 {
    seconds_of_century(at) / 60.0
}
