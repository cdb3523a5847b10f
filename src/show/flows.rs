//! Sources and uses over time: a row for each source, one for the loads, one for the battery.

use super::axes::Scale;
use super::bins::{Bin, Grain, finest, refused_wh};
use super::canvas::{Canvas, Picture, Rect};
use super::lanes::{Lane, draw_lanes, lanes_of};
use super::page::{blank, gutter, head, run_line};
use super::panel::{Area, Outline, Panel, Unit, any};
use super::sentence::{first_sentence, led_by_off_air};
use super::span::Span;
use super::text::clean;
use super::theme::{
    AMBER_DEEP, Anchor, CRIMSON, DRAWN_FILL, GENERATOR_FILL, GENERATOR_STORED_FILL, MAINS_FILL,
    MAINS_STORED_FILL, OLIVE_DEEP, PETROL, PLUM, REFUSED_PEN, RIM_PX, SERVED_FILL, SHED_PEN, SLATE,
    SMALL, STORED_FILL, SUN_FILL, UMBER, UNSERVED_FILL, VEHICLE_FILL, WIDTH_PX,
};
use super::timeline::Timeline;
use super::words::{energy, percent};
use crate::simulate::ledger::{Ledger, Origin, SourceFlows};
use crate::simulate::summary::Summary;

const NAME: &str = "flows";
const LEFT_PX: f64 = 64.0;
/// Height of the row of the strongest controller, px.
const SUN_PX: f64 = 88.0;
/// Least height of a row, px.
const LEAST_PX: f64 = 40.0;
/// Height of the rows of mains, generator, vehicle and loads, px.
const ROW_PX: f64 = 72.0;
/// Height of the row of the battery, px.
const BATTERY_PX: f64 = 84.0;
/// Room between rows, for their names, px.
const BETWEEN_PX: f64 = 28.0;
/// Controllers that get a row of their own; more share the last one.
const SUN_ROWS: usize = 4;
/// Most steps, hours, days ... side by side: two weeks of hours.
const MOST_BINS: usize = 340;

/// Draws sources and uses.
#[must_use]
pub fn flows(ledger: &Ledger, summary: &Summary) -> Picture {
    let Some(span) = Span::of(ledger) else {
        return blank(NAME, ledger);
    };
    let mut canvas = Canvas::new();
    let lanes = lanes_of(&span);
    let (grain, bins) = finest(&span, Grain::Step, MOST_BINS);
    let sun = sun_panels(&span, &bins);
    let others = other_panels(&span, &bins);
    let words = sun.iter().chain(others.iter().map(|(panel, _)| panel)).flat_map(Panel::words);
    let words = words.map(str::to_owned).chain(lanes.iter().map(Lane::words));
    let right = WIDTH_PX - gutter(words, SMALL, 100.0, 210.0);
    let room = WIDTH_PX - right - RIM_PX;

    let title = led_by_off_air(summary, &title_of(summary));
    let scales = if sun.len() > 1 {
        "the rows of the sun share one scale"
    } else {
        "each row has its own scale"
    };
    let largest =
        sun.iter().chain(others.iter().map(|(panel, _)| panel)).map(|panel| panel.extent_w(&bins));
    let largest = largest.map(|(low, high)| high.max(-low)).fold(0.0, f64::max);
    let unit = if largest >= 10_000.0 {
        Unit { name: "kW", watts: 1000.0 }
    } else {
        Unit { name: "W", watts: 1.0 }
    };
    let drawn = format!(
        "Mean power in each {}, {}, with its energy over the whole span; {scales}.",
        grain.word(),
        unit.name
    );
    let run = run_line(&span);
    let mut y = head(&mut canvas, &title, &run, &drawn);
    let time = Timeline::new(&span, LEFT_PX, right);
    if time.shows_nights() {
        canvas.text(right, y + BETWEEN_PX - 8.0, "grey: night", SMALL.at(Anchor::End));
    }
    let strongest = sun.iter().map(|panel| panel.extent_w(&bins).1).fold(0.0, f64::max);
    let sun_rows = sun.iter().map(|panel| {
        let height = SUN_PX * panel.extent_w(&bins).1 / strongest;
        // A low row reaches further up than it must, at the scale of the others.
        let height = if height >= LEAST_PX { height } else { LEAST_PX };
        (panel, height, Some((0.0, strongest * height / SUN_PX)))
    });
    let rows = sun_rows.chain(others.iter().map(|(panel, height)| (panel, *height, None)));
    for (panel, height, extent) in rows {
        let top = y + BETWEEN_PX;
        let plot = Rect::new(LEFT_PX, top, right, top + height);
        let (low, high) = extent.unwrap_or_else(|| panel.extent_w(&bins));
        let scale = Scale::new(low / unit.watts, high / unit.watts, plot.y1, plot.y0);
        panel.draw(&mut canvas, plot, (&scale, unit), &time, &bins, room);
        y = plot.y1;
    }
    let below = draw_lanes(&mut canvas, &time, y + 10.0, &lanes, room);
    let below = time.axis(&mut canvas, below + 4.0);
    let about = format!("{}. {run}. {drawn}", first_sentence(ledger, summary));
    canvas.finish(NAME, &title, &about, (WIDTH_PX, below + 8.0))
}

fn title_of(summary: &Summary) -> String {
    if summary.served_wh <= 0.0 {
        return format!("Nothing served; the sun gave {}", energy(summary.solar_used_wh));
    }
    let origin = &summary.origin_wh;
    let all = [
        (origin.sun, "from the sun"),
        (origin.mains, "from the mains"),
        (origin.generator, "from the generator"),
        (origin.vehicle, "from the vehicle"),
        (origin.stored_before, "stored before"),
    ];
    let mut parts: Vec<String> = all
        .iter()
        .filter(|(wh, _)| *wh > 1e-9 * summary.served_wh)
        .map(|(wh, from)| format!("{} {from}", percent(wh / summary.served_wh)))
        .collect();
    let last = parts.pop().unwrap_or_default();
    let list = if parts.is_empty() { last } else { format!("{} and {last}", parts.join(", ")) };
    format!("{} served: {list}", energy(summary.served_wh))
}

/// A row for each controller; many share the last one.
fn sun_panels(span: &Span, bins: &[Bin]) -> Vec<Panel> {
    let sources = &span.ledger.heads.sources;
    let mut alone: Vec<usize> =
        (0..sources.len()).filter(|k| sources[*k].origin == Origin::Sun).collect();
    let mut shared = Vec::new();
    if alone.len() > SUN_ROWS {
        // Those that gave most stand alone, in the order of the file.
        let gave = |k: &usize| {
            bins.iter().filter_map(|bin| bin.sources.get(*k)).map(|f| f.used_wh).sum::<f64>()
        };
        alone.sort_by(|a, b| gave(b).total_cmp(&gave(a)));
        shared = alone.split_off(SUN_ROWS - 1);
        alone.sort_unstable();
    }
    let panel = |name: String, members: &[usize]| {
        let sum = |of: fn(&SourceFlows) -> f64| -> Vec<f64> {
            bins.iter()
                .map(|bin| members.iter().filter_map(|k| bin.sources.get(*k)).map(of).sum())
                .collect()
        };
        Panel {
            name,
            up: vec![Area::new("used", sum(|flow| flow.used_wh), SUN_FILL, AMBER_DEEP)],
            down: Vec::new(),
            over: Outline::of("refused", sum(refused_wh), REFUSED_PEN),
        }
    };
    let mut panels: Vec<Panel> =
        alone.iter().map(|k| panel(format!("Sun: {}", clean(&sources[*k].name)), &[*k])).collect();
    if !shared.is_empty() {
        panels.push(panel(format!("Sun: {} more controllers", shared.len()), &shared));
    }
    panels
}

/// Mains, generator and vehicle if they gave anything, loads, battery; each with its height, px.
fn other_panels(span: &Span, bins: &[Bin]) -> Vec<(Panel, f64)> {
    let mut panels = Vec::new();
    let fed = [
        (Origin::Mains, "Mains", MAINS_FILL, MAINS_STORED_FILL, PLUM),
        (Origin::Generator, "Generator", GENERATOR_FILL, GENERATOR_STORED_FILL, OLIVE_DEEP),
        (Origin::Vehicle, "Vehicle", VEHICLE_FILL, VEHICLE_FILL, UMBER),
    ];
    for (origin, name, to_loads, to_battery, ink) in fed {
        let sources = &span.ledger.heads.sources;
        let flow = |of: fn(&SourceFlows) -> f64| -> Vec<f64> {
            let of_bin = |bin: &Bin| {
                let flows = bin.sources.iter().zip(sources);
                flows.filter(|(_, it)| it.origin == origin).map(|(flow, _)| of(flow)).sum()
            };
            bins.iter().map(of_bin).collect()
        };
        let all = if origin == Origin::Vehicle {
            vec![Area::new("given", flow(|f| f.used_wh), to_loads, ink)]
        } else {
            vec![
                Area::new("to loads", flow(|f| f.to_load_wh), to_loads, ink),
                Area::new("to battery", flow(|f| f.to_battery_wh), to_battery, ink),
            ]
        };
        let up: Vec<Area> = all.into_iter().filter(|area| any(&area.wh)).collect();
        if !up.is_empty() {
            let panel = Panel { name: name.to_owned(), up, down: Vec::new(), over: None };
            panels.push((panel, ROW_PX));
        }
    }
    let of_bin = |of: fn(&Bin) -> f64| -> Vec<f64> { bins.iter().map(of).collect() };
    let mut up = vec![Area::new("served", of_bin(|bin| bin.served_wh), SERVED_FILL, SLATE)];
    let unserved = of_bin(|bin| bin.unserved_wh);
    if any(&unserved) {
        up.push(Area::new("unserved", unserved, UNSERVED_FILL, CRIMSON));
    }
    let over = Outline::of("shed", of_bin(|bin| bin.shed_wh), SHED_PEN);
    panels.push((Panel { name: "Loads".to_owned(), up, down: Vec::new(), over }, ROW_PX));
    let stored = Area::new("in", of_bin(|bin| bin.stored_in_wh), STORED_FILL, PETROL);
    let drawn = Area::new("out", of_bin(|bin| bin.stored_out_wh), DRAWN_FILL, PETROL);
    let keep = |area: Area| {
        if any(&area.wh) { vec![area] } else { Vec::new() }
    };
    let name = "Battery: in above the line, out below".to_owned();
    panels.push((Panel { name, up: keep(stored), down: keep(drawn), over: None }, BATTERY_PX));
    panels
}
