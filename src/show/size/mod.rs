//! What people and other programs see of a search for sizes.
//!
//! Lives here: the first sentence and the ones behind it ([`sentence`], [`told`]), the tables, the
//! sizing worksheet ([`worksheet`]), `stations.csv` and the chart of the smallest stations
//! ([`frontier`]). Does not live here: which station is chosen and why, which belongs to decide.

pub mod export;
pub mod frontier;
pub mod sentence;
pub mod table;
pub mod told;
pub mod worksheet;

use super::canvas::Picture;
use crate::decide::size::Sizing;

pub use table::{size_page, size_table};

/// The pictures of a search for sizes.
#[must_use]
pub fn pictures(sizing: &Sizing) -> Vec<Picture> {
    vec![frontier::frontier(sizing)]
}
