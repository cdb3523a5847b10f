//! The cold: set points that rise in it, against the devices on the bus; capacity that it locks.

use super::set_points::charges;
use chrono::{Datelike, Duration};

use super::{Check, num};
use crate::plan::coldest::{self, AS_WRITTEN_C};
use crate::scenario::battery::LeadAcid;
use crate::scenario::json_path::JsonPath;
use crate::station::battery::acid;
use crate::warning::Kind;

/// After a year every month has been there.
const MOST_DAYS: i64 = 366;

impl Check<'_> {
    /// See [`coldest::battery_c`].
    fn coldest_c(&self, counts: impl Fn(usize) -> bool) -> Option<f64> {
        let series_c = self.sky.as_ref().and_then(crate::sky::Sky::coldest_c);
        coldest::battery_c(self.scenario, series_c, counts)
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

    /// Which months the span touches, with the warm-up days.
    fn months_of_span(&self) -> [bool; 12] {
        let span = &self.scenario.span;
        let settles = Duration::days(i64::from(self.scenario.start.warmup_days.unwrap_or(0)));
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
            let cold_v = coldest::held_v(charge.absorption_v, per_k, Some(coldest_c));
            if feeds && charge.absorption_v <= most_v && cold_v > most_v {
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
