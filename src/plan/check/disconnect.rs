//! The low-voltage disconnect against the battery, the chargers and the devices.

use super::battery::BatteryVolts;
use super::set_points::set_points;
use super::{Check, num};
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind};
use crate::scenario::schedule::{Attended, Reconnects};
use crate::warning::Kind;

/// A disconnect that opens on a battery with this charge at rest opens on any battery, share.
const FULL_AT_REST_SHARE: f64 = 0.95;

impl Check<'_> {
    pub(super) fn disconnect(&mut self) {
        let Some(disconnect) = &self.scenario.disconnect else { return };
        let (disconnect_v, reconnect_v) = (disconnect.disconnect_v, disconnect.reconnect_v);
        let at = JsonPath::keys(&["disconnect"]);
        let battery = BatteryVolts::of(&self.scenario.battery);
        if disconnect_v >= reconnect_v {
            self.clash(
                "the disconnect must close at higher volts than it opens at",
                (&at.key("reconnect_v"), &format!("closes at {} V", num(reconnect_v))),
                (&at.key("disconnect_v"), &format!("opens at {} V", num(disconnect_v))),
                "With less than about 1 V between them it opens and closes all night.",
            );
        }
        let rest_v = battery.rest_v(FULL_AT_REST_SHARE);
        let limits = if disconnect_v <= battery.empty_v {
            Some((
                "the disconnect never opens: the battery is empty before that",
                format!("above {} V, the volts of this battery when empty", num(battery.empty_v)),
            ))
        } else if disconnect_v >= rest_v {
            Some((
                "the disconnect would cut the loads off from a full battery",
                format!("below {} V, at which this battery rests when full", num(rest_v)),
            ))
        } else {
            None
        };
        if let Some((text, allowed)) = limits.filter(|_| !self.another_battery) {
            let problem = Problem::new(ProblemKind::Impossible, text)
                .at(
                    self.spans,
                    &at.key("disconnect_v"),
                    &format!("opens at {} V", num(disconnect_v)),
                )
                .at(self.spans, &battery.path, &battery.label)
                .allowed(&allowed);
            self.found(problem);
        }
        let points = set_points(self.scenario);
        let highest = points
            .iter()
            .filter(|point| point.feeds)
            .max_by(|one, other| one.volts.total_cmp(&other.volts));
        if let Some(highest) = highest.filter(|highest| reconnect_v > highest.volts) {
            self.clash(
                "once open, the disconnect never closes again: no source reaches its volts",
                (&at.key("reconnect_v"), &format!("closes at {} V", num(reconnect_v))),
                (&highest.path, &format!("the highest set point, {} V", num(highest.volts))),
                "",
            );
        }
        if disconnect.reconnects == Reconnects::ByHand && self.scenario.attended == Attended::Never
        {
            let text = "Once open, the disconnect stays open: it closes by hand and nobody comes.";
            self.warn(Kind::Note, &at.key("reconnects"), text);
        }
    }
}
