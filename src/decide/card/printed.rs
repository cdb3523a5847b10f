//! From levels of the table of charges to what stands on paper, and to the key that the step follows.

use chrono::{DateTime, Duration, FixedOffset};
use serde::Serialize;

use super::reduce::{Card, Row};
use super::stages::LEVELS;
use crate::decide::now::Failure;
use crate::plan::compile::clock_and_stretch;
use crate::scenario::Scenario;
use crate::scenario::loads::CardRow;
use crate::simulate::trials::Prepared;
use crate::simulate::trials::legs::begins_h;
use crate::station::battery::one_well::OneWell;
use crate::station::receive::{receive_a, receive_v, volts_tell};

/// The threshold of a tier that no charge allows, share.
pub const WHEN_NEVER: f64 = 1.01;

/// The charge from which on a tier may be in force.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Threshold {
    /// The tier.
    pub tier: String,
    /// At or above this charge, and below that of the tier before it; absent where no charge leads to
    /// it.
    pub share: Option<f64>,
    /// The same, Ah.
    pub ah: Option<f64>,
    /// Volts then while receiving, with every source off for a minute; absent where volts do not
    /// say how full the battery is.
    pub receive_v: Option<f64>,
}

/// One row of the printed card.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PrintedRow {
    /// The word for the decision: `start`, `sunset`, `23:00`.
    pub at: String,
    /// The first decision that it is for.
    pub from: DateTime<FixedOffset>,
    /// The last one.
    pub to: DateTime<FixedOffset>,
    /// Hours from the beginning of the span to the first.
    pub from_h: f64,
    /// Whether it holds at every look; then `at` says what it is for.
    pub at_every_look: bool,
    /// The tiers but the last, the fullest first. Below all of them it is the last one.
    pub at_least: Vec<Threshold>,
}

/// Knows when the decisions are, and what a charge is on a meter.
pub struct Printer {
    words: Vec<String>,
    /// By stage: which word, when, and h since the span began.
    stages: Vec<(usize, DateTime<FixedOffset>, f64)>,
    tiers: Vec<String>,
    capacity_ah: f64,
    battery: OneWell,
    /// Whether volts say how full the battery is.
    pub volts_tell: bool,
    /// What everything draws while receiving, A.
    pub receive_a: f64,
}

impl Printer {
    /// For decisions that begin at the slices named; `base` has a row for each word.
    ///
    /// # Errors
    /// When the clock of the scenario cannot be read.
    pub fn new(
        scenario: &Scenario,
        base: &Scenario,
        prepared: &Prepared,
        begins: &[usize],
        words: &[String],
    ) -> Result<Self, Failure> {
        let (clock, stretch) = clock_and_stretch(base).map_err(Failure::Compile)?;
        let stages = begins.iter().map(|slice| {
            let elapsed_h = begins_h(prepared, *slice);
            #[allow(clippy::cast_possible_truncation)]
            let seconds = (elapsed_h * 3600.0).round() as i64;
            let at = clock.local(stretch.start + Duration::seconds(seconds));
            (prepared.card_row(*slice), at, elapsed_h)
        });
        let battery = &prepared.plan.battery;
        let draws_a = receive_a(scenario, battery, 0);
        Ok(Self {
            words: words.to_vec(),
            stages: stages.collect(),
            tiers: scenario.tiers.iter().map(|tier| tier.name.clone()).collect(),
            capacity_ah: prepared.plan.heads.capacity_ah,
            battery: battery.clone(),
            volts_tell: volts_tell(&scenario.battery),
            receive_a: draws_a,
        })
    }

    /// Kind of each stage: its word.
    #[must_use]
    pub fn kinds(&self) -> Vec<usize> {
        self.stages.iter().map(|(word, ..)| *word).collect()
    }

    /// The rows as a scenario has them. A row for every word holds from the beginning on.
    #[must_use]
    pub fn rows(&self, card: &Card) -> Vec<CardRow> {
        let mut rows = Vec::new();
        for (word, name) in self.words.iter().enumerate() {
            let mut first = true;
            for row in &card.rows {
                let stage = row.stages.iter().find(|stage| self.stages[**stage].0 == word);
                let Some((_, _, from_h)) = stage.map(|stage| self.stages[*stage]) else { continue };
                rows.push(CardRow {
                    at: Some(name.clone()),
                    from_h: if first { 0.0 } else { from_h },
                    at_least_share: self.shares(&row.least_level),
                });
                first = false;
            }
            if first {
                // A word whose time does not come in the span.
                let least = card.rows.first().map_or(&[][..], |row| &row.least_level);
                rows.push(CardRow {
                    at: Some(name.clone()),
                    from_h: 0.0,
                    at_least_share: self.shares(least),
                });
            }
        }
        rows
    }

    /// Thresholds by tier, the fullest first, from levels by action, the most sparing first.
    #[allow(clippy::cast_precision_loss)]
    #[must_use]
    pub fn shares(&self, least_level: &[usize]) -> Vec<f64> {
        let share = |level: &usize| {
            if *level >= LEVELS { WHEN_NEVER } else { *level as f64 / (LEVELS - 1) as f64 }
        };
        least_level.iter().rev().map(share).collect()
    }

    /// The same for people: a tier to which no charge leads has no threshold.
    #[must_use]
    pub fn thresholds(&self, shares: &[f64]) -> Vec<Threshold> {
        let mut above = None;
        self.tiers
            .iter()
            .zip(shares)
            .map(|(tier, share)| {
                let empty = above.replace(*share) == Some(*share);
                let share = Some(*share).filter(|it| *it <= 1.0 && !empty);
                let told = share.filter(|it| self.volts_tell && *it > 0.0);
                Threshold {
                    tier: tier.clone(),
                    share,
                    ah: share.map(|it| it * self.capacity_ah),
                    receive_v: told.map(|it| receive_v(&self.battery, it, self.receive_a)),
                }
            })
            .collect()
    }

    /// Rows that hold at every look, each with what it is for.
    #[must_use]
    pub fn always(&self, rows: &[(&str, &Vec<f64>)]) -> Vec<PrintedRow> {
        let (Some((_, from, from_h)), Some((_, to, _))) = (self.stages.first(), self.stages.last())
        else {
            return Vec::new();
        };
        let row = |(at, shares): &(&str, &Vec<f64>)| PrintedRow {
            at: (*at).to_owned(),
            from: *from,
            to: *to,
            from_h: *from_h,
            at_every_look: true,
            at_least: self.thresholds(shares),
        };
        rows.iter().map(row).collect()
    }

    /// The rows in time.
    #[must_use]
    pub fn printed(&self, card: &Card) -> Vec<PrintedRow> {
        let mut rows: Vec<PrintedRow> =
            card.rows.iter().filter_map(|row| self.printed_row(row)).collect();
        rows.sort_by(|one, other| one.from_h.total_cmp(&other.from_h));
        rows
    }

    fn printed_row(&self, row: &Row) -> Option<PrintedRow> {
        let (word, from, from_h) = *self.stages.get(*row.stages.first()?)?;
        let (_, to, _) = *self.stages.get(*row.stages.last()?)?;
        Some(PrintedRow {
            at: self.words.get(word)?.clone(),
            from,
            to,
            from_h,
            at_every_look: false,
            at_least: self.thresholds(&self.shares(&row.least_level)),
        })
    }
}
