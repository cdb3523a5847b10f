//! From levels of the grid to what stands on paper, and to the key that the step follows.

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
    volts: Vec<f64>,
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
        #[allow(clippy::cast_precision_loss)]
        let volts = (0..LEVELS)
            .map(|level| receive_v(battery, level as f64 / (LEVELS - 1) as f64, draws_a));
        Ok(Self {
            words: words.to_vec(),
            stages: stages.collect(),
            tiers: scenario.tiers.iter().map(|tier| tier.name.clone()).collect(),
            capacity_ah: prepared.plan.heads.capacity_ah,
            volts: volts.collect(),
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
    fn shares(&self, least_level: &[usize]) -> Vec<f64> {
        let share = |level: &usize| {
            if *level >= LEVELS { WHEN_NEVER } else { *level as f64 / (LEVELS - 1) as f64 }
        };
        least_level.iter().rev().map(share).collect()
    }

    /// The same for people: a tier to which no charge leads has no threshold.
    #[must_use]
    pub fn thresholds(&self, least_level: &[usize]) -> Vec<Threshold> {
        let levels = least_level.iter().rev();
        let tiers = self.tiers.iter().zip(self.shares(least_level)).zip(levels);
        let mut above = None;
        tiers
            .map(|((tier, share), level)| {
                let empty = above.replace(*level) == Some(*level);
                let share = Some(share).filter(|it| *it <= 1.0 && !empty);
                Threshold {
                    tier: tier.clone(),
                    share,
                    ah: share.map(|it| it * self.capacity_ah),
                    receive_v: self
                        .volts
                        .get(*level)
                        .copied()
                        .filter(|_| self.volts_tell && *level > 0 && share.is_some()),
                }
            })
            .collect()
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
            at_least: self.thresholds(&row.least_level),
        })
    }
}
