//! What people and other programs see of many trials.
//!
//! Lives here: the first sentence, the table, `bands.csv` and the pictures: fan of the charge, still
//! on the air at hour h, histogram of the lowest charge, energy by origin. Does not live here: what
//! is counted, which belongs to decide.

pub mod axis;
pub mod export;
pub mod fan;
pub mod lowest;
pub mod on_air;
pub mod origin;
pub mod sentence;
pub mod table;

use rayon::prelude::*;

use super::canvas::{Canvas, Picture};
use super::page::{ROOM_PX, head};
use super::text::fit;
use super::theme::{RIM_PX, SUBTITLE, WIDTH_PX};
use super::words::number;
use crate::decide::odds::{Answers, Odds, Subject};

pub use sentence::first_sentence;
pub use table::{odds_page, odds_table};

/// Everything that a picture of many trials draws from.
#[derive(Clone, Copy)]
pub struct Trials<'a> {
    /// What the trials are trials of.
    pub subject: &'a Subject,
    /// What was gathered.
    pub answers: &'a Answers,
    /// The results.
    pub odds: &'a Odds,
}

/// Draws one picture of many trials.
pub type Chart = fn(Trials) -> Picture;

/// The pictures of many trials, in the order in which people should see them.
pub const CHARTS: [Chart; 4] = [on_air::on_air, fan::fan, lowest::lowest, origin::origin];

/// All pictures of many trials.
#[must_use]
pub fn pictures(trials: Trials) -> Vec<Picture> {
    CHARTS.par_iter().map(|chart| chart(trials)).collect()
}

/// Which station, under which strategy, how many trials.
fn trials_line(trials: Trials) -> String {
    let Odds { seed, ended_early, .. } = trials.odds;
    let counted = trials.odds.trials;
    let many = sentence::Words::of(trials.odds.occasion).counted(counted);
    let early = if *ended_early {
        format!(", ended early of {}", number(trials.odds.trials_asked as f64, 0))
    } else {
        String::new()
    };
    let line = format!("{}; {many} (seed {seed}{early})", sentence::whose(trials.odds));
    fit(&line, SUBTITLE, ROOM_PX)
}

/// The picture where no trial is there to draw.
fn blank(name: &'static str, trials: Trials) -> Picture {
    let mut canvas = Canvas::new();
    let title = "Nothing to draw: no trial was done";
    let about = trials_line(trials);
    let y = head(&mut canvas, title, &about, "");
    canvas.finish(name, title, &about, (WIDTH_PX, y + RIM_PX))
}
