//! The cold: set points that rise in it, against the devices on the bus; capacity that it locks.

use super::set_points::charges;
use chrono::{Datelike, Duration};

use super::{Check, num};
use crate::scenario::battery::{Battery, LeadAcid, Temperature};
use crate::scenario::json_path::JsonPath;
use crate::scenario::sun::Sun;
use crate::station::battery::acid;
use crate::warning::Kind;

/// Battery temperature at which set points stand as written, deg C.
const AS_WRITTEN_C: f64 = 25.0;
/// After a year every month has been there.
const MOST_DAYS: i64 = 366;

impl Check<'_> {
    /// Coldest that the battery gets by what the scenario says in months that count (January is 0),
    /// deg C; unknown while a measured series has not been read.
    fn coldest_c(&self, counts: impl Fn(usize) -> bool) -> Option<f64> {
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
                let days = climate.air_mean_c.iter().zip(&climate.air_swing_c).enumerate();
                days.filter(|(month0, _)| counts(*month0))
                    .map(|(_, (mean_c, swing_c))| mean_c - swing_c / 2.0)
                    .fold(f64::INFINITY, f64::min)
            }
            Sun::Measured(_) => {
                let hours = self.sky.as_ref()?.hours();
                hours.iter().map(|hour| hour.air_c).fold(f64::INFINITY, f64::min)
            }
        };
        Some(air_c + offset_c)
    }

    /// What the cold locks of a lead-acid battery is known down to a temperature.
    pub(super) fn usable_in_the_cold(&mut self, battery: &LeadAcid) {
        let from_c = acid::usable_published_from_c(battery.kind);
        let touched = self.months_of_span();
        let Some(coldest_c) = self.coldest_c(|month0| touched[month0]) else { return };
        let warmer_c = battery.heater.map_or(0.0, |heater| heater.rise_c);
        let coldest_c = coldest_c + warmer_c;
        if battery.usable_share_at_c.is_empty() && coldest_c < from_c {
            let text = format!(
                "The battery gets down to {} deg C here. How much of its capacity the cold locks is \
                 published for its kind down to {} deg C, and carried on by a straight line below: \
                 give `usable_share_at_c` from its datasheet.",
                num(coldest_c),
                num(from_c)
            );
            self.warn(Kind::Note, &JsonPath::keys(&["battery", "lead_acid", "temperature"]), text);
        }
    }

    /// Which months the span touches, with the days that settle.
    fn months_of_span(&self) -> [bool; 12] {
        let span = &self.scenario.span;
        let settles = Duration::days(i64::from(self.scenario.start.settle_days.unwrap_or(0)));
        let mut touched = [false; 12];
        let first = span.start.checked_sub_signed(settles).unwrap_or(span.start);
        let days = settles.num_days() + i64::from(span.hours) / 24 + 1;
        for day in 0..=days.min(MOST_DAYS) {
            if let Some(at) = first.checked_add_signed(Duration::days(day)) {
                touched[at.month0() as usize] = true;
            }
        }
        touched
    }

    /// A set point that a device takes at 25 deg C may be too much for it in winter.
    pub(super) fn set_points_in_the_cold(&mut self) {
        let Some(coldest_c) = self.coldest_c(|_| true).filter(|it| *it < AS_WRITTEN_C) else {
            return;
        };
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
