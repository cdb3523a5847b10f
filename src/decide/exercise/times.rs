//! When the clock has something on: watches, hours of the generator, nights; in elapsed hours.

use chrono::{DateTime, FixedOffset, Utc};

use crate::clock::{LocalClock, TimesOfDay};
use crate::plan::compile::{Stretch, clock_and_stretch};
use crate::scenario::Scenario;

/// Spells, from and to, h since the span began.
pub type Spells = Vec<(f64, f64)>;

/// The clock of a scenario and its span.
pub struct Span {
    clock: LocalClock,
    stretch: Stretch,
}

impl Span {
    /// That of a good scenario.
    #[must_use]
    pub fn of(scenario: &Scenario) -> Option<Self> {
        let (clock, stretch) = clock_and_stretch(scenario).ok()?;
        Some(Self { clock, stretch })
    }

    #[allow(clippy::cast_precision_loss)]
    fn elapsed_h(&self, at: DateTime<Utc>) -> f64 {
        (at - self.stretch.start).num_seconds() as f64 / 3600.0
    }

    /// Local time after so many minutes.
    #[must_use]
    pub fn local(&self, elapsed_min: i64) -> DateTime<FixedOffset> {
        self.clock.local(self.stretch.start + chrono::Duration::minutes(elapsed_min))
    }

    /// Length, h.
    #[must_use]
    pub fn hours(&self) -> f64 {
        self.elapsed_h(self.stretch.end)
    }

    /// When one of the named windows is open.
    #[must_use]
    pub fn open(&self, scenario: &Scenario, names: &[&String]) -> Spells {
        let mut spells = Spells::new();
        for name in names {
            let Some(Ok(times)) = scenario.windows.get(*name).map(TimesOfDay::new) else {
                continue;
            };
            let (start, end) = (self.stretch.start, self.stretch.end);
            let mut open = times.open_at(&self.clock, start);
            let mut from = start;
            let changes = times.changes_between(&self.clock, start, end);
            for at in changes.into_iter().filter(|at| *at > start && *at < end).chain([end]) {
                if open {
                    spells.push((self.elapsed_h(from), self.elapsed_h(at)));
                }
                open = !open;
                from = at;
            }
        }
        joined(spells)
    }

    /// When a station is on watch.
    #[must_use]
    pub fn watch(&self, scenario: &Scenario) -> Spells {
        match &scenario.watch {
            Some(watch) => self.open(scenario, &watch.r#in.iter().collect::<Vec<_>>()),
            None => vec![(0.0, self.hours())],
        }
    }

    /// When the generator may run.
    #[must_use]
    pub fn engine_allowed(&self, scenario: &Scenario) -> Spells {
        match scenario.generator.as_ref().map(|it| it.allowed.as_ref()) {
            Some(Some(name)) => self.open(scenario, &[name]),
            Some(None) => vec![(0.0, self.hours())],
            None => Spells::new(),
        }
    }
}

/// Spells in their order, those that touch as one.
fn joined(mut spells: Spells) -> Spells {
    spells.sort_by(|one, other| one.0.total_cmp(&other.0));
    let mut kept = Spells::new();
    for (from, to) in spells {
        match kept.last_mut() {
            Some((_, end)) if from <= *end + 1e-9 => *end = end.max(to),
            _ => kept.push((from, to)),
        }
    }
    kept
}

/// Whether an instant lies in a spell.
#[must_use]
pub fn inside(spells: &Spells, at_h: f64) -> bool {
    spells.iter().any(|(from, to)| *from <= at_h + 1e-9 && at_h + 1e-9 < *to)
}
