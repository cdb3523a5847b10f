//! Light in the plane of an array.

use longwatch::sky::hour::SunHour;
use longwatch::sky::skyline::Skyline;
use longwatch::sky::split::Irradiance;
use longwatch::sky::tilt::{Incidence, Plane, PlaneHour, SkyModel};

use super::common::{check, sun_towards};
use crate::support::figures::rows;

const PVLIB: &str = "pvlib 0.16.1 (56 cases, zenith 25 to 88)";

/// The table has four decimals, of which the beam is multiplied by up to 57 when the sun is low:
/// 0.01 W/m2 means the same formula.
#[test]
fn transposition_cases() {
    let level = Skyline::default();
    let mut incidence = check(PVLIB, "angle of incidence", "deg", 1e-3);
    let mut isotropic = check(PVLIB, "plane irradiance, isotropic", "W/m2", 0.01);
    let mut hay_davies = check(PVLIB, "plane irradiance, Hay & Davies", "W/m2", 0.01);
    for row in rows("solar/transposition_cases.csv") {
        let name = format!(
            "zenith {}, tilt {}, kt {}",
            row.text("zenith"),
            row.text("tilt"),
            row.text("kt")
        );
        let sun = [sun_towards(row.number("zenith"), row.number("azimuth"), row.number("E0n"))];
        let hour = SunHour::new(&sun, 0.0);
        let light = Irradiance {
            ghi_w_m2: row.number("ghi"),
            dni_w_m2: row.number("dni"),
            dhi_w_m2: row.number("dhi"),
        };
        let plane = Plane::new(row.number("tilt"), row.number("surf_azimuth"), &level)
            .with_incidence(Incidence::NONE);
        incidence.case(&name, plane.cos_incidence(&sun[0]).acos().to_degrees(), row.number("aoi"));
        for (model, check, column) in [
            (SkyModel::Isotropic, &mut isotropic, "poa_isotropic"),
            (SkyModel::HayDavies, &mut hay_davies, "poa_haydavies"),
        ] {
            let plane = plane.with_model(model);
            let made = PlaneHour::new(&plane, &sun, &hour, &level, row.number("albedo"));
            check.case(&name, made.in_plane_w_m2(&light), row.number(column));
        }
    }
    incidence.done();
    isotropic.done();
    hay_davies.done();
}

/// Five decimals.
#[test]
fn incidence_on_glass() {
    let mut ashrae = check("pvlib 0.16.1 iam.ashrae, b0 0.05", "share of beam", "1", 1e-5);
    // The angles-of-incidence law of plain glass: what the simple law stands for. Apart by more
    // beyond 70 degrees, where little comes in.
    let mut physical =
        check("pvlib 0.16.1 iam.physical (n 1.526)", "share of beam up to 70 deg", "1", 0.05);
    for row in rows("solar/iam_cases.csv") {
        let angle = row.number("aoi");
        let share = Incidence::GLASS.beam_share(angle.to_radians().cos());
        ashrae.case(row.text("aoi"), share, row.number("ashrae_b0.05"));
        if angle <= 70.0 {
            physical.case(row.text("aoi"), share, row.number("physical"));
        }
    }
    ashrae.done();
    physical.done();
    // The comment lines of the file: tilt, sky, horizon, ground.
    let mut sky = check("pvlib 0.16.1 marion_diffuse", "share of sky light, any tilt", "1", 0.015);
    for line in crate::support::figures::reference("solar/iam_cases.csv").lines() {
        let fields: Vec<f64> = line
            .trim_start_matches('#')
            .split(',')
            .flat_map(|field| field.trim().parse())
            .collect();
        if line.starts_with('#') && fields.len() == 4 {
            sky.case(&format!("tilt {}", fields[0]), Incidence::GLASS.diffuse_share, fields[1]);
        }
    }
    sky.done();
}
