//! A shedding rule against the sun: does the station shed by day, when the panels charge, and spend
//! by night?

use super::finding::{About, Finding, Severity, Subject, num};
use super::ground::Ground;

const BASIS: &str = "common practice, no source: what is spent by night must be stored, what is spent \
                     while the panels charge need not";
/// Fewer hours by day or by night are those of one day or night, in which a battery merely runs down, h.
const LEAST_SEEN_H: f64 = 12.0;
/// A fullest tier that has less of the night is not spent there.
const LEAST_BY_NIGHT_SHARE: f64 = 0.2;
/// It is upside down when the fullest tier has less of the day than this share of what it has of the
/// night: judgement.
const MOST_BY_DAY: f64 = 0.5;

/// Hours on the air by day and by night.
#[derive(Debug, Clone, Copy, Default)]
struct Hours {
    day_h: f64,
    night_h: f64,
}

impl Hours {
    fn add(&mut self, hours: f64, daylight_share: f64) {
        self.day_h += hours * daylight_share;
        self.night_h += hours * (1.0 - daylight_share);
    }
}

pub(super) fn upside_down(ground: &Ground<'_>, found: &mut Vec<Finding>) {
    let tiers = &ground.scenario.tiers;
    let Some(first) = tiers.first().filter(|_| tiers.len() > 1) else { return };
    if ground.scenario.shedding.is_none() || ground.scenario.arrays.is_empty() {
        return;
    }
    let (mut all, mut fullest) = (Hours::default(), Hours::default());
    for row in &ground.ledger.rows {
        let hours = row.hours - row.open_h;
        all.add(hours, row.daylight_share);
        if row.tier == 0 {
            fullest.add(hours, row.daylight_share);
        }
    }
    if all.day_h < LEAST_SEEN_H || all.night_h < LEAST_SEEN_H {
        return;
    }
    let (by_day, by_night) = (fullest.day_h / all.day_h, fullest.night_h / all.night_h);
    if by_night < LEAST_BY_NIGHT_SHARE || by_day >= MOST_BY_DAY * by_night {
        return;
    }
    let sentence = format!(
        "“{}” is in force for {} of {} h by night, and for {} of {} h by day, in mean weather: the rule \
         spends while nothing charges and sheds while the sun does.",
        first.name,
        num(fullest.night_h, 1),
        num(all.night_h, 1),
        num(fullest.day_h, 1),
        num(all.day_h, 1)
    );
    let about = About::new("shedding", "shedding");
    found.push(
        Finding::new(Subject::SheddingRule, &about, "fullest tier by day", sentence, BASIS)
            .value(by_day, "share")
            .at_least(by_night)
            .when(
                true,
                Severity::Caution,
                "Decide in the morning for the day and at dusk for the night, or ask for more charge at \
                 dusk than at dawn.",
            ),
    );
}
