//! What somebody was told about the sky of the coming days.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::basis::chrono_date::Date;

/// What the coming days are said to be like. The told word counts in full on the first day, less on
/// each day after it, and from the sixth day on the climate decides.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Outlook {
    /// The date (of standard time) of the first of them.
    pub from: Date,
    /// The days in order.
    pub days: Vec<ToldDay>,
    /// Free text for people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notes: Option<String>,
}

impl Outlook {
    /// The same without days at its end of which nothing is known; `None` where nothing is left: it
    /// says what no outlook says.
    #[must_use]
    pub fn that_tells(mut self) -> Option<Self> {
        while self.days.last() == Some(&ToldDay::Sky(SkyWord::Unknown)) {
            self.days.pop();
        }
        (!self.days.is_empty()).then_some(self)
    }

    /// Whether anything is said of any day.
    #[must_use]
    pub fn tells(&self) -> bool {
        self.days.iter().any(|day| *day != ToldDay::Sky(SkyWord::Unknown))
    }

    /// The dates on which it snows.
    pub fn snow_dates(&self) -> impl Iterator<Item = NaiveDate> {
        let told = self.days.iter().zip(self.from.0.iter_days());
        told.filter(|(day, _)| **day == ToldDay::Sky(SkyWord::Snow)).map(|(_, date)| date)
    }
}

/// What is said of one day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ToldDay {
    /// In a word.
    Sky(SkyWord),
    /// By its global energy on the level, kWh/m2.
    GhiKwhM2Day(f64),
}

/// The sky of a day in a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SkyWord {
    /// Hardly a cloud.
    Clear,
    /// Sun and clouds.
    Partly,
    /// More clouds than sun.
    MostlyCloudy,
    /// Closed cloud.
    Overcast,
    /// Rain, fog or smoke all day.
    DarkAllDay,
    /// Snow: dark all day, and at the beginning of the day it covers the panels that stand outside.
    Snow,
    /// Nothing is known of it: as the climate has it.
    Unknown,
}
