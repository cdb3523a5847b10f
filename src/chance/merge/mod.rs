//! Results of trials that join to the same bytes in any order.
//!
//! Lives here: counts ([`tally`]), sums in whole small units ([`sum`]), counts by bin with
//! quantiles ([`histogram`]), values with their ranks ([`ranked`]), the trial with the greatest value
//! ([`extreme`]). All add whole numbers only, so that threads, machines and order leave no trace. Does not live here: what is
//! counted.

pub mod extreme;
pub mod histogram;
pub mod ranked;
pub mod sum;
pub mod tally;

pub use extreme::Extreme;
pub use histogram::{Histogram, Quantile};
pub use ranked::{Place, Ranked};
pub use sum::{EnergySum, Sum, TimeSum};
pub use tally::Tally;
