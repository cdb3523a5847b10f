//! What people and other programs see of stations side by side.
//!
//! Lives here: the first sentence, the tables, `pairs.csv` and the pictures: still on the air at
//! hour h, and the trials that only one of two carries. Does not live here: what is counted, which
//! belongs to decide.

pub mod export;
pub mod on_air;
pub mod pairs;
pub mod sentence;
pub mod table;

use rayon::prelude::*;

use super::canvas::Picture;
use super::odds::sentence::Words;
use super::page::ROOM_PX;
use super::text::{clean, fit};
use super::theme::SUBTITLE;
use crate::decide::compare::{Comparison, Kind};
use crate::decide::contest::pairs::Pair;

pub use sentence::{first_sentence, rules_note};
pub use table::{compare_page, compare_table};

/// Draws one picture of stations side by side.
pub type Chart = fn(&Comparison) -> Picture;

/// The pictures of stations side by side, in the order in which people should see them.
pub const CHARTS: [Chart; 2] = [on_air::on_air, pairs::pairs];

/// All of them.
#[must_use]
pub fn pictures(comparison: &Comparison) -> Vec<Picture> {
    CHARTS.par_iter().map(|chart| chart(comparison)).collect()
}

/// Which scenario, how many trials.
fn trials_line(it: &Comparison) -> String {
    let many = Words::of(it.occasion).counted(it.trials);
    fit(&format!("{}; {many} (seed {})", clean(&it.title), it.seed), SUBTITLE, ROOM_PX)
}

/// The pairs that people are told: strategies among themselves, and each variant against the first.
/// All pairs stand in the files.
#[must_use]
pub fn told_pairs(it: &Comparison) -> Vec<&Pair> {
    let mut told = Vec::new();
    for (a, one) in it.stations.iter().enumerate() {
        for (b, other) in it.stations.iter().enumerate().skip(a + 1) {
            if a == 0 || (one.kind == Kind::Strategy && other.kind == Kind::Strategy) {
                told.extend(it.pair(a, b));
            }
        }
    }
    told
}
