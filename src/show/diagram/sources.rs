//! The left half: mains, generator, supply and charger, panels and controllers, vehicle.

use super::symbols::{self, HALF_PX, Side};
use super::words;
use super::{
    CHANGEOVER_X, CHARGER_X, CONVERTER_X, Caption, ORIGIN_X, SOURCE_PX, Sheet, TERMINALS_X,
};
use crate::scenario::Scenario;
use crate::scenario::schedule::Grid;
use crate::scenario::sources::{Joins, Supply};
use crate::show::canvas::Point;
use crate::show::theme::{AMBER_DEEP, Anchor, OLIVE_DEEP, PLUM, UMBER};
use crate::show::words::trimmed;

/// Where lines from several origins meet before a converter, px.
const MEET_X: f64 = 128.0;
/// Room for words below an origin, px.
const ORIGIN_ROOM_PX: f64 = 114.0;
/// How much further right a charger stands below a supply that carries groups, px.
const BELOW_PX: f64 = 26.0;

/// Whether the supply carries groups: it joins by changeover and some are marked.
pub fn carries(scenario: &Scenario) -> bool {
    scenario.supply.as_ref().is_some_and(|it| it.joins == Joins::Changeover)
        && scenario.outlet_groups.values().any(|it| it.on_supply)
}

/// What charges, in rows.
pub struct Sources {
    mains: bool,
    generator: bool,
    /// Rows of the supply: its own, that of the generator, that of a charger below a supply that
    /// carries groups.
    supply_rows: usize,
    /// Names of the arrays of each controller.
    arrays: Vec<(String, Vec<String>)>,
    vehicle: bool,
}

impl Sources {
    /// Those of a scenario.
    pub fn of(scenario: &Scenario) -> Self {
        let supply = scenario.supply.as_ref();
        let generator = scenario.generator.is_some() && supply.is_some();
        let mains = scenario.grid != Grid::None;
        let below = supply.is_some_and(|it| it.charger.is_some()) && carries(scenario);
        let arrays = scenario.controllers.keys().map(|controller| {
            let feeds = scenario.arrays.iter().filter(|(_, it)| it.controller == *controller);
            (controller.clone(), feeds.map(|(name, _)| name.clone()).collect())
        });
        Self {
            mains,
            generator,
            supply_rows: match supply {
                None => 0,
                Some(_) => 1 + usize::from((generator && mains) || below),
            },
            arrays: arrays.collect(),
            vehicle: scenario.vehicle.is_some(),
        }
    }

    /// Height of all rows, px.
    pub fn height(&self) -> f64 {
        let arrays: usize = self.arrays.iter().map(|(_, arrays)| arrays.len().max(1)).sum();
        let rows = self.supply_rows + arrays + usize::from(self.vehicle);
        SOURCE_PX * rows as f64
    }
}

impl Sources {
    /// The first row, at `top` or somewhat lower, so that no row joins the terminals where the feed
    /// leaves them.
    pub fn top_clear_of(&self, top: f64, feed_y: f64) -> f64 {
        let rows = (self.height() / SOURCE_PX).round() as usize;
        let clear = |top: f64| {
            (0..rows).all(|row| (top + SOURCE_PX * row as f64 - feed_y).abs() >= CLEAR_PX)
        };
        let lower = (0..=20).map(|step| top + 3.0 * f64::from(step));
        lower.clone().find(|top| clear(*top)).unwrap_or(top)
    }
}

/// Between the feed and what joins the terminals, px.
const CLEAR_PX: f64 = 30.0;

fn origin(ink: crate::show::theme::Ink) -> Caption {
    Caption { room_px: ORIGIN_ROOM_PX, anchor: Anchor::Start, ink }
}

fn above(ink: crate::show::theme::Ink) -> Caption {
    Caption { room_px: 132.0, anchor: Anchor::Middle, ink }
}

/// Between two that are next to each other in a row.
fn between(ink: crate::show::theme::Ink) -> Caption {
    Caption { room_px: CHARGER_X - CONVERTER_X + 6.0, anchor: Anchor::Middle, ink }
}

impl Sheet<'_> {
    /// Draws all that charges.
    pub(super) fn sources(&mut self, sources: &Sources, top: f64, feed_y: f64) {
        let mut y = top;
        if let Some(supply) = &self.scenario.supply.clone() {
            self.supply(supply, sources, y, feed_y);
            y += SOURCE_PX * sources.supply_rows as f64;
        }
        for (controller, arrays) in &sources.arrays {
            y = self.controller(controller, arrays, y);
        }
        if sources.vehicle {
            self.vehicle(y);
        }
    }

    fn supply(&mut self, supply: &Supply, sources: &Sources, y: f64, feed_y: f64) {
        let ink = PLUM;
        let limit = trimmed(supply.limit_a, 1);
        if sources.mains {
            symbols::incoming(&mut self.canvas, (ORIGIN_X, y), ink);
            self.caption(16.0, (y - 20.0, y + 18.0), "mains", &[], origin(ink));
        }
        if sources.generator {
            self.generator(sources, y);
        }
        let input_x = CONVERTER_X - HALF_PX;
        match (sources.mains, sources.generator) {
            (true, true) => {
                self.run(&[(ORIGIN_X + 20.0, y), (MEET_X, y)], ink);
                self.run(&[(MEET_X + 24.0, y), (input_x, y)], ink);
            }
            (true, false) => self.run(&[(ORIGIN_X + 20.0, y), (input_x, y)], ink),
            (false, _) => {}
        }
        let at = (CONVERTER_X, y);
        symbols::converter(&mut self.canvas, at, Side::Alternating, Side::Direct, ink);
        self.alarm(&["supply"], (CONVERTER_X - HALF_PX, y - 12.0));
        let lines = [format!("{} V, {limit} A", trimmed(supply.rated_v, 2))];
        let beside = supply.charger.is_some() && !carries(self.scenario);
        let face = if beside { between(ink) } else { above(ink) };
        self.caption(CONVERTER_X, (y - 22.0, y + 29.0), "supply", &lines, face);
        let from = (CONVERTER_X + HALF_PX, y);
        if carries(self.scenario) {
            self.carried(supply, from, feed_y);
        } else {
            if supply.charger.is_none() && supply.joins != Joins::Bus {
                return;
            }
            let Some(charger) = &supply.charger else {
                return self.join_terminals(supply.lead.as_ref(), from, y, ink);
            };
            self.run(&[from, (CHARGER_X - HALF_PX, y)], ink);
            let at = (CHARGER_X, y);
            symbols::converter(&mut self.canvas, at, Side::Direct, Side::Direct, ink);
            self.alarm(&["charger"], (CHARGER_X - HALF_PX, y - 12.0));
            let lines =
                [format!("{} A", trimmed(charger.limit_a, 1)), words::charge(&charger.set_points)];
            self.caption(CHARGER_X, (y - 22.0, y + 29.0), "charger", &lines, between(ink));
            self.join_terminals(supply.lead.as_ref(), (CHARGER_X + HALF_PX, y), y, ink);
        }
    }

    /// A supply that carries groups: over the terminals to the changeover, and down to its charger.
    fn carried(&mut self, supply: &Supply, from: Point, feed_y: f64) {
        let (y, ink) = (from.1, PLUM);
        let throw_y = feed_y - super::distribution::THROW_PX;
        self.run(
            &[
                from,
                (CHANGEOVER_X - 26.0, y),
                (CHANGEOVER_X - 26.0, throw_y),
                (CHANGEOVER_X - 11.0, throw_y),
            ],
            ink,
        );
        if let Some(lead) = &supply.lead {
            let mut notes: Vec<String> = lead.wire.iter().map(words::wire).collect();
            notes.extend(lead.fuse.as_ref().map(words::fused));
            if lead.fuse.as_ref().is_some_and(|it| it.fuse().is_some()) {
                symbols::fuse(&mut self.canvas, (TERMINALS_X - 40.0, y), ink);
            }
            let note = notes.join(", ");
            let face = crate::show::theme::SMALL.at(Anchor::Middle);
            self.canvas.text(TERMINALS_X - 40.0, y - 9.0, &note, face);
        }
        let Some(charger) = &supply.charger else { return };
        let x = CHARGER_X + BELOW_PX;
        let (tap_x, down_y) = (CONVERTER_X + 42.0, y + SOURCE_PX);
        self.joint((tap_x, y), ink);
        self.run(&[(tap_x, y), (tap_x, down_y), (x - HALF_PX, down_y)], ink);
        let at = (x, down_y);
        symbols::converter(&mut self.canvas, at, Side::Direct, Side::Direct, ink);
        self.alarm(&["charger"], (x - HALF_PX, down_y - 12.0));
        let lines =
            [format!("{} A", trimmed(charger.limit_a, 1)), words::charge(&charger.set_points)];
        self.caption(x, (down_y - 22.0, down_y + 29.0), "charger", &lines, above(ink));
        self.join_terminals(None, (x + HALF_PX, down_y), down_y, ink);
    }

    fn generator(&mut self, sources: &Sources, y: f64) {
        let Some(generator) = &self.scenario.generator else { return };
        let ink = OLIVE_DEEP;
        let own_y = if sources.mains { y + SOURCE_PX } else { y };
        let words =
            [format!("{} W, {} l", trimmed(generator.rated_w, 0), trimmed(generator.fuel_l, 1))];
        symbols::machine(&mut self.canvas, (ORIGIN_X - 8.0, own_y), "G", Side::Alternating, ink);
        self.caption(16.0, (own_y - 21.0, own_y + 30.0), "generator", &words, origin(ink));
        let from = (ORIGIN_X - 8.0 + HALF_PX, own_y);
        if sources.mains {
            let throw = (MEET_X, y + 14.0);
            self.run(&[from, (MEET_X - 14.0, own_y), (MEET_X - 14.0, throw.1), throw], ink);
            let pole = (MEET_X + 24.0, y);
            symbols::changeover(&mut self.canvas, throw, (MEET_X, y), pole, PLUM);
            let face = crate::show::theme::SMALL.at(Anchor::End);
            self.canvas.text(MEET_X - 20.0, y + 17.0, "mains first", face);
        } else {
            self.run(&[from, (CONVERTER_X - HALF_PX, own_y)], ink);
        }
    }

    /// A controller with its arrays; returns the next row.
    fn controller(&mut self, name: &str, arrays: &[String], y: f64) -> f64 {
        let ink = AMBER_DEEP;
        let Some(controller) = self.scenario.controllers.get(name).cloned() else { return y };
        let mut row = y;
        for array_name in arrays {
            let Some(array) = self.scenario.arrays.get(array_name).cloned() else { continue };
            symbols::panels(&mut self.canvas, (ORIGIN_X - 8.0, row), ink);
            let lines = words::array(&array);
            // Short of the line along which several arrays meet.
            let room_px = if arrays.len() > 1 { MEET_X - 21.0 } else { ORIGIN_ROOM_PX };
            let face = Caption { room_px, ..origin(ink) };
            self.caption(16.0, (row - 30.0, row + 27.0), array_name, &lines, face);
            let from_x = ORIGIN_X + 12.0;
            let end_x = if arrays.len() > 1 { MEET_X } else { CONVERTER_X - HALF_PX };
            self.run(&[(from_x, row), (end_x, row)], ink);
            if let Some(lead) = &array.lead {
                let mut notes = Vec::new();
                if let Some(it) = &lead.fuse {
                    if it.fuse().is_some() {
                        symbols::fuse(&mut self.canvas, (from_x + 26.0, row), ink);
                    }
                    notes.push(words::fused(it));
                }
                notes.extend(lead.wire.iter().map(words::wire));
                let face = crate::show::theme::SMALL.at(Anchor::Middle);
                let (x, room) = ((from_x + end_x) / 2.0, end_x - from_x - 3.0);
                // The fuse above the line, the wire above it or below it.
                for (note, down_px) in notes.iter().zip([-9.0, 15.0]) {
                    let note = crate::show::text::fit(note, face, room);
                    self.canvas.text(x, row + down_px, &note, face);
                }
            }
            self.alarm(&[&format!("array “{array_name}”")], (ORIGIN_X - 28.0, row + 11.0));
            row += SOURCE_PX;
        }
        if arrays.len() > 1 {
            self.run(&[(MEET_X, y), (MEET_X, row - SOURCE_PX)], ink);
            self.joint((MEET_X, y), ink);
            self.run(&[(MEET_X, y), (CONVERTER_X - HALF_PX, y)], ink);
        }
        let at = (CONVERTER_X, y);
        match controller {
            crate::scenario::sources::Controller::Mppt(_) => {
                symbols::converter(&mut self.canvas, at, Side::Direct, Side::Direct, ink);
            }
            crate::scenario::sources::Controller::Pwm(_) => {
                symbols::switching(&mut self.canvas, at, ink);
            }
        }
        self.alarm(&[&format!("controller “{name}”")], (CONVERTER_X - HALF_PX, y - 12.0));
        let lines = words::controller(&controller);
        self.caption(CONVERTER_X, (y - 22.0, y + 29.0), name, &lines, above(ink));
        self.join_terminals(controller.lead(), (CONVERTER_X + HALF_PX, y), y, ink);
        row.max(y + SOURCE_PX)
    }

    fn vehicle(&mut self, y: f64) {
        let Some(vehicle) = self.scenario.vehicle.clone() else { return };
        let ink = UMBER;
        symbols::machine(&mut self.canvas, (ORIGIN_X - 8.0, y), "G", Side::Direct, ink);
        self.alarm(&["vehicle"], (ORIGIN_X - 8.0 - HALF_PX, y - 10.0));
        let lines =
            [format!("{} A, {}", trimmed(vehicle.limit_a, 1), words::charge(&vehicle.set_points))];
        self.caption(
            16.0,
            (y - 21.0, y + 30.0),
            "vehicle",
            &lines,
            Caption { room_px: 200.0, ..origin(ink) },
        );
        self.join_terminals(vehicle.lead.as_ref(), (ORIGIN_X - 8.0 + HALF_PX, y), y, ink);
    }

    /// From something that charges to the terminals.
    fn join_terminals(
        &mut self,
        lead: Option<&crate::scenario::loads::Lead>,
        from: Point,
        y: f64,
        ink: crate::show::theme::Ink,
    ) {
        let wide_from = from.0.max(CONVERTER_X + HALF_PX);
        self.run(&[from, (wide_from, y)], ink);
        let (wire, fuse) =
            (lead.and_then(|it| it.wire.as_ref()), lead.and_then(|it| it.fuse.as_ref()));
        // The words of what stands left of it reach as far as this.
        let words_from = if wide_from > CHARGER_X { wide_from } else { 252.0 };
        self.run(&[(wide_from, y), (words_from, y)], ink);
        self.lead((words_from, TERMINALS_X), y, wire, fuse, true, ink);
        self.joins.push(y);
    }
}
