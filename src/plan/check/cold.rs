//! Set points that rise in the cold, against the devices on the bus.

use super::set_points::charges;
use super::{Check, num};
use crate::scenario::battery::{Battery, Temperature};
use crate::scenario::json_path::JsonPath;
use crate::scenario::sun::Sun;
use crate::warning::Kind;

/// Battery temperature at which set points stand as written, deg C.
const AS_WRITTEN_C: f64 = 25.0;

impl Check<'_> {
    /// Coldest that the battery gets by what the scenario says, deg C; unknown with a measured series.
    fn coldest_c(&self) -> Option<f64> {
        let temperature = match &self.scenario.battery {
            Battery::LithiumIronPhosphate(cells) => &cells.temperature,
            Battery::LeadAcid(cells) => &cells.temperature,
            Battery::Ideal(_) => return None,
        };
        let offset_c = match temperature {
            Temperature::FixedC(battery_c) => return Some(*battery_c),
            Temperature::FollowsAir { offset_c, .. } => *offset_c,
        };
        let air_c = match &self.scenario.sun {
            Sun::Profile(profile) => profile.air_c,
            Sun::Climate(climate) => {
                let days = climate.air_mean_c.iter().zip(&climate.air_swing_c);
                days.map(|(mean_c, swing_c)| mean_c - swing_c / 2.0).fold(f64::INFINITY, f64::min)
            }
            Sun::Measured(_) => return None,
        };
        Some(air_c + offset_c)
    }

    /// A set point that a device takes at 25 deg C may be too much for it in winter.
    pub(super) fn set_points_in_the_cold(&mut self) {
        let Some(coldest_c) = self.coldest_c().filter(|it| *it < AS_WRITTEN_C) else { return };
        let takes = |load: &crate::scenario::loads::Load| load.window_v.map(|window| window[1]);
        let least = self
            .scenario
            .loads
            .iter()
            .filter_map(|(name, load)| Some((name.clone(), takes(load)?)))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        let Some((name, most_v)) = least else { return };
        for (path, charge, whose, feeds) in charges(self.scenario) {
            let Some(per_k) = charge.compensation_v_per_k else { continue };
            let cold_v = charge.bulk_v + per_k * (coldest_c - AS_WRITTEN_C);
            if feeds && charge.bulk_v <= most_v && cold_v > most_v {
                let path: JsonPath = path.key("compensation_v_per_k");
                let text = format!(
                    "With the battery at {} deg C, the coldest here, {whose} holds {} V; “{name}” \
                     works up to {} V.",
                    num(coldest_c),
                    num((cold_v * 100.0).round() / 100.0),
                    num(most_v)
                );
                self.warn(Kind::Note, &path, text);
            }
        }
    }
}
