//! Converters: their current rises as the volts fall, and they take something besides, day and night.

use super::finding::{About, Finding, Severity, Subject, num, percent};
use super::ground::Ground;
use crate::scenario::loads::Draw;
use crate::station::converter::{behind, most_w};

const LIMIT: &str =
    "V^2 / 4 R, the most that a resistance lets through; a quarter is common practice";
const IDLE: &str = "common practice, no source: no more for itself than for its loads";
/// Share of the most that comes through below which a converter is at ease.
const AT_EASE_SHARE: f64 = 0.25;

pub(super) fn converters(ground: &Ground<'_>, found: &mut Vec<Finding>) {
    let scenario = ground.scenario;
    for (name, load) in &scenario.loads {
        let Draw::Power { power_w: load_w, converter_efficiency_share, idle_w } = load.draw else {
            continue;
        };
        if load_w <= 0.0 && idle_w <= 0.0 {
            continue;
        }
        let power_w = load_w / converter_efficiency_share + idle_w;
        let about = About::new(format!("load “{name}”"), format!("loads.{name}.draw.power"));
        let group = scenario.outlet_groups.get_index_of(&load.group).unwrap_or(0);
        let ohm = ground.around.battery_ohm
            + ground.around.main_ohm
            + ground.around.group_ohm.get(group).copied().unwrap_or(0.0);
        let high_a = power_w / ground.highest_v;
        let (low_v, low_a) = behind(ground.low_v, ohm, power_w).unwrap_or((0.0, f64::INFINITY));
        let most = most_w(ground.low_v, ohm);
        let sentence = if low_a.is_finite() {
            format!(
                "It takes {} A at {} V and {} A, {} more, at {} V: the lower the battery, the harder it \
                 pulls.",
                num(high_a, 2),
                num(ground.highest_v, 1),
                num(low_a, 2),
                percent(low_a / high_a - 1.0),
                num(low_v, 1)
            )
        } else {
            format!(
                "It asks for {} W and its leads let {} W through at {} V: it pulls its own volts down.",
                num(power_w, 0),
                num(most, 0),
                num(ground.low_v, 1)
            )
        };
        let finding =
            Finding::new(Subject::ConverterCurrent, &about, "watts drawn", sentence, LIMIT)
                .value(power_w, "W")
                .at_most(AT_EASE_SHARE * most);
        let over = finding.misses();
        let mend = "Thicker or shorter leads, or a battery of more volts.";
        found.push(finding.when(over && power_w > most, Severity::Serious, mend).when(
            over,
            Severity::Caution,
            mend,
        ));
        if idle_w > 0.0 {
            idle(ground, &about, name, (load_w, idle_w), found);
        }
    }
}

fn idle(
    ground: &Ground<'_>,
    about: &About,
    name: &str,
    (load_w, idle_w): (f64, f64),
    found: &mut Vec<Finding>,
) {
    let hours = ground.hours_a_day(name);
    let (idle_wh, load_wh) = (idle_w * hours, load_w * hours);
    let stored_wh = ground.stored_wh();
    let sentence = format!(
        "Its converter takes {} Wh a day for itself, {} of what the battery holds, on for {} hours a \
         day; its loads get {} Wh.",
        num(idle_wh, 0),
        percent(idle_wh / stored_wh),
        num(hours, 1),
        num(load_wh, 0)
    );
    let finding = Finding::new(Subject::ConverterIdle, about, "idle, a day", sentence, IDLE)
        .value(idle_wh, "Wh")
        .at_most(load_wh);
    let over = finding.misses();
    let mend = "A converter that suits the load, or one for direct current; switch it off when \
                nothing is connected to it.";
    found.push(finding.when(over, Severity::Caution, mend));
}
