//! The same day over and over: 24 values by hour of standard time.
//!
//! Values in the plane of the arrays are taken as what gets through the glass; nothing of the
//! site changes them. A share of rated power goes round temperature and low light as well.
//! Trust: exact.

use crate::scenario::sun::Profile;

use super::daily::HOURS;
use super::problem::{SkyProblem, SkyProblemKind};

/// The 24 values of a profile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ProfileDay {
    /// Irradiance in the plane of every array, W/m2.
    Plane([f64; HOURS]),
    /// Output of every array before its named losses, share of rated.
    Rated([f64; HOURS]),
}

impl ProfileDay {
    /// Reads the values of a scenario.
    ///
    /// # Errors
    /// When not exactly one of the two forms is given, or not 24 values, or one is no number
    /// from 0 up.
    pub fn new(profile: &Profile) -> Result<Self, Vec<SkyProblem>> {
        match (&profile.in_plane_w_m2, &profile.rated_share) {
            (Some(values), None) => twenty_four("in_plane_w_m2", values).map(Self::Plane),
            (None, Some(values)) => twenty_four("rated_share", values).map(Self::Rated),
            _ => Err(vec![SkyProblemKind::ProfileForm.into()]),
        }
    }

    /// Irradiance in the plane of every array for an hour from 0 to 23, W/m2; 0 in the other form.
    #[must_use]
    pub fn in_plane_w_m2(&self, hour: usize) -> f64 {
        match self {
            Self::Plane(values) => values[hour % HOURS],
            Self::Rated(_) => 0.0,
        }
    }

    /// Share of rated power for an hour from 0 to 23, in that form.
    #[must_use]
    pub fn rated_share(&self, hour: usize) -> Option<f64> {
        match self {
            Self::Plane(_) => None,
            Self::Rated(values) => Some(values[hour % HOURS]),
        }
    }
}

fn twenty_four(key: &'static str, values: &[f64]) -> Result<[f64; HOURS], Vec<SkyProblem>> {
    let mut problems: Vec<SkyProblem> = values
        .iter()
        .enumerate()
        .filter(|(_, value)| !(value.is_finite() && **value >= 0.0))
        .map(|(hour, &found)| SkyProblemKind::ProfileValue { key, hour, found }.into())
        .collect();
    match <[f64; HOURS]>::try_from(values) {
        Ok(values) if problems.is_empty() => Ok(values),
        Ok(_) => Err(problems),
        Err(_) => {
            problems.push(SkyProblemKind::ProfileLength { key, found: values.len() }.into());
            Err(problems)
        }
    }
}
