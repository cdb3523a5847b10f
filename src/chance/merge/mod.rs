//! Results of trials that join to the same bytes in any order.
//!
//! Lives here: counts ([`tally`]), sums in whole small units ([`sum`]), counts by bin with
//! quantiles ([`histogram`]), the trial with the greatest value ([`extreme`]). All add whole
//! numbers only, so that threads, machines and order leave no trace. Does not live here: what is
//! counted.

pub mod extreme;
pub mod histogram;
pub mod sum;
pub mod tally;

pub use extreme::Extreme;
pub use histogram::{Histogram, Quantile};
pub use sum::{EnergySum, Sum, TimeSum};
pub use tally::Tally;
