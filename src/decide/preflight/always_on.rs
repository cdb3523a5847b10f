//! What is always on, ranked by its energy a day.

use super::finding::{About, Finding, Severity, Subject, num, percent};
use super::ground::Ground;

const ENERGY: &str = "energy follows the mean: watts times 24 hours";

pub(super) fn always_on(ground: &Ground<'_>, found: &mut Vec<Finding>) {
    let mut ranked: Vec<(f64, String, String)> = Vec::new();
    for (name, load) in &ground.scenario.loads {
        let hours = ground.hours_a_day(name);
        let day_wh = ground.mean_w(name) * hours;
        if load.when.is_none() && hours >= WHOLE_DAY_H && day_wh > 0.0 {
            ranked.push((day_wh, format!("load “{name}”"), format!("loads.{name}")));
        }
    }
    if ground.plan.standby_w > 0.0 {
        ranked.push((24.0 * ground.plan.standby_w, "controllers".into(), "controllers".into()));
    }
    ranked.sort_by(|one, other| other.0.total_cmp(&one.0));
    let stored_wh = ground.stored_wh();
    for (rank, (day_wh, item, path)) in ranked.into_iter().enumerate() {
        let sentence = format!(
            "Number {} of what is always on: {} Wh a day, {} of what the battery holds.",
            rank + 1,
            num(day_wh, 0),
            percent(day_wh / stored_wh)
        );
        let about = About::new(item, path);
        found.push(
            Finding::new(Subject::AlwaysOn, &about, "always on, a day", sentence, ENERGY)
                .value(day_wh, "Wh")
                .severity(Severity::Note),
        );
    }
}

/// A load with fewer hours a day is switched, h.
const WHOLE_DAY_H: f64 = 23.99;
