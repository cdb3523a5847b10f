//! A law, a count or a table that cannot be.

use std::fmt;

/// A number that no law, count or table can have: what it is, what was found, what is allowed.
#[derive(Debug, Clone, PartialEq)]
pub struct ChanceProblem {
    /// The quantity, in words.
    pub what: &'static str,
    /// The value given.
    pub found: f64,
    /// The values allowed, in words.
    pub allowed: &'static str,
}

impl ChanceProblem {
    /// The value if it is allowed.
    pub(crate) fn unless(
        holds: bool,
        what: &'static str,
        found: f64,
        allowed: &'static str,
    ) -> Result<f64, Self> {
        if holds { Ok(found) } else { Err(Self { what, found, allowed }) }
    }
}

impl fmt::Display for ChanceProblem {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} is {}, allowed: {}", self.what, self.found, self.allowed)
    }
}

impl std::error::Error for ChanceProblem {}
