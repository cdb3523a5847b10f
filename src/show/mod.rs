//! What people and other programs see of a run, of many trials ([`odds`]), of a year ([`calendar`]),
//! of stations side by side ([`compare`]), without one of their parts ([`without`]), of a club
//! ([`exercise`]), of the check ([`preflight`]) and of the station itself ([`diagram`]).
//!
//! Lives here: the first sentence, tables, the files `ledger.csv` and `summary.json`, and the
//! pictures (one file a chart, on a canvas with one theme). Does not live here: anything that
//! computes what happened; a picture only gathers and draws what the ledger holds.

pub mod axes;
pub mod balance;
pub mod balance_rows;
pub mod bins;
pub mod calendar;
pub mod canvas;
pub mod card;
pub mod cautions;
pub mod charge;
pub mod columns;
pub mod compare;
pub mod course;
pub mod diagram;
pub mod exercise;
pub mod export;
pub mod flows;
pub mod geometry;
pub mod hatch;
pub mod labels;
pub mod lanes;
pub mod now;
pub mod odds;
pub mod page;
pub mod page_text;
pub mod panel;
mod places;
#[cfg(feature = "png")]
pub mod png;
pub mod preflight;
pub mod report;
pub mod run_table;
pub mod sentence;
pub mod shell;
pub mod size;
pub mod span;
pub mod tables;
pub mod text;
pub mod theme;
pub mod timeline;
pub mod volts;
pub mod without;
pub mod words;

use rayon::prelude::*;

pub use canvas::Picture;
pub use run_table::run_table;
pub use sentence::first_sentence;

use crate::simulate::ledger::Ledger;
use crate::simulate::summary::Summary;

/// Draws one picture of a run.
pub type Chart = fn(&Ledger, &Summary) -> Picture;

/// The pictures of a run, in the order in which people should see them.
pub const CHARTS: [Chart; 4] = [charge::charge, flows::flows, balance::balance, volts::volts];

/// All pictures of a run.
#[must_use]
pub fn pictures(ledger: &Ledger, summary: &Summary) -> Vec<Picture> {
    CHARTS.par_iter().map(|chart| chart(ledger, summary)).collect()
}
