//! Monthly means against the sun above the air.

use chrono::{Datelike, NaiveDate};

use super::{Check, num};
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{MONTHS, Problem, ProblemKind};
use crate::scenario::sun::Climate;
use crate::sky::climate::extraterrestrial_kwh_m2;
use crate::sky::outlook::too_bright;
use crate::sky::position::Place;
use crate::sky::track::SunTrack;
use crate::sky::view::hour_start;

/// Mean clearness of a month: the darkest and the clearest that are believed (judgement; monthly
/// means of inhabited places lie between 0.2 and 0.75).
const BELIEVED: (f64, f64) = (0.1, 0.8);
/// The day of each month whose sun above the air is nearest to the mean of the month (Klein,
/// "Calculation of monthly average insolation on tilted surfaces", Solar Energy 19 (1977) 325, as
/// tabulated in Duffie & Beckman, table 1.6.1): near enough for bounds as wide as these.
const MEAN_DAY: [u32; 12] = [17, 16, 16, 15, 15, 11, 17, 16, 15, 15, 14, 10];
/// With less than this above the air the month is mostly night and its clearness says nothing,
/// kWh/m2 a day.
const MOSTLY_NIGHT_KWH_M2: f64 = 0.3;

impl Check<'_> {
    /// What was told must be within what arrives above the air.
    fn outlook(&mut self, climate: &Climate, offset: chrono::FixedOffset) {
        let Some(outlook) = &climate.outlook else { return };
        let place = Place::from(&self.scenario.site);
        let at = JsonPath::keys(&["sun", "climate", "outlook", "days"]);
        for (day, most_kwh_m2) in too_bright(place, outlook, offset) {
            let text = "no weather gives this light on that day";
            let problem = Problem::new(ProblemKind::Impossible, text)
                .at(self.spans, &at.index(day).key("ghi_kwh_m2_day"), "too much")
                .allowed(&format!("up to {} kWh/m2", num(most_kwh_m2)));
            self.found(problem);
        }
    }

    pub(super) fn climate(&mut self, climate: &Climate) {
        let Some(clock) = self.clock() else { return };
        let Ok(start) = clock.instant(self.scenario.span.start) else { return };
        if !self.in_range {
            return;
        }
        let offset = clock.standard_offset(start);
        self.outlook(climate, offset);
        let year = self.scenario.span.start.year();
        let place = Place::from(&self.scenario.site);
        let list = JsonPath::keys(&["sun", "climate", "ghi_kwh_m2_day"]);
        let mut wrong: Vec<(usize, String)> = Vec::new();
        for ((month0, ghi), number) in climate.ghi_kwh_m2_day.iter().enumerate().zip(1..) {
            let Some(date) = NaiveDate::from_ymd_opt(year, number, MEAN_DAY[month0]) else {
                continue;
            };
            let (Some(from), Some(until)) =
                (hour_start(date, 0, offset), hour_start(date, 24, offset))
            else {
                continue;
            };
            let Ok(track) = SunTrack::new(place, from, until) else { return };
            let above_kwh_m2 = extraterrestrial_kwh_m2(&track, date, offset);
            let night = above_kwh_m2 < MOSTLY_NIGHT_KWH_M2;
            let clearness = if above_kwh_m2 > 0.0 { ghi / above_kwh_m2 } else { 0.0 };
            let believed = (BELIEVED.0..=BELIEVED.1).contains(&clearness);
            let dark_enough = night && *ghi <= above_kwh_m2;
            if !(believed || dark_enough) {
                let label = format!(
                    "{}: {} to {} can be",
                    MONTHS[month0],
                    num((BELIEVED.0 * above_kwh_m2 * 100.0).ceil() / 100.0),
                    num((BELIEVED.1 * above_kwh_m2 * 100.0).floor() / 100.0),
                );
                wrong.push((month0, label));
            }
        }
        if wrong.is_empty() {
            return;
        }
        let months: Vec<&str> = wrong.iter().map(|(month0, _)| MONTHS[*month0]).collect();
        let months = match months.as_slice() {
            [one] => (*one).to_owned(),
            [many @ .., last] => format!("{} and {last}", many.join(", ")),
            [] => String::new(),
        };
        let text = format!(
            "no weather at latitude {} gives this light in {months}",
            num(self.scenario.site.latitude_deg)
        );
        let mut problem = Problem::new(ProblemKind::Impossible, &text);
        for (month0, label) in &wrong {
            problem = problem.at(self.spans, &list.index(*month0), label);
        }
        let problem =
            problem.allowed("from 0.1 to 0.8 of the energy that arrives above the air").hint(
                "Look at the unit (kWh/m2 of a mean day), the order (January first), and the \
                 latitude (south is negative).",
            );
        self.found(problem);
    }
}
