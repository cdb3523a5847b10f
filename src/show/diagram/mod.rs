//! The one-line diagram of a station, left to right: what charges, battery terminals, outlet groups,
//! loads.
//!
//! Lives here: the sheet ([`diagram`]), symbols of the IEC 60617 kind, what is next to the lines.
//! Conductors join in dots; what the scenario does not state is not drawn; a mark stands at what has a
//! serious finding. Does not live here: what is wrong with the station (`decide::preflight`).

mod distribution;
mod sources;
mod symbols;
mod words;

use crate::decide::preflight::{Finding, Severity, Subject};
use crate::plan::Plan;
use crate::scenario::Scenario;
use crate::scenario::loads::{Fused, Wire};
use crate::show::canvas::{Canvas, Picture, Point};
use crate::show::text::{fit, fold, width_px};
use crate::show::theme::{Anchor, Ink, LABEL, PETROL, RIM_PX, SMALL, SUBTITLE, TITLE, WIDTH_PX};
use crate::show::words::trimmed;
use symbols::{FUSE_HALF_PX, conductor, fuse, junction};

/// Centres of the columns, px.
const ORIGIN_X: f64 = 46.0;
const CONVERTER_X: f64 = 186.0;
const CHARGER_X: f64 = 258.0;
const TERMINALS_X: f64 = 366.0;
const DISCONNECT_X: f64 = 476.0;
const CHANGEOVER_X: f64 = 518.0;
const GROUPS_X: f64 = 548.0;
const LOADS_X: f64 = 684.0;
const LOAD_X: f64 = 710.0;
const LOAD_TEXT_X: f64 = 730.0;
/// First line of the drawing, px.
const TOP_Y: f64 = 86.0;
/// Height of a load, px.
const LOAD_PX: f64 = 38.0;
/// Least height of a group, px.
const GROUP_PX: f64 = 58.0;
/// A group that branches off this near to the middle is met level, px.
const CLOSE_PX: f64 = 16.0;
/// Height of something that charges, px.
const SOURCE_PX: f64 = 96.0;

/// Draws the station of a scenario, with the findings of its check.
#[must_use]
pub fn diagram(scenario: &Scenario, plan: &Plan, findings: &[Finding]) -> Picture {
    let mut sheet = Sheet { canvas: Canvas::new(), scenario, plan, findings, joins: Vec::new() };
    let sources = sources::Sources::of(scenario);
    let throws = sources::carries(scenario);
    let groups = distribution::groups(scenario, throws);
    let groups_top = if throws { TOP_Y + 46.0 } else { TOP_Y };
    let groups_height: f64 = groups.iter().map(distribution::Block::height).sum();
    let sources_height = sources.height();
    // The feed leaves the terminals level with the middle of the groups that it ends in; where one
    // branches off close by, level with that one.
    let ends: Vec<f64> = distribution::middles(&groups, groups_top)
        .into_iter()
        .filter(|(carried, _)| *carried || !throws)
        .map(|(_, middle)| middle)
        .collect();
    let pole_px = if throws { distribution::THROW_PX / 2.0 } else { 0.0 };
    let middle = ends.iter().sum::<f64>() / ends.len().max(1) as f64;
    let apart = |y: &f64| (y - middle).abs();
    let nearest = ends.iter().copied().min_by(|a, b| apart(a).total_cmp(&apart(b)));
    let level = nearest.filter(|y| apart(y) < CLOSE_PX).unwrap_or(middle);
    let feed_y = level.max(groups_top + 30.0) + pole_px;
    let sources_top = sources.top_clear_of(TOP_Y + 22.0, feed_y);
    let battery_y = (sources_top + sources_height - 22.0).max(feed_y + 56.0);

    sheet.sources(&sources, sources_top, feed_y);
    sheet.joins.push(feed_y);
    let bottom = sheet.battery(battery_y + 16.0);
    let beyond = sheet.distribution(&groups, groups_top, feed_y, throws);
    let height = bottom.max(beyond).max(groups_top + groups_height) + RIM_PX;

    let title = title(scenario, plan, findings);
    let room = WIDTH_PX - 2.0 * RIM_PX;
    sheet.canvas.text(RIM_PX, 30.0, &fit(&title, TITLE, room), TITLE);
    let serious = findings.iter().filter(|it| it.severity == Severity::Serious);
    let serious: Vec<String> =
        serious.map(|it| format!("{}, {}", crate::show::text::clean(&it.item), it.what)).collect();
    let how = if serious.is_empty() {
        ". One line is both conductors; lengths are one way."
    } else {
        ". One line for both conductors, lengths one way; !: serious finding."
    };
    let name = crate::show::text::clean(&scenario.title);
    let name = fit(&name, SUBTITLE, room - width_px(how, SUBTITLE));
    let subtitle = format!("{}{how}", name.trim_end_matches('.'));
    sheet.canvas.text(RIM_PX, 50.0, &subtitle, SUBTITLE);
    let mut description = description(scenario, plan);
    if !serious.is_empty() {
        description += &format!(" Serious findings: {}.", serious.join("; "));
    }
    sheet.canvas.finish("diagram", &title, &description, (WIDTH_PX, height.ceil()))
}

/// The station in a sentence.
fn title(scenario: &Scenario, plan: &Plan, findings: &[Finding]) -> String {
    let mut feeds = Vec::new();
    let panels_w: f64 = scenario.arrays.values().map(|it| it.rated_w * f64::from(it.count)).sum();
    if panels_w > 0.0 {
        feeds.push(format!("{} W of panels", trimmed(panels_w, 0)));
    }
    if let Some(supply) = &scenario.supply {
        feeds.push(format!("a supply of {} A", trimmed(supply.limit_a, 1)));
    }
    if scenario.vehicle.is_some() {
        feeds.push("a vehicle".to_owned());
    }
    let verb = if feeds.len() == 1 && panels_w <= 0.0 { "feeds" } else { "feed" };
    let fed = match feeds.split_last() {
        None => String::new(),
        Some((last, [])) => format!("{last} {verb} "),
        Some((last, first)) => format!("{} and {last} feed ", first.join(", ")),
    };
    let held = trimmed(words::counted_ah(&scenario.battery, plan.battery.capacity_ah), 0);
    // The check reckons it: what is drawn with every operator transmitting at the lowest volts.
    let peak_a =
        findings.iter().find(|it| it.subject == Subject::MainBudget).and_then(|it| it.value);
    let peak = words::amperes(peak_a.unwrap_or(0.0));
    let stores = if fed.is_empty() { "the battery holds" } else { "a battery of" };
    let lengths = [
        format!("{fed}{stores} {held} Ah; loads peak at {peak} A"),
        format!("{fed}{held} Ah; loads peak at {peak} A"),
        format!("{fed}{held} Ah; peak {peak} A"),
    ];
    let room = WIDTH_PX - 2.0 * RIM_PX;
    let fits = |text: &&String| width_px(text, TITLE) <= room;
    let text = lengths.iter().find(fits).or(lengths.last()).map_or("", String::as_str);
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// The drawing in words, for those who hear the page.
fn description(scenario: &Scenario, plan: &Plan) -> String {
    let mut parts = Vec::new();
    for (name, array) in &scenario.arrays {
        parts.push(format!(
            "Array {name}, {}, feeds controller {}.",
            words::array(array).join(", "),
            array.controller
        ));
    }
    for (name, it) in &scenario.controllers {
        let said = words::controller(it).join(", ");
        parts.push(format!("Controller {name}, {said}, charges the battery."));
    }
    if let Some(supply) = &scenario.supply {
        let limit = trimmed(supply.limit_a, 1);
        parts.push(format!("A supply of {limit} A, {}.", words::joins(supply.joins)));
    }
    if scenario.generator.is_some() {
        parts.push("A generator feeds the supply while there is no mains.".to_owned());
    }
    if scenario.vehicle.is_some() {
        parts.push("A vehicle charges the battery.".to_owned());
    }
    let battery =
        words::battery(&scenario.battery, plan.battery.capacity_ah, plan.battery.nominal_v);
    parts.push(format!("Battery: {}.", battery.join(", ")));
    for (name, group) in &scenario.outlet_groups {
        let loads: Vec<String> = scenario
            .loads
            .iter()
            .filter(|(_, load)| load.group == *name)
            .map(|(load_name, load)| format!("{load_name} ({})", words::draw(load)))
            .collect();
        let limit = trimmed(group.limit_a, 1);
        parts.push(format!("Group {name}, limit {limit} A: {}.", loads.join(", ")));
    }
    parts.join(" ")
}

/// The sheet while the station is drawn on it.
struct Sheet<'a> {
    canvas: Canvas,
    scenario: &'a Scenario,
    plan: &'a Plan,
    findings: &'a [Finding],
    /// Heights at which lines join the terminals, px.
    joins: Vec<f64>,
}

impl Sheet<'_> {
    /// A level or upright conductor.
    fn run(&mut self, points: &[Point], ink: Ink) {
        self.canvas.line(points, conductor(ink));
    }

    /// A mark at what has a serious finding, with what was found.
    fn alarm(&mut self, items: &[&str], at: Point) {
        let found: Vec<String> = self
            .findings
            .iter()
            .filter(|it| it.severity == Severity::Serious && items.contains(&it.item.as_str()))
            .map(|it| format!("{}: {}", it.what, it.sentence))
            .collect();
        if !found.is_empty() {
            let place = symbols::alarm(&mut self.canvas, at);
            self.canvas.tell(place, &found.join(" "));
        }
    }

    fn joint(&mut self, at: Point, ink: Ink) {
        junction(&mut self.canvas, at, ink);
    }

    /// A level lead from `x0` to `x1` with its fuse and its size below it. `fuse_right` puts the fuse
    /// at the right end, where the battery is.
    fn lead(
        &mut self,
        (x0, x1): (f64, f64),
        y: f64,
        wire: Option<&Wire>,
        fused: Option<&Fused>,
        fuse_right: bool,
        ink: Ink,
    ) {
        self.run(&[(x0, y), (x1, y)], ink);
        let mut notes = Vec::new();
        if let Some(it) = fused {
            let x = if fuse_right { x1 - FUSE_HALF_PX - 8.0 } else { x0 + FUSE_HALF_PX + 8.0 };
            if it.fuse().is_some() {
                fuse(&mut self.canvas, (x, y), ink);
            }
            notes.push(words::fused(it));
        }
        if let Some(it) = wire {
            notes.push(words::wire(it));
        }
        let middle = (x0 + x1) / 2.0;
        // At the battery the words of the fuse stand above the line, where nothing else does.
        let above = fuse_right && notes.len() > 1;
        for (line, note) in notes.iter().enumerate() {
            let words = fit(note, SMALL, x1 - x0 - 6.0);
            let y = match (above, line) {
                (true, 0) => y - 9.0,
                (true, _) => y + 16.0,
                (false, line) => y + 16.0 + 13.0 * line as f64,
            };
            self.canvas.text(middle, y, &words, SMALL.at(Anchor::Middle));
        }
    }

    /// A name above a symbol and lines below it, within a width.
    fn caption(&mut self, x: f64, ys: (f64, f64), name: &str, lines: &[String], face: Caption) {
        let Caption { room_px, anchor, ink } = face;
        let name = fit(name, LABEL.strong(), room_px);
        self.canvas.text(x, ys.0, &name, LABEL.strong().at(anchor).in_ink(ink));
        let mut y = ys.1;
        for line in lines {
            for part in fold(line, SMALL, room_px, 2) {
                self.canvas.text(x, y, &part, SMALL.at(anchor));
                y += 13.0;
            }
        }
    }

    /// The battery below the terminals, its words on the left. Returns the lower edge.
    fn battery(&mut self, y: f64) -> f64 {
        let joins = std::mem::take(&mut self.joins);
        let top_y = joins.iter().copied().fold(y, f64::min);
        self.run(&[(TERMINALS_X, top_y), (TERMINALS_X, y)], PETROL);
        // The uppermost is a corner, unless two meet there.
        let at_top = joins.iter().filter(|it| **it < top_y + 0.5).count();
        for join in joins.iter().filter(|it| **it > top_y + 0.5 || at_top > 1) {
            self.joint((TERMINALS_X, *join), PETROL);
        }
        let end = symbols::cells(&mut self.canvas, (TERMINALS_X, y), PETROL);
        self.alarm(&["battery"], (TERMINALS_X + 26.0, y + 8.0));
        let lines = words::battery(
            &self.scenario.battery,
            self.plan.battery.capacity_ah,
            self.plan.battery.nominal_v,
        );
        let ys = (y - 4.0, y + 11.0);
        let face = Caption { room_px: 260.0, anchor: Anchor::End, ink: PETROL };
        self.caption(TERMINALS_X - 28.0, ys, "battery", &lines, face);
        end.max(y + 11.0 + 13.0 * lines.len() as f64)
    }
}

/// How a caption is set.
#[derive(Clone, Copy)]
struct Caption {
    room_px: f64,
    anchor: Anchor,
    ink: Ink,
}
