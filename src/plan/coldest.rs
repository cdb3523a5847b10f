//! How cold it gets by what the scenario says, and what cold makes of set points.
//!
//! The coldest hour of a climate is that of its coldest month: mean less half the swing; of a series its
//! coldest hour. A battery that follows the air is as cold as that and what its box adds. Trust: exact
//! for what is stated; a night in many years is colder.

use crate::scenario::Scenario;
use crate::scenario::battery::{Battery, Temperature};
use crate::scenario::sun::Sun;

/// Battery temperature at which set points stand as written, deg C.
pub const AS_WRITTEN_C: f64 = 25.0;

/// Coldest air of the months that count (January is 0), deg C; `series_c` is the coldest hour of a
/// measured series, unknown while nobody has read it.
#[must_use]
pub fn air_c(sun: &Sun, series_c: Option<f64>, counts: impl Fn(usize) -> bool) -> Option<f64> {
    match sun {
        Sun::Profile(profile) => Some(profile.air_c),
        Sun::Climate(climate) => {
            let days = climate.air_mean_c.iter().zip(&climate.air_swing_c).enumerate();
            days.filter(|(month0, _)| counts(*month0))
                .map(|(_, (mean_c, swing_c))| mean_c - swing_c / 2.0)
                .reduce(f64::min)
        }
        Sun::Measured(_) => series_c,
    }
}

/// Coldest that the battery gets in the months that count, deg C, without its heater; `None` for an
/// ideal one, or where [`air_c`] is unknown.
#[must_use]
pub fn battery_c(
    scenario: &Scenario,
    series_c: Option<f64>,
    counts: impl Fn(usize) -> bool,
) -> Option<f64> {
    let temperature = match &scenario.battery {
        Battery::LithiumIronPhosphate(cells) => &cells.temperature,
        Battery::LeadAcid(cells) => &cells.temperature,
        Battery::Ideal(_) => return None,
    };
    match temperature {
        Temperature::FixedC(battery_c) => Some(*battery_c),
        Temperature::FollowsAir { offset_c, .. } => {
            air_c(&scenario.sun, series_c, counts).map(|air_c| air_c + offset_c)
        }
    }
}

/// What a set point comes to with the battery at its coldest, V; as written where that is warmer than
/// [`AS_WRITTEN_C`] or unknown.
#[must_use]
pub fn held_v(set_v: f64, compensation_v_per_k: f64, battery_c: Option<f64>) -> f64 {
    let colder_k = battery_c.map_or(0.0, |battery_c| (battery_c - AS_WRITTEN_C).min(0.0));
    set_v + compensation_v_per_k * colder_k
}
