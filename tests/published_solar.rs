//! Sun, sky and panel against published values.
//!
//! The tolerance of every check stands beside it with its reason. `target/figures/solar.csv`
//! holds the worst difference of each.

#[path = "published/figures.rs"]
mod figures;
#[path = "published/solar/mod.rs"]
mod solar;
