//! What needs somebody where nobody comes, and snow.

use chrono::Duration;

use super::{Check, num};
use crate::scenario::json_path::JsonPath;
use crate::scenario::schedule::Attended;
use crate::scenario::sun::Storm;
use crate::station::snow;
use crate::warning::Kind;

/// Snow that needs longer than this to slide off counts as staying, h: two short winter days of thaw
/// and more (judgement, no source).
const MOST_SLIDING_H: f64 = 24.0;

impl Check<'_> {
    /// Panels that nobody puts out, stows or clears.
    pub(super) fn hands(&mut self) {
        if self.scenario.attended != Attended::Never {
            return;
        }
        for (name, array) in &self.scenario.arrays {
            let at = JsonPath::keys(&["arrays", name]);
            if array.deployed.is_some() {
                let text = format!(
                    "The array “{name}” is never outside: it is put out by hand and nobody comes."
                );
                self.warn(Kind::Note, &at.key("deployed"), text);
            }
            if array.stowed.is_some() {
                let text =
                    format!("The array “{name}” stays out: it is stowed by hand and nobody comes.");
                self.warn(Kind::Note, &at.key("stowed"), text);
            }
        }
        if self.scenario.snow.as_ref().is_some_and(|snow| snow.cleared_after_h.is_some()) {
            let text = "Nobody clears the snow: nobody comes.";
            self.warn(Kind::Note, &JsonPath::keys(&["snow", "cleared_after_h"]), text);
        }
    }

    /// Level panels, off which snow never slides. Fallen snow is asked for by the scenario, or comes
    /// with storms.
    fn snow_stays(&mut self) {
        let snow = self.scenario.snow.as_ref();
        let storms = match &self.scenario.storm {
            Some(Storm::Coupled(it)) => it.snow_chance > 0.0,
            _ => false,
        };
        let falls = snow.is_some_and(|it| !it.falls.is_empty());
        let hands = self.scenario.attended != Attended::Never;
        if !(falls || storms) || hands && snow.is_some_and(|it| it.cleared_after_h.is_some()) {
            return;
        }
        for (name, array) in &self.scenario.arrays {
            // Panels that are brought in are clear when they are put out again.
            if hands && (array.deployed.is_some() || array.stowed.is_some()) {
                continue;
            }
            let slides_h = snow::slides_all_h(array.tilt_deg);
            if slides_h <= MOST_SLIDING_H {
                continue;
            }
            let slowly = if slides_h.is_finite() {
                format!(
                    "so flat a panel needs {} hours of thaw or sun to shed it",
                    num(slides_h.round())
                )
            } else {
                "off a level panel it never slides".to_owned()
            };
            let text = format!(
                "Snow stays on the array “{name}”: {slowly}, and nobody clears it. Melting is not \
                 reckoned. Say when it is cleared (`snow.cleared_after_h`), or tilt the panels."
            );
            self.warn(Kind::Note, &JsonPath::keys(&["arrays", name, "tilt_deg"]), text);
        }
    }

    /// Falls of snow are instants of the span.
    pub(super) fn snow(&mut self) {
        self.snow_stays();
        let Some(snow) = &self.scenario.snow else { return };
        let Some(clock) = self.clock() else { return };
        let span = &self.scenario.span;
        let settles = Duration::days(i64::from(self.scenario.start.warmup_days.unwrap_or(0)));
        let begin = span.start.checked_sub_signed(settles).unwrap_or(span.start);
        let end = span.start.checked_add_signed(Duration::hours(i64::from(span.hours)));
        for (place, fall) in snow.falls.iter().enumerate() {
            let path = JsonPath::keys(&["snow", "falls"]).index(place).key("at");
            self.instant(&clock, &path, fall.at);
            if fall.at < begin || end.is_some_and(|end| fall.at >= end) {
                let text = "This snow falls outside the span: the run never reaches it.";
                self.warn(Kind::Note, &path, text);
            }
        }
    }
}
