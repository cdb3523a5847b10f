//! Global irradiance into beam and diffuse: the pieces.
//!
//! Model: diffuse share from the clearness index (D. G. Erbs, S. A. Klein and J. A. Duffie,
//! "Estimation of the diffuse radiation fraction for hourly, daily and monthly-average global
//! radiation", Solar Energy 28, 293 (1982), hourly form), fitted to sites between 31 and 42 N;
//! scatter of a single hour about 0.1 and more. A beam that was derived this way is held below
//! a clear-sky beam (A. B. Meinel and M. P. Meinel, "Applied Solar Energy" (1976); formula
//! from memory, E. G. Laue's height term): without it a low sun gives beams that no sky has.
//! [`super::hour::SunHour::split`] puts the pieces together. Trust: Erbs and air mass checked
//! against published values, the clear-sky beam plausible.

/// Irradiance on the level and towards the sun, mean of one hour.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Irradiance {
    /// Global on the level, W/m2.
    pub ghi_w_m2: f64,
    /// Direct normal: mean over the whole hour, minutes without sun included, W/m2.
    pub dni_w_m2: f64,
    /// Diffuse on the level, W/m2.
    pub dhi_w_m2: f64,
}

/// Diffuse share of an hour's global irradiance from its clearness index, 0.165 to 1.
///
/// `clearness` is global over extraterrestrial irradiance on the level; below 0 counts as 0.
#[must_use]
pub fn erbs_diffuse_share(clearness: f64) -> f64 {
    let k = clearness.max(0.0);
    if k <= 0.22 {
        1.0 - 0.09 * k
    } else if k <= 0.80 {
        0.9511 + k * (-0.1604 + k * (4.388 + k * (-16.638 + k * 12.336)))
    } else {
        0.165
    }
}

/// Relative optical air mass: F. Kasten and A. T. Young, "Revised optical air mass tables and
/// approximation formula", Applied Optics 28, 4735 (1989). 1 overhead, 38 on the horizon.
///
/// `zenith_deg` up to 90; beyond counts as 90.
#[must_use]
pub fn air_mass(zenith_deg: f64) -> f64 {
    let zenith_deg = zenith_deg.clamp(0.0, 90.0);
    let height_deg = 90.0 - zenith_deg;
    1.0 / (libm::cos(zenith_deg.to_radians())
        + 0.505_72 * libm::pow(height_deg + 6.079_95, -1.636_4))
}

/// Direct normal irradiance under a clear sky, W/m2:
/// `E0n ((1 - 0.14 h) 0.7^(AM^0.678) + 0.14 h)`, `h` the height above the sea in km, held
/// between 0 and 3.
#[must_use]
pub fn clear_sky_dni_w_m2(e0n_w_m2: f64, air_mass: f64, elevation_m: f64) -> f64 {
    let lifted = 0.14 * (elevation_m / 1000.0).clamp(0.0, 3.0);
    let passed = libm::pow(0.7, libm::pow(air_mass, 0.678));
    e0n_w_m2 * ((1.0 - lifted) * passed + lifted)
}
