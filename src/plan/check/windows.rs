//! Windows and other times of day.

use chrono::NaiveDate;

use super::Check;
use crate::clock::{MINUTES_A_DAY, TimesOfDay, parse_time_of_day};
use crate::plan::compile::clock_and_stretch;
use crate::scenario::Scenario;
use crate::scenario::basis::chrono_date::Date;
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind, likely};
use crate::scenario::schedule::{Grid, Window};
use crate::warning::Kind;

/// The words that say when somebody looks at the charge.
const LOOKS: [&str; 4] = ["start", "sunrise", "sunset", "hourly"];

impl Check<'_> {
    pub(super) fn windows(&mut self) {
        for (name, window) in &self.scenario.windows {
            let Err(problems) = TimesOfDay::new(window) else { continue };
            for problem in problems {
                let path = JsonPath::keys(&["windows", name, problem.field]);
                let text =
                    format!("window `{name}`: `{}` cannot be {}", problem.field, problem.found);
                let hint = (problem.field == "from" || problem.field == "to")
                    .then(|| time_hint(&problem.found))
                    .flatten();
                let problem = Problem::new(ProblemKind::WrongForm, &text)
                    .at(self.spans, &path, "found this")
                    .allowed(problem.allowed.trim_end_matches(" is allowed"))
                    .maybe_hint(hint);
                self.found(problem);
            }
        }
        let Some(shedding) = &self.scenario.shedding else { return };
        let path = JsonPath::keys(&["shedding", "decide_at"]);
        if shedding.decide_at.is_empty() {
            let problem = Problem::new(
                ProblemKind::MissingKey,
                "nobody ever looks at the charge: `decide_at` is empty",
            )
            .at(self.spans, &path, "empty")
            .hint("Leave the key out for sunrise and sunset.");
            self.found(problem);
        }
        for (index, word) in shedding.decide_at.iter().enumerate() {
            let time = parse_time_of_day(word).is_some_and(|minutes| minutes < MINUTES_A_DAY);
            if time || LOOKS.contains(&word.as_str()) {
                continue;
            }
            let text = format!("`{word}` does not say when somebody looks at the charge");
            let label = match likely(word, LOOKS) {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => "found this".to_owned(),
            };
            let problem = Problem::new(ProblemKind::UnknownChoice, &text)
                .at(self.spans, &path.index(index), &label)
                .allowed("\"start\", \"sunrise\", \"sunset\", \"hourly\", or a local time from \"00:00\" to \"23:59\"")
                .maybe_hint(time_hint(word));
            self.found(problem);
        }
    }
}

impl Check<'_> {
    /// Dates on which a window never opens within the hours that are simulated.
    pub(super) fn dates(&mut self) {
        for (name, window) in &self.scenario.windows {
            let never = dates_never_met(self.scenario, window);
            if never.is_empty() {
                continue;
            }
            let path = JsonPath::keys(&["windows", name, "dates"]);
            self.warn(Kind::Note, &path, never_met(name, &never));
        }
    }
}

/// The sentence on dates of a window that the simulated hours never meet.
fn never_met(name: &str, dates: &[NaiveDate]) -> String {
    let dates: Vec<String> = dates.iter().map(NaiveDate::to_string).collect();
    format!(
        "The window “{name}” never opens on {}: none of its hours are simulated.",
        dates.join(", ")
    )
}

/// The dates of a window on which it never opens within the hours that are simulated, warm-up days
/// among them. None where each trial begins at a date of its own, or where the clock, the span or
/// the window itself is wrong.
pub(in crate::plan) fn dates_never_met(scenario: &Scenario, window: &Window) -> Vec<NaiveDate> {
    if matches!(scenario.grid, Grid::OutageAtRandom(_)) || TimesOfDay::new(window).is_err() {
        return Vec::new();
    }
    let (Some(dates), Ok((clock, stretch))) = (&window.dates, clock_and_stretch(scenario)) else {
        return Vec::new();
    };
    let met = |date: &Date| {
        let alone = Window { dates: Some(vec![*date]), ..window.clone() };
        // A date that is on none of its days is another matter.
        TimesOfDay::new(&alone).map_or(true, |times| {
            times.open_at(&clock, stretch.begin)
                || !times.changes_between(&clock, stretch.begin, stretch.end).is_empty()
        })
    };
    dates.iter().filter(|date| !met(date)).map(|date| date.0).collect()
}

/// What a time that is nearly right was probably meant to be: `7:30`, `19.30`, `1930`, `7:30 pm`.
fn time_hint(found: &str) -> Option<String> {
    let plain = found.trim_matches('`').trim().to_lowercase();
    let (plain, afternoon) = match plain.strip_suffix("pm") {
        Some(rest) => (rest.trim().to_owned(), true),
        None => (plain.strip_suffix("am").unwrap_or(&plain).trim().to_owned(), false),
    };
    let parts: Vec<&str> = match plain.split_once([':', '.', 'h']) {
        Some((hours, minutes)) => vec![hours, minutes],
        None if plain.len() == 4 && plain.is_ascii() => vec![&plain[..2], &plain[2..]],
        None => vec![plain.as_str(), ""],
    };
    let hours: u32 = parts.first()?.parse().ok()?;
    let minutes: u32 = match *parts.get(1)? {
        "" => 0,
        minutes => minutes.parse().ok()?,
    };
    let hours = if afternoon && hours < 12 { hours + 12 } else { hours };
    let meant = format!("{hours:02}:{minutes:02}");
    parse_time_of_day(&meant).filter(|_| meant != found.trim_matches('`'))?;
    Some(format!("Write \"{meant}\"."))
}

#[cfg(test)]
mod tests {
    use super::time_hint;

    #[test]
    fn times_that_are_nearly_right_are_put_right() {
        for (found, meant) in [
            ("7:30", Some("07:30")),
            ("`19.30`", Some("19:30")),
            ("1930", Some("19:30")),
            ("7:30 pm", Some("19:30")),
            ("7", Some("07:00")),
            ("25:00", None),
            ("noon", None),
            ("24:00", None),
            ("", None),
        ] {
            let meant = meant.map(|meant| format!("Write \"{meant}\"."));
            assert_eq!(time_hint(found), meant, "{found}");
        }
    }
}
