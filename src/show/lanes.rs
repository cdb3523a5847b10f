//! Lanes under a picture: which state was in force when, one line a state, named at its end.

use super::canvas::{Canvas, Rect};
use super::labels::BEFORE_WORDS_PX;
use super::span::Span;
use super::text::{clean, fit, width_px};
use super::theme::{
    CRIMSON, Fill, GENERATOR_FILL, GRID_DOWN_FILL, HAIR_PEN, Ink, MAINS_FILL, OFF_AIR_FILL,
    OPEN_FILL, QUIET, SMALL, TIER_FILL, TIER_OFF_AIR_FILL, UNSERVED_FILL,
};
use super::timeline::Timeline;
use super::words::trimmed;
use crate::simulate::ledger::Row;

/// Height of a lane, px.
const LANE_PX: f64 = 15.0;

/// Spells of one state.
pub struct Lane {
    /// Its name, at its end.
    pub name: String,
    /// How long, after the name: `57 h`.
    pub amount: String,
    /// When, elapsed hours.
    pub spells: Vec<(f64, f64)>,
    /// How it looks.
    pub fill: Fill,
    /// The colour of its words.
    pub ink: Ink,
}

impl Lane {
    /// What stands at its end.
    #[must_use]
    pub fn words(&self) -> String {
        format!("{}, {}", self.name, self.amount)
    }
}

/// Lanes from `top` down, each with its words at its end. Returns the height below them, px.
pub fn draw_lanes(
    canvas: &mut Canvas,
    time: &Timeline,
    top: f64,
    lanes: &[Lane],
    room_px: f64,
) -> f64 {
    let (x0, x1) = time.ends();
    let mut y = top;
    for lane in lanes {
        let middle = y + LANE_PX / 2.0;
        canvas.line(&[(x0, middle), (x1, middle)], HAIR_PEN);
        let bars: Vec<Rect> = time.bars(&lane.spells, middle - 4.0, middle + 4.0);
        canvas.fill(&bars, lane.fill);
        let amount = format!(", {}", lane.amount);
        let room = room_px - BEFORE_WORDS_PX - width_px(&amount, SMALL);
        let words = fit(&lane.name, SMALL, room) + &amount;
        canvas.text(x1 + BEFORE_WORDS_PX, middle + 4.0, &words, SMALL.in_ink(lane.ink));
        y += LANE_PX;
    }
    y
}

/// The lanes of a span: grid down, supply on, tiers, loads disconnected, without power, off the air; those that tell
/// something.
#[must_use]
pub fn lanes_of(span: &Span) -> Vec<Lane> {
    let heads = &span.ledger.heads;
    let total = |spells: &[(f64, f64)]| spells.iter().map(|(a, b)| b - a).sum::<f64>();
    let mut lanes = Vec::new();
    let mut add = |name: &str, spells: Vec<(f64, f64)>, fill: Fill, ink: Ink| {
        let h = total(&spells);
        if h > 0.0 {
            let amount =
                if h < 0.05 { "moments".to_owned() } else { format!("{} h", trimmed(h, 1)) };
            lanes.push(Lane { name: name.to_owned(), amount, spells, fill, ink });
        }
    };
    if heads.has_grid {
        add("grid down", span.spells(|row| 1.0 - row.grid_share), GRID_DOWN_FILL, QUIET);
        add("mains supply on", span.spells(|row| row.supply_share), MAINS_FILL, QUIET);
    }
    add("generator running", span.spells(|row| row.generator_h / row.hours), GENERATOR_FILL, QUIET);
    if heads.tiers.len() > 1 {
        for (index, name) in heads.tiers.iter().enumerate() {
            let in_force = |row: &Row| f64::from(u8::from(row.tier == index));
            let (fill, ink) = if heads.counts_as_on_air(index) {
                (TIER_FILL, QUIET)
            } else {
                (TIER_OFF_AIR_FILL, CRIMSON)
            };
            add(&format!("tier {}", clean(name)), span.spells(in_force), fill, ink);
        }
    }
    add("disconnected", span.spells(|row| row.open_h / row.hours), OPEN_FILL, CRIMSON);
    let (off_air, without_power) = (span.off_air_spells(), span.dark_spells());
    if without_power == off_air {
        add("off the air, no power", off_air, OFF_AIR_FILL, CRIMSON);
    } else {
        add("without power", without_power, UNSERVED_FILL, CRIMSON);
        add("off the air", off_air, OFF_AIR_FILL, CRIMSON);
    }
    lanes
}
