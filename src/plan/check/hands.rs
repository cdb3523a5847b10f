//! What needs hands where nobody comes, and snow.

use chrono::Duration;

use super::Check;
use crate::scenario::json_path::JsonPath;
use crate::scenario::schedule::Attended;
use crate::warning::Kind;

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
                    "The array “{name}” never stands outside: it is put out by hand and nobody comes."
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

    /// Falls of snow are instants of the span.
    pub(super) fn snow(&mut self) {
        let Some(snow) = &self.scenario.snow else { return };
        let Some(clock) = self.clock() else { return };
        let span = &self.scenario.span;
        let settles = Duration::days(i64::from(self.scenario.start.settle_days.unwrap_or(0)));
        let begin = span.start.checked_sub_signed(settles).unwrap_or(span.start);
        let end = span.start.checked_add_signed(Duration::hours(i64::from(span.hours)));
        for (place, fall) in snow.falls.iter().enumerate() {
            let path = JsonPath::keys(&["snow", "falls"]).index(place).key("at");
            self.instant(&clock, &path, fall.at);
            if fall.at < begin || end.is_some_and(|end| fall.at >= end) {
                let text = "This snow falls outside the span: the run never meets it.";
                self.warn(Kind::Note, &path, text);
            }
        }
    }
}
