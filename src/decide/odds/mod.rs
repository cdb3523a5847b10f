//! From the outcomes of trials to odds.
//!
//! Lives here: what the trials are trials of ([`subject`]), counts and sums over them ([`answers`]),
//! the keys of `odds.json` ([`result`], [`quantiles`], [`named`]), parts computed apart and joined
//! ([`shard`]), and when there are trials enough ([`stopping`]). Does not live here: how a trial is
//! drawn and run, wording, pictures.

pub mod answers;
pub mod named;
pub mod quantiles;
pub mod result;
pub mod shard;
pub mod stopping;
pub mod subject;

pub use answers::Answers;
pub use result::Odds;
pub use shard::{FORMAT, Part, Shard, join};
pub use subject::{Occasion, Shape, Subject};
