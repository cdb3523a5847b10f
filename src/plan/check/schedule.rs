//! The clock, the span and the outages.

use chrono::{DateTime, Duration, NaiveDateTime, Utc};

use super::{Check, num};
use crate::clock::{LocalClock, NotOneInstant};
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind};
use crate::scenario::schedule::{Grid, Outage};
use crate::scenario::site::{Clock, local_minute};
use crate::warning::Kind;

/// The sun goes round in 24 hours.
const DEG_AN_HOUR: f64 = 15.0;
/// By how much a clock that is kept on land may be off the sun's, h: about 3 in the far west of China,
/// the most there is (common knowledge, no source).
const MOST_OFF_SUN_H: f64 = 3.0;

impl Check<'_> {
    pub(super) fn schedule(&mut self) {
        let span = &self.scenario.span;
        if span.step_min == 0 || 60 % span.step_min != 0 {
            let text = format!("an hour cannot be cut into steps of {} min", span.step_min);
            let problem = Problem::new(ProblemKind::Impossible, &text)
                .at(self.spans, &JsonPath::keys(&["span", "step_min"]), "does not divide 60")
                .allowed("1, 2, 3, 4, 5, 6, 10, 12, 15, 20, 30 or 60");
            self.found(problem);
        }
        let Some(clock) = self.clock() else { return };
        let start = self.instant(&clock, &JsonPath::keys(&["span", "start"]), span.start);
        let span = start.and_then(|start| {
            Some((start, start.checked_add_signed(Duration::hours(i64::from(span.hours)))?))
        });
        match &self.scenario.grid {
            Grid::Outages(outages) => self.outages(&clock, outages, span),
            Grid::Outage(forced) => {
                let at = JsonPath::keys(&["grid", "outage"]);
                let off = self.instant(&clock, &at.key("off"), forced.off);
                if let (Some((begin, end)), Some(off)) = (span, off) {
                    #[allow(clippy::cast_possible_truncation)] // a float cast saturates
                    let seconds = (forced.hours * 3600.0) as i64;
                    let on =
                        Duration::try_seconds(seconds).and_then(|it| off.checked_add_signed(it));
                    if off >= end || on.is_some_and(|on| on <= begin) {
                        let text =
                            "The forced outage lies outside the span: the run never reaches it.";
                        self.warn(Kind::Note, &at, text);
                    }
                }
            }
            Grid::Pattern(pattern) if pattern.off_in.is_empty() => {
                let text = "This pattern names no window: the mains never fails.";
                self.warn(Kind::Note, &JsonPath::keys(&["grid", "pattern", "off_in"]), text);
            }
            Grid::OutageAtRandom(forced) => self.season(&clock, forced),
            Grid::Random(random) => self.random_grid(random),
            Grid::Always | Grid::None | Grid::Pattern(_) => {}
        }
    }

    /// The clock on the wall, when it can be read.
    pub(super) fn clock(&mut self) -> Option<LocalClock> {
        let clock = &self.scenario.site.clock;
        match LocalClock::new(clock) {
            Ok(clock) => Some(clock),
            Err(problem) => {
                let (key, what) = match clock {
                    Clock::Zone(_) => ("zone", "time zone"),
                    Clock::FixedOffset(_) => ("fixed_offset", "offset from UTC"),
                };
                let path = JsonPath::keys(&["site", "clock", key]);
                let label = match problem.near.first() {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "found this".to_owned(),
                };
                let text = format!("`{}` is not a known {what}", problem.found);
                let problem = Problem::new(ProblemKind::WrongForm, &text)
                    .at(self.spans, &path, &label)
                    .allowed(problem.allowed);
                if !self.problems.contains(&problem) {
                    self.found(problem);
                }
                None
            }
        }
    }

    /// The instant of a local time, when it is one.
    pub(super) fn instant(
        &mut self,
        clock: &LocalClock,
        path: &JsonPath,
        local: NaiveDateTime,
    ) -> Option<DateTime<Utc>> {
        let problem = match clock.instant(local) {
            Ok(instant) => return Some(instant),
            Err(problem) => problem,
        };
        let shown = local.format(local_minute::FORMAT);
        let (text, label, hint) = match problem {
            NotOneInstant::Skipped { before, after, .. } => (
                format!("{shown} does not exist on the clock of the site"),
                format!("the clock jumps over it, from UTC{before} to UTC{after}"),
                "Write a time before or after the jump.",
            ),
            NotOneInstant::Twice { earlier, later, .. } => (
                format!("{shown} comes twice on the clock of the site"),
                format!("once with UTC{earlier}, once with UTC{later}"),
                "Write a time before or after that hour, or give the site a `fixed_offset`.",
            ),
            NotOneInstant::OutsideYears { .. } => (
                format!("the clock changes of {} are not known", local.format("%Y")),
                "outside 1970 to 2099".to_owned(),
                "",
            ),
        };
        let problem = Problem::new(ProblemKind::ClockChange, &text).at(self.spans, path, &label);
        self.found(if hint.is_empty() { problem } else { problem.hint(hint) });
        None
    }

    /// The sun's clock against that on the wall: a longitude with the wrong sign moves the day.
    pub(super) fn longitude(&mut self) {
        let site = &self.scenario.site;
        let Ok(clock) = LocalClock::new(&site.clock) else { return };
        let Ok(start) = clock.instant(self.scenario.span.start) else { return };
        let offset = clock.standard_offset(start);
        let clock_h = f64::from(offset.local_minus_utc()) / 3600.0;
        let apart_h = |longitude_deg: f64| {
            ((longitude_deg / DEG_AN_HOUR - clock_h + 12.0).rem_euclid(24.0) - 12.0).abs()
        };
        let here_deg = site.longitude_deg;
        let found_h = apart_h(here_deg);
        if found_h <= MOST_OFF_SUN_H {
            return;
        }
        let told = |longitude_deg: f64| {
            let side = if longitude_deg < 0.0 { "west" } else { "east" };
            format!(
                "{} h from the sun’s at longitude {} ({side})",
                num((apart_h(longitude_deg) * 10.0).round() / 10.0),
                num(longitude_deg)
            )
        };
        let text = format!(
            "The clock of the site, UTC{offset}, is {}, and {}. Mend the sign, the longitude or the clock: \
             the sun is reckoned by the longitude.",
            told(here_deg),
            told(-here_deg)
        );
        self.warn(Kind::Note, &JsonPath::keys(&["site", "longitude_deg"]), text);
    }

    fn outages(
        &mut self,
        clock: &LocalClock,
        outages: &[Outage],
        span: Option<(DateTime<Utc>, DateTime<Utc>)>,
    ) {
        let list = JsonPath::keys(&["grid", "outages"]);
        let mut known: Vec<(usize, DateTime<Utc>, DateTime<Utc>)> = Vec::new();
        for (index, outage) in outages.iter().enumerate() {
            let at = list.index(index);
            let off = self.instant(clock, &at.key("off"), outage.off);
            let on = self.instant(clock, &at.key("on"), outage.on);
            let (Some(off), Some(on)) = (off, on) else { continue };
            if on <= off {
                self.clash(
                    "this outage ends before it begins",
                    (&at.key("on"), "mains back"),
                    (&at.key("off"), "mains off"),
                    "",
                );
                continue;
            }
            known.push((index, off, on));
            if span.is_some_and(|(begin, end)| off >= end || on <= begin) {
                let text = "This outage lies outside the span: the run never reaches it.";
                self.warn(Kind::Note, &at, text);
            }
        }
        known.sort_by_key(|&(index, off, _)| (off, index));
        let Some(&(mut latest, _, mut back)) = known.first() else { return };
        for &(index, off, on) in &known[1..] {
            if off < back {
                let hours = (back.min(on) - off).num_minutes();
                #[allow(clippy::cast_precision_loss)] // minutes of a few years
                let text = format!("two outages overlap by {} h", num(hours as f64 / 60.0));
                self.clash(
                    &text,
                    (&list.index(index).key("off"), "the mains fails again"),
                    (&list.index(latest).key("on"), "before it is back from this one"),
                    "Make one outage of the two, or mend a date.",
                );
            }
            if on > back {
                (latest, back) = (index, on);
            }
        }
    }
}
