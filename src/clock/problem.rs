//! What can be wrong with a clock, and with a time read off it.

use std::fmt;

use chrono::{FixedOffset, NaiveDateTime};

/// Why a clock cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{found}` is not {allowed}{}", did_you_mean(.near))]
pub struct ClockProblem {
    /// What the author wrote.
    pub found: String,
    /// What is allowed.
    pub allowed: &'static str,
    /// Names that look like it, the likeliest first.
    pub near: Vec<String>,
}

/// Why a time on the wall clock is not one instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotOneInstant {
    /// The clock jumps over it.
    #[error(
        "{} does not exist: the clock jumps over it, from UTC{before} to UTC{after}",
        minute(.local)
    )]
    Skipped {
        /// The time asked for.
        local: NaiveDateTime,
        /// Offset before the jump.
        before: FixedOffset,
        /// Offset after it.
        after: FixedOffset,
    },
    /// The clock shows it twice.
    #[error(
        "{} happens twice: the clock goes back over it, from UTC{earlier} to UTC{later}",
        minute(.local)
    )]
    Twice {
        /// The time asked for.
        local: NaiveDateTime,
        /// Offset when it happens first.
        earlier: FixedOffset,
        /// Offset when it happens again.
        later: FixedOffset,
    },
    /// Clock changes of its year are not known.
    #[error("{} is outside the years 1970 to 2099, whose clock changes are known", minute(.local))]
    OutsideYears {
        /// The time asked for.
        local: NaiveDateTime,
    },
}

fn minute(local: &NaiveDateTime) -> impl fmt::Display + use<> {
    local.format(crate::scenario::site::local_minute::FORMAT)
}

fn did_you_mean(near: &[String]) -> String {
    match near {
        [] => String::new(),
        names => format!("; did you mean `{}`?", names.join("`, `")),
    }
}
