//! Mains that fails and comes back: an alternating renewal process.
//!
//! Times up and times down follow each other, all independent, each kind with its own law. They are
//! drawn as durations, never as a coin an hour, so that a long outage costs one draw and its law
//! may have any shape. Long-run figures: availability = E(up) / (E(up) + E(down)); with a battery
//! of T hours, full when the mains fails, the dark share of time is
//! `E[max(down - T, 0)] / (E(up) + E(down))` (R. E. Barlow and F. Proschan, "Mathematical Theory of
//! Reliability", 1965, chapter 3; Cox 1962). Assumes that outages do not come in clusters and know
//! no season; the storm that takes the mains and the sun together is coupled elsewhere. Trust:
//! checked against published values.
//!
//! Draws: cycle n of a trial takes [`Purpose::OutageStart`] and [`Purpose::OutageLength`] under the
//! day given, block n (low 16 bits), so a change of one law leaves the draws of the other alone.

use super::draw::{Draw, Purpose};
use super::problem::ChanceProblem;
use super::transforms::Law;

/// Hours in a year of 365 days, for rates.
pub const HOURS_PER_YEAR: f64 = 8_760.0;
/// The shortest mean cycle, h: one minute, so that a trial has an end.
const LEAST_CYCLE_H: f64 = 1.0 / 60.0;

/// How times up and times down are spread, h.
#[derive(Debug, Clone, PartialEq)]
pub struct Renewal {
    up: Law,
    down: Law,
}

/// How a trial finds the mains when it begins.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Start {
    /// As at any moment: up or down by the availability, what is left of the state by its law.
    #[default]
    AnyMoment,
    /// It has just come back.
    JustBack,
    /// It has just failed.
    JustFailed,
}

/// One outage, hours since the trial began.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outage {
    /// When the mains fails.
    pub off_h: f64,
    /// When it is back.
    pub on_h: f64,
}

impl Renewal {
    /// Times up and times down by their laws, h.
    ///
    /// # Errors
    /// If both means together are shorter than a minute.
    pub fn new(up: Law, down: Law) -> Result<Self, ChanceProblem> {
        let cycle_h = up.mean() + down.mean();
        let good = cycle_h >= LEAST_CYCLE_H;
        ChanceProblem::unless(good, "the mean hours up and down", cycle_h, "one minute or more")?;
        Ok(Self { up, down })
    }

    /// Mean hours from one failure to the next.
    #[must_use]
    pub fn mean_cycle_h(&self) -> f64 {
        self.up.mean() + self.down.mean()
    }

    /// Share of time with mains, 0 to 1.
    #[must_use]
    pub fn availability_share(&self) -> f64 {
        self.up.mean() / self.mean_cycle_h()
    }

    /// Share of time that lies beyond the first `battery_h` hours of an outage, 0 to 1.
    #[must_use]
    pub fn dark_share(&self, battery_h: f64) -> f64 {
        self.down.mean_excess(battery_h) / self.mean_cycle_h()
    }

    /// Outages a year, those that last longer than `battery_h` hours.
    #[must_use]
    pub fn dark_outages_per_year(&self, battery_h: f64) -> f64 {
        HOURS_PER_YEAR / self.mean_cycle_h() * self.down.survival(battery_h)
    }

    /// The outages of one trial, in order, without end. Of `draw` seed, trial, day and branch count.
    #[must_use]
    pub fn outages(&self, draw: Draw, start: Start) -> Outages<'_> {
        Outages { renewal: self, draw, start, cycle: 0, now_h: 0.0 }
    }

    /// The outages of one trial that begin before `end_h`; the last may reach beyond.
    pub fn outages_before(
        &self,
        draw: Draw,
        start: Start,
        end_h: f64,
    ) -> impl Iterator<Item = Outage> {
        self.outages(draw, start).take_while(move |outage| outage.off_h < end_h)
    }
}

/// The outages of one trial.
#[derive(Debug, Clone)]
pub struct Outages<'a> {
    renewal: &'a Renewal,
    draw: Draw,
    start: Start,
    cycle: u32,
    now_h: f64,
}

impl Outages<'_> {
    /// The draws of this cycle for a purpose. The day takes the cycle's number beyond 16 bits in
    /// its top byte: dates need 20 bits, so 16,777,216 cycles differ.
    #[allow(clippy::cast_possible_truncation)]
    fn pair(&self, purpose: Purpose) -> [f64; 2] {
        let day = self.draw.day ^ ((self.cycle >> 16) << 24);
        Draw { day, purpose, block: self.cycle as u16, ..self.draw }.pair()
    }

    /// Hours until the mains fails and hours until it is back.
    fn cycle_h(&self) -> (f64, f64) {
        let Renewal { up, down } = self.renewal;
        let [first, second] = self.pair(Purpose::OutageStart);
        let down_chance = self.pair(Purpose::OutageLength)[0];
        if self.cycle > 0 || self.start == Start::JustBack {
            return (up.value(first), down.value(down_chance));
        }
        if self.start == Start::JustFailed {
            return (0.0, down.value(down_chance));
        }
        if second < self.renewal.availability_share() {
            (up.value_left(first), down.value(down_chance))
        } else {
            (0.0, down.value_left(down_chance))
        }
    }
}

impl Iterator for Outages<'_> {
    type Item = Outage;

    fn next(&mut self) -> Option<Outage> {
        let (up_h, down_h) = self.cycle_h();
        let off_h = self.now_h + up_h;
        let on_h = off_h + down_h;
        self.now_h = on_h;
        self.cycle = self.cycle.wrapping_add(1);
        Some(Outage { off_h, on_h })
    }
}
