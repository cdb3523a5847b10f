//! The sun of one hour: its positions and their means.
//!
//! Assumptions: an hour is the mean of twelve positions, in the middle of each five minutes;
//! the sun counts while the centre of its disc is above level, without refraction; while it is
//! up, direct normal irradiance is the same all the hour. Trust: exact but for these.

use chrono::{DateTime, Utc};

use super::split::{Irradiance, air_mass, clear_sky_dni_w_m2, erbs_diffuse_share};
use super::track::{SunTrack, SunVector};

/// Positions an hour.
pub const POSITIONS: usize = 12;
const SECONDS_APART: i64 = 3600 / POSITIONS as i64;

/// The sun in the middle of each five minutes of the hour from `start`; `None` when it stays
/// well below the horizon all the hour.
#[must_use]
pub fn positions(track: &SunTrack, start: DateTime<Utc>) -> Option<[SunVector; POSITIONS]> {
    // In half an hour the sun moves 7.5 degrees at most; this is 11.5 degrees below level.
    const WELL_BELOW: f64 = -0.2;
    let start_s = start.timestamp();
    if track.at_s(start_s + 1800).up < WELL_BELOW {
        return None;
    }
    let suns = std::array::from_fn(|number| {
        track.at_s(start_s + SECONDS_APART * number as i64 + SECONDS_APART / 2)
    });
    suns.iter().any(SunVector::is_up).then_some(suns)
}

/// Extraterrestrial irradiance on the level, mean of the positions, W/m2.
#[must_use]
pub fn extraterrestrial_w_m2(suns: &[SunVector]) -> f64 {
    if suns.is_empty() {
        return 0.0;
    }
    suns.iter().map(|sun| sun.e0n_w_m2 * sun.up.max(0.0)).sum::<f64>() / suns.len() as f64
}

/// Means over one hour that turn its global irradiance into beam and diffuse.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct SunHour {
    /// Share of the hour in which the sun is up.
    pub daylight_share: f64,
    /// Mean cosine of the zenith angle while the sun is up.
    pub cos_zenith: f64,
    /// Extraterrestrial normal irradiance, mean over the whole hour with 0 while the sun is
    /// down, W/m2.
    pub e0n_w_m2: f64,
    /// Extraterrestrial irradiance on the level, mean over the whole hour, W/m2.
    pub e0h_w_m2: f64,
    /// Direct normal irradiance under a clear sky, mean over the whole hour, W/m2.
    pub dni_cap_w_m2: f64,
}

impl SunHour {
    /// The means of `suns` at a height above the sea.
    #[must_use]
    pub fn new(suns: &[SunVector], elevation_m: f64) -> Self {
        let (mut lit, mut cos_sum, mut e0n_sum, mut cap_sum) = (0.0, 0.0, 0.0, 0.0);
        for sun in suns.iter().filter(|sun| sun.is_up()) {
            lit += 1.0;
            cos_sum += sun.up;
            e0n_sum += sun.e0n_w_m2;
            let air_mass = air_mass(90.0 - sun.height_deg());
            cap_sum += clear_sky_dni_w_m2(sun.e0n_w_m2, air_mass, elevation_m);
        }
        if lit == 0.0 {
            return Self::default();
        }
        let all = suns.len() as f64;
        Self {
            daylight_share: lit / all,
            cos_zenith: cos_sum / lit,
            e0n_w_m2: e0n_sum / all,
            e0h_w_m2: extraterrestrial_w_m2(suns),
            dni_cap_w_m2: cap_sum / all,
        }
    }

    /// Splits global irradiance by Erbs; what the beam would have above a clear sky's becomes
    /// diffuse. Light while the sun is down is all diffuse.
    #[must_use]
    pub fn split(&self, ghi_w_m2: f64) -> Irradiance {
        let ghi_w_m2 = ghi_w_m2.max(0.0);
        if self.e0h_w_m2 <= 0.0 {
            return Irradiance { ghi_w_m2, dni_w_m2: 0.0, dhi_w_m2: ghi_w_m2 };
        }
        let diffuse_share = erbs_diffuse_share(ghi_w_m2 / self.e0h_w_m2);
        self.close(ghi_w_m2, ghi_w_m2 * diffuse_share)
    }

    /// Beam from global and diffuse, `(GHI - DHI) / cos z`, held below a clear sky's; the cut
    /// becomes diffuse.
    #[must_use]
    pub fn close(&self, ghi_w_m2: f64, dhi_w_m2: f64) -> Irradiance {
        if self.e0h_w_m2 <= 0.0 {
            return Irradiance { ghi_w_m2, dni_w_m2: 0.0, dhi_w_m2: ghi_w_m2 };
        }
        let level_beam = (ghi_w_m2 - dhi_w_m2).max(0.0);
        let dni_w_m2 = (level_beam / self.cos_zenith).min(self.dni_cap_w_m2);
        Irradiance {
            ghi_w_m2,
            dni_w_m2,
            dhi_w_m2: (ghi_w_m2 - dni_w_m2 * self.cos_zenith).max(0.0),
        }
    }

    /// Diffuse from global and beam, `GHI - DNI cos z`, never below 0.
    #[must_use]
    pub fn diffuse_beside(&self, ghi_w_m2: f64, dni_w_m2: f64) -> Irradiance {
        let dni_w_m2 = if self.e0h_w_m2 > 0.0 { dni_w_m2 } else { 0.0 };
        Irradiance {
            ghi_w_m2,
            dni_w_m2,
            dhi_w_m2: (ghi_w_m2 - dni_w_m2 * self.cos_zenith).max(0.0),
        }
    }
}
