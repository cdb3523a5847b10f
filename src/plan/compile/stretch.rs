//! The stretch of time that is simulated: warm-up days, then the span.

use chrono::{DateTime, Duration, FixedOffset, Utc};

use super::{CompileProblem, minutes};
use crate::clock::LocalClock;
use crate::scenario::Scenario;

/// The stretch of time that is simulated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// When warm-up begins; the span when there is none.
    pub begin: DateTime<Utc>,
    /// When the span begins.
    pub start: DateTime<Utc>,
    /// When the span ends.
    pub end: DateTime<Utc>,
    /// Minutes a step.
    pub step_min: u32,
    /// Steps before the span begins.
    pub settling_steps: usize,
}

impl Stretch {
    /// The stretch of a scenario.
    ///
    /// # Errors
    /// When its start is not one instant of the clock.
    pub fn of(scenario: &Scenario, clock: &LocalClock) -> Result<Self, Vec<CompileProblem>> {
        let start = clock
            .instant(scenario.span.start)
            .map_err(|problem| vec![CompileProblem::new("span.start", problem)])?;
        let warmup_days = scenario.start.warmup_days.unwrap_or(0);
        let step_min = scenario.span.step_min.clamp(1, 60);
        Ok(Self {
            begin: start - Duration::days(i64::from(warmup_days)),
            start,
            end: start + Duration::hours(i64::from(scenario.span.hours)),
            step_min,
            settling_steps: warmup_days as usize * 24 * 60 / step_min as usize,
        })
    }

    /// Beginning of every step.
    pub fn step_starts(self) -> impl Iterator<Item = DateTime<Utc>> {
        let step = minutes(i64::from(self.step_min));
        std::iter::successors(Some(self.begin), move |at| Some(*at + step))
            .take_while(move |at| *at < self.end)
    }

    /// Length of a step, h.
    #[must_use]
    pub fn step_hours(self) -> f64 {
        f64::from(self.step_min) / 60.0
    }

    /// Number of the step in which an instant lies.
    #[must_use]
    pub fn step_of(self, at: DateTime<Utc>) -> usize {
        let passed = (at - self.begin).num_minutes() / i64::from(self.step_min);
        usize::try_from(passed).unwrap_or(0)
    }

    /// How many hours of standard time it touches.
    #[must_use]
    pub fn weather_hours(self, standard_offset: FixedOffset) -> usize {
        let first = crate::sky::series::hour_begin(self.begin, standard_offset);
        let minutes = (self.end - first).num_minutes();
        usize::try_from((minutes + 59) / 60).unwrap_or(0)
    }
}
