//! Odds: trials counted, joined, told and drawn. The trials are invented here; what a trial is worth
//! is checked elsewhere. Pictures are left in `target/pictures` for eyes.

#[path = "odds/counts.rs"]
mod counts;
#[path = "odds/exact.rs"]
mod exact;
#[path = "published/figures.rs"]
mod figures;
#[path = "odds/intervals.rs"]
mod intervals;
#[path = "odds/invented.rs"]
mod invented;
#[path = "odds/joins.rs"]
mod joins;
#[cfg(feature = "png")]
#[path = "pictures/measure.rs"]
#[allow(dead_code)]
mod measure;
#[path = "odds/programs.rs"]
mod programs;
#[cfg(feature = "png")]
#[path = "odds/sheets.rs"]
mod sheets;
#[path = "odds/stopping.rs"]
mod stopping;
#[path = "odds/words.rs"]
mod words;
