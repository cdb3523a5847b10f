//! Irradiance in the plane of an array.
//!
//! Model: J. E. Hay and J. A. Davies, "Calculation of the solar radiation incident on an
//! inclined surface", Proc. First Canadian Solar Radiation Data Workshop (1980): the share
//! `Ai = DNI / E0n` of the diffuse light comes from around the sun, the rest evenly from the
//! sky; ground light evenly from a ground that reflects a share of the global irradiance.
//! `plane = DNI beam + DHI ((1 - Ai) sky + Ai circumsolar) + GHI ground`: the four coefficients
//! depend on geometry alone, so they are made once an hour and used for any sky.
//! Losses by incidence on glass: A. F. Souka and H. H. Safwat, "Optimum orientations for the
//! double-exposure, flat-plate collector and its reflectors", Solar Energy 10, 170 (1966), the
//! form of ASHRAE 93, `1 - b0 (1 / cos - 1)` with b0 0.05 for beam and the light around the sun;
//! 0.95 for light from sky and ground (b0 and 0.95: common practice; integrals of glass give
//! 0.94 to 0.96 for the sky). No light on the back, no snow. Valid for any tilt. Trust: checked
//! against published values.

use super::hour::SunHour;
use super::skyline::Skyline;
use super::split::Irradiance;
use super::track::SunVector;

/// Below this cosine of the zenith angle (89 degrees) the ratio of the light around the sun on
/// the plane to that on the level grows no more.
pub const LEAST_COS_ZENITH: f64 = 0.017_45;

/// How the diffuse light is spread over the sky.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum SkyModel {
    /// Part of it around the sun: what the program uses.
    #[default]
    HayDavies,
    /// Evenly: for comparison with handbooks.
    Isotropic,
}

/// What is lost because light does not fall straight on the glass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Incidence {
    /// ASHRAE coefficient of beam.
    pub b0: f64,
    /// Share of the light from sky and ground that passes.
    pub diffuse_share: f64,
}

impl Incidence {
    /// Plain glass: what the program uses.
    pub const GLASS: Self = Self { b0: 0.05, diffuse_share: 0.95 };
    /// No loss: for comparison with what a sensor in the plane reads.
    pub const NONE: Self = Self { b0: 0.0, diffuse_share: 1.0 };

    /// Share of beam that passes, 0 to 1, by the cosine of the angle of incidence.
    #[must_use]
    pub fn beam_share(&self, cos_incidence: f64) -> f64 {
        if cos_incidence <= 0.0 {
            return 0.0;
        }
        (1.0 - self.b0 * (1.0 / cos_incidence - 1.0)).max(0.0)
    }
}

/// A plane that looks at the sky.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plane {
    east: f64,
    north: f64,
    up: f64,
    sky_share: f64,
    ground_share: f64,
    incidence: Incidence,
    model: SkyModel,
}

impl Plane {
    /// A plane sloped `tilt_deg` from level (0 to 180) that faces `azimuth_deg` east of north,
    /// behind glass, over a skyline.
    #[must_use]
    pub fn new(tilt_deg: f64, azimuth_deg: f64, skyline: &Skyline) -> Self {
        let (sin_tilt, cos_tilt) = libm::sincos(tilt_deg.to_radians());
        let (sin_azimuth, cos_azimuth) = libm::sincos(azimuth_deg.to_radians());
        Self {
            east: sin_tilt * sin_azimuth,
            north: sin_tilt * cos_azimuth,
            up: cos_tilt,
            sky_share: skyline.sky_share(tilt_deg, azimuth_deg),
            ground_share: (1.0 - cos_tilt) / 2.0,
            incidence: Incidence::GLASS,
            model: SkyModel::HayDavies,
        }
    }

    /// The same plane with other losses by incidence.
    #[must_use]
    pub fn with_incidence(mut self, incidence: Incidence) -> Self {
        self.incidence = incidence;
        self
    }

    /// The same plane under another model of the sky.
    #[must_use]
    pub fn with_model(mut self, model: SkyModel) -> Self {
        self.model = model;
        self
    }

    /// Cosine of the angle between the sun and the normal of the plane; below 0 behind it.
    #[must_use]
    pub fn cos_incidence(&self, sun: &SunVector) -> f64 {
        self.east * sun.east + self.north * sun.north + self.up * sun.up
    }
}

/// What one hour's light makes in the plane of one array: pure geometry.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct PlaneHour {
    /// Plane irradiance for each W/m2 of direct normal irradiance.
    pub beam: f64,
    /// For each W/m2 of diffuse light from around the sun.
    pub circumsolar: f64,
    /// For each W/m2 of diffuse light from the even sky.
    pub sky: f64,
    /// For each W/m2 of global irradiance.
    pub ground: f64,
    /// Extraterrestrial normal irradiance, mean over the hour with 0 while the sun is down, W/m2.
    pub e0n_w_m2: f64,
}

impl PlaneHour {
    /// The coefficients of `plane` for an hour of `suns` (empty at night) whose means are `hour`,
    /// behind a skyline, over ground that reflects a share of the light.
    ///
    /// Beam: mean of cos(incidence) while the sun is up. Around the sun: the sum of
    /// cos(incidence) over that of cos(zenith), that is, the diffuse light grows with the sun's
    /// height within the hour.
    #[must_use]
    pub fn new(
        plane: &Plane,
        suns: &[SunVector],
        hour: &SunHour,
        skyline: &Skyline,
        ground_reflectance_share: f64,
    ) -> Self {
        let diffuse_share = plane.incidence.diffuse_share;
        let sky = plane.sky_share * diffuse_share;
        let ground = plane.ground_share * ground_reflectance_share * diffuse_share;
        let (mut lit, mut cos_sum, mut beam_sum) = (0.0_f64, 0.0, 0.0);
        for sun in suns.iter().filter(|sun| sun.is_up()) {
            lit += 1.0;
            cos_sum += sun.up.max(LEAST_COS_ZENITH);
            let cos_incidence = plane.cos_incidence(sun);
            if cos_incidence > 0.0 && !skyline.hides(sun) {
                beam_sum += cos_incidence * plane.incidence.beam_share(cos_incidence);
            }
        }
        if lit == 0.0 {
            return Self { beam: 0.0, circumsolar: 0.0, sky, ground, e0n_w_m2: 0.0 };
        }
        Self {
            beam: beam_sum / lit,
            circumsolar: match plane.model {
                SkyModel::HayDavies => beam_sum / cos_sum,
                SkyModel::Isotropic => sky,
            },
            sky,
            ground,
            e0n_w_m2: hour.e0n_w_m2,
        }
    }

    /// Irradiance that gets through the glass of the array, W/m2.
    #[must_use]
    #[inline]
    pub fn in_plane_w_m2(&self, light: &Irradiance) -> f64 {
        let around_sun =
            if self.e0n_w_m2 > 0.0 { (light.dni_w_m2 / self.e0n_w_m2).min(1.0) } else { 0.0 };
        light.dni_w_m2 * self.beam
            + light.dhi_w_m2 * ((1.0 - around_sun) * self.sky + around_sun * self.circumsolar)
            + light.ghi_w_m2 * self.ground
    }
}
