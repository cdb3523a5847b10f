//! The right half: main feed, disconnect, changeover, outlet groups, loads.

use super::symbols::{self, CONTACT_HALF_PX, HALF_PX};
use super::words;
use super::{
    CHANGEOVER_X, DISCONNECT_X, GROUP_PX, GROUPS_X, LOAD_PX, LOAD_TEXT_X, LOAD_X, LOADS_X, Sheet,
    TERMINALS_X,
};
use crate::scenario::Scenario;
use crate::scenario::loads::Draw;
use crate::show::text::fit;
use crate::show::theme::{Anchor, LABEL, PETROL, PLUM, RIM_PX, SLATE, SMALL, WIDTH_PX};
use crate::show::words::{trimmed, volts};

/// Between the two throws of the changeover, px.
pub const THROW_PX: f64 = 22.0;

/// An outlet group with its loads.
pub struct Block {
    name: String,
    loads: Vec<String>,
    /// Whether the supply carries it.
    pub carried: bool,
}

impl Block {
    /// Its height, px.
    pub fn height(&self) -> f64 {
        (LOAD_PX * self.loads.len() as f64).max(GROUP_PX) + 10.0
    }
}

/// The groups, those that a supply carries first.
pub fn groups(scenario: &Scenario, throws: bool) -> Vec<Block> {
    let mut blocks: Vec<Block> = scenario
        .outlet_groups
        .iter()
        .map(|(name, group)| Block {
            name: name.clone(),
            loads: scenario
                .loads
                .iter()
                .filter(|(_, load)| load.group == *name)
                .map(|(name, _)| name.clone())
                .collect(),
            carried: throws && group.on_supply,
        })
        .collect();
    blocks.sort_by_key(|it| !it.carried);
    blocks
}

/// Whether each group is carried, and the height at which it branches off, px.
pub fn middles(groups: &[Block], top: f64) -> Vec<(bool, f64)> {
    let mut y = top;
    groups
        .iter()
        .map(|block| {
            let middle = y + block.height() / 2.0;
            y += block.height();
            (block.carried, middle)
        })
        .collect()
}

impl Sheet<'_> {
    /// Draws all of it; returns the lower edge.
    pub(super) fn distribution(
        &mut self,
        groups: &[Block],
        top: f64,
        feed_y: f64,
        throws: bool,
    ) -> f64 {
        self.feed(feed_y, throws, throws && groups.iter().any(|it| !it.carried));
        let mut bottom = top;
        let (mut carried_ys, mut battery_ys) = (Vec::new(), Vec::new());
        for (block, (carried, middle)) in groups.iter().zip(middles(groups, top)) {
            let from = if throws && carried {
                carried_ys.push(middle);
                GROUPS_X
            } else {
                battery_ys.push(middle);
                if throws { BATTERY_TAP_X } else { GROUPS_X }
            };
            self.group(block, from, middle);
            bottom += block.height();
        }
        if throws {
            self.upright(GROUPS_X, feed_y - THROW_PX / 2.0, &carried_ys, SLATE);
            self.upright(BATTERY_TAP_X, feed_y, &battery_ys, PETROL);
        } else {
            self.upright(GROUPS_X, feed_y, &battery_ys, SLATE);
        }
        bottom
    }

    /// From the terminals to the groups.
    fn feed(&mut self, y: f64, throws: bool, taps: bool) {
        let feed = self.scenario.main_feed.clone();
        let until = DISCONNECT_X - CONTACT_HALF_PX;
        let (wire, fuse) = (
            feed.as_ref().and_then(|it| it.wire.as_ref()),
            feed.as_ref().and_then(|it| it.fuse.as_ref()),
        );
        self.lead((TERMINALS_X, until), y, wire, fuse, false, PETROL);
        if feed.is_some() {
            let middle = (TERMINALS_X + until) / 2.0;
            let face = LABEL.strong().at(Anchor::Middle).in_ink(PETROL);
            self.canvas.text(middle, y - 9.0, "main feed", face);
        }
        self.alarm(&["main feed", "all loads"], (until - 12.0, y));
        let end = if throws { CHANGEOVER_X - 11.0 } else { GROUPS_X };
        self.run(&[(until, y), (end, y)], PETROL);
        if let Some(disconnect) = &self.scenario.disconnect.clone() {
            symbols::contact(&mut self.canvas, (DISCONNECT_X, y), PETROL);
            self.alarm(&["disconnect"], (DISCONNECT_X + 8.0, y - 18.0));
            // Where groups branch off below the feed, left of that line and below the words of the feed.
            let (x, down_px, face) = if taps {
                (BATTERY_TAP_X - 6.0, 43.0, SMALL.at(Anchor::End))
            } else {
                (DISCONNECT_X - 8.0, 17.0, SMALL)
            };
            let lines = [
                format!("opens {}", volts(disconnect.disconnect_v)),
                format!("closes {}", volts(disconnect.reconnect_v)),
            ];
            for (line, words) in lines.iter().enumerate() {
                self.canvas.text(x, y + down_px + 13.0 * line as f64, words, face);
            }
        }
        if throws {
            let (upper, lower) = ((CHANGEOVER_X - 8.0, y - THROW_PX), (CHANGEOVER_X - 8.0, y));
            let pole = (CHANGEOVER_X + 14.0, y - THROW_PX / 2.0);
            symbols::changeover(&mut self.canvas, upper, lower, pole, PLUM);
            self.run(&[pole, (GROUPS_X, pole.1)], SLATE);
        }
    }

    /// The line along which groups branch off, met at `start`.
    fn upright(&mut self, x: f64, start: f64, ys: &[f64], ink: crate::show::theme::Ink) {
        let low = ys.iter().copied().fold(start, f64::min);
        let high = ys.iter().copied().fold(start, f64::max);
        if ys.is_empty() || high - low < 0.5 {
            return;
        }
        self.run(&[(x, low), (x, high)], ink);
        // A dot wherever three lines meet.
        for y in ys.iter().chain([&start]) {
            let inside = *y > low + 0.5 && *y < high - 0.5;
            let both = (y - start).abs() < 0.5 && ys.iter().any(|it| (it - start).abs() < 0.5);
            if inside || both {
                self.joint((x, *y), ink);
            }
        }
        if x < GROUPS_X {
            self.joint((x, start), ink);
        }
    }

    fn group(&mut self, block: &Block, from_x: f64, y: f64) {
        let Some(group) = self.scenario.outlet_groups.get(&block.name).cloned() else { return };
        if from_x < GROUPS_X {
            self.run(&[(from_x, y), (GROUPS_X, y)], SLATE);
        }
        self.lead((GROUPS_X, LOADS_X), y, group.wire.as_ref(), group.fuse.as_ref(), false, SLATE);
        self.alarm(&[&format!("group “{}”", block.name)], (LOADS_X - 12.0, y));
        let room = LOADS_X - GROUPS_X - 14.0;
        let limit = format!(", {} A", trimmed(group.limit_a, 1));
        let face = LABEL.strong();
        let limit_px = crate::show::text::width_px(&limit, face);
        let name = fit(&crate::show::text::clean(&block.name), face, room - limit_px);
        self.canvas.text(
            (GROUPS_X + LOADS_X) / 2.0 + 2.0,
            y - 9.0,
            &format!("{name}{limit}"),
            face.at(Anchor::Middle),
        );
        let rows = block.loads.len();
        let first = y - LOAD_PX * (rows.max(1) as f64 - 1.0) / 2.0;
        for (row, name) in block.loads.iter().enumerate() {
            let load_y = first + LOAD_PX * row as f64;
            self.run(&[(LOADS_X, load_y), (LOAD_X - 11.0, load_y)], SLATE);
            self.load(name, load_y);
        }
        if rows > 1 {
            let last = first + LOAD_PX * (rows as f64 - 1.0);
            self.run(&[(LOADS_X, first), (LOADS_X, last)], SLATE);
            self.joint((LOADS_X, y), SLATE);
        }
    }

    fn load(&mut self, name: &str, y: f64) {
        let Some(load) = self.scenario.loads.get(name).cloned() else { return };
        let at = (LOAD_X, y);
        match &load.draw {
            draw if draw.transmits() => symbols::radio(&mut self.canvas, at, SLATE),
            Draw::Power { converter_efficiency_share, idle_w, .. }
                if *converter_efficiency_share < 1.0 || *idle_w > 0.0 =>
            {
                symbols::converted_load(&mut self.canvas, at, SLATE);
            }
            _ => symbols::load(&mut self.canvas, at, SLATE),
        }
        self.alarm(&[&format!("load “{name}”")], (LOAD_X - 12.0, y - 9.0));
        let room = WIDTH_PX - RIM_PX - LOAD_TEXT_X;
        let name = fit(&crate::show::text::clean(name), LABEL, room);
        self.canvas.text(LOAD_TEXT_X, y - 2.0, &name, LABEL);
        let words = fit(&words::draw(&load), SMALL, room);
        self.canvas.text(LOAD_TEXT_X, y + 12.0, &words, SMALL);
    }
}

/// Where groups that the supply does not carry branch off the feed, px.
const BATTERY_TAP_X: f64 = DISCONNECT_X + HALF_PX + 2.0;
