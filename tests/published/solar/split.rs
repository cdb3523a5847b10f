//! Diffuse share and air mass.

use longwatch::sky::split::{air_mass, clear_sky_dni_w_m2, erbs_diffuse_share};

use super::common::check;
use crate::support::figures::rows;

/// The tables have four or five decimals.
#[test]
fn diffuse_share_and_air_mass() {
    let mut erbs = check("Erbs, Klein & Duffie 1982 (table)", "hourly diffuse share", "1", 1e-5);
    for row in rows("solar/erbs_table.csv") {
        erbs.case(row.text("k"), erbs_diffuse_share(row.number("k")), row.number("hourly"));
    }
    erbs.done();
    let mut shares = check("pvlib 0.16.1 erbs", "hourly diffuse share", "1", 1e-4);
    let mut masses = check("pvlib 0.16.1 kastenyoung1989", "relative air mass", "1", 1e-4);
    for row in rows("solar/transposition_cases.csv") {
        let name = format!("zenith {}, kt {}", row.text("zenith"), row.text("kt"));
        shares.case(&name, erbs_diffuse_share(row.number("kt")), row.number("erbs_df"));
        masses.case(&name, air_mass(row.number("zenith")), row.number("airmass_rel"));
    }
    shares.done();
    masses.done();
}

/// Kasten & Young 1989 print 38 on the horizon (their table: 37.92) and 1 overhead.
#[test]
fn air_mass_at_its_ends() {
    let mut ends =
        check("Kasten & Young 1989 (from memory)", "air mass at 0 and 90 deg", "1", 0.01);
    ends.case("overhead", air_mass(0.0), 1.0);
    ends.case("horizon", air_mass(90.0), 37.92);
    ends.done();
}

/// Common practice, no source: a clear sky lets 1000 W/m2 or a little less through at air mass
/// 1.5 by the sea (ASTM G173 has 900 W/m2 of beam there); 8 % apart.
#[test]
fn clear_beam_is_plausible() {
    let mut beam = check("ASTM G173 (from memory)", "clear beam at air mass 1.5", "share", 0.08);
    beam.relative("sea level", clear_sky_dni_w_m2(1361.0, 1.5, 0.0), 900.1);
    beam.done();
    assert!(clear_sky_dni_w_m2(1361.0, 1.5, 1600.0) > clear_sky_dni_w_m2(1361.0, 1.5, 0.0));
    assert!(clear_sky_dni_w_m2(1361.0, 38.0, 0.0) < 30.0);
}
