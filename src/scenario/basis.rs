//! Where a number comes from: carried beside it to every result.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How well a number is known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Measured on this very part, on the date given.
    Measured(chrono_date::Date),
    /// From the maker's sheet or the label.
    Datasheet,
    /// Nobody looked: a guess.
    Guess,
}

/// `basis` of an object: field name to where its number comes from.
pub type BasisOf = super::Named<Basis>;

/// A calendar date that the schema knows as a date.
pub mod chrono_date {
    use super::{Deserialize, JsonSchema, Serialize};

    /// `YYYY-MM-DD`.
    #[derive(
        Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
    )]
    #[serde(transparent)]
    pub struct Date(#[schemars(with = "String", extend("format" = "date"))] pub chrono::NaiveDate);
}
