//! A measured series against the sun: catches wrong offsets, stamps, columns, units and places.
//!
//! Limits: global and diffuse up to 1.2 times the extraterrestrial irradiance on the level plus
//! 50 W/m2 (the form of C. N. Long and E. G. Dutton's tests for the Baseline Surface Radiation
//! Network, 2002, from memory; bright clouds and twilight need the room), direct normal up to the
//! extraterrestrial normal irradiance, or 50 W/m2 while the sun is down.

use chrono::Duration;
use rayon::prelude::*;

use crate::scenario::sun::Measured;

use super::super::daily::HOURS;
use super::super::hour::{extraterrestrial_w_m2, positions};
use super::super::problem::{SkyProblem, SkyProblemKind};
use super::super::track::SunTrack;
use super::{MeasuredHour, Series};

const ROOM_W_M2: f64 = 50.0;

/// Everything in the series that the sun cannot have made.
#[must_use]
pub fn judge(series: &Series, measured: &Measured, track: &SunTrack) -> Vec<SkyProblem> {
    series
        .hours
        .par_iter()
        .enumerate()
        .with_min_len(HOURS)
        .flat_map_iter(|(index, hour)| hour_problems(series, index, hour, measured, track))
        .collect()
}

fn hour_problems(
    series: &Series,
    index: usize,
    hour: &MeasuredHour,
    measured: &Measured,
    track: &SunTrack,
) -> Vec<SkyProblem> {
    let start = series.first + Duration::hours(i64::try_from(index).unwrap_or(0));
    let (level_w_m2, normal_w_m2) = match positions(track, start) {
        Some(suns) => (extraterrestrial_w_m2(&suns), suns[0].e0n_w_m2),
        None => (0.0, 0.0),
    };
    let level = 1.2 * level_w_m2 + ROOM_W_M2;
    let normal = normal_w_m2.max(ROOM_W_M2);
    let columns = [
        (Some(&measured.ghi_column), Some(hour.ghi_w_m2), level),
        (measured.dni_column.as_ref(), hour.dni_w_m2, normal),
        (measured.dhi_column.as_ref(), hour.dhi_w_m2, level),
    ];
    let mut problems = Vec::new();
    for (column, found, allowed) in columns {
        if let (Some(column), Some(found)) = (column, found)
            && found > allowed
        {
            problems.push(SkyProblem::at(
                hour.line,
                SkyProblemKind::TooBright {
                    column: column.clone(),
                    from: series.clock_of(index),
                    found,
                    allowed,
                },
            ));
        }
    }
    problems
}
