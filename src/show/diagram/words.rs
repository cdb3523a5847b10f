//! What is next to the lines: sizes, limits, set points.

use crate::scenario::battery::{AcidKind, Battery};
use crate::scenario::loads::{Draw, Fused, Load, TierLoad, Wire};
use crate::scenario::sources::{Array, Controller, Joins, SetPoints};
use crate::show::words::{trimmed, volts};
use crate::station::battery::register::{as_strings, rated_ah};
use crate::station::draw::drawn;

/// `6 AWG, 2 m` or `2.5 mm2, 8 m`; nothing for no length.
#[must_use]
pub fn wire(wire: &Wire) -> String {
    let size = match (wire.awg, wire.mm2) {
        (Some(gauge), _) if gauge <= 0 => format!("{}/0 AWG", 1 - gauge),
        (Some(gauge), _) => format!("{gauge} AWG"),
        (None, Some(area)) => format!("{} mm²", trimmed(area, 2)),
        (None, None) => String::new(),
    };
    format!("{size}, {} m", trimmed(wire.one_way_m, 1))
}

/// `fuse 30 A`, `no fuse`.
#[must_use]
pub fn fused(fused: &Fused) -> String {
    match fused.fuse() {
        Some(fuse) => format!("fuse {} A", trimmed(fuse.rated_a, 1)),
        None => "no fuse".to_owned(),
    }
}

/// `14.3 V, float 13.6 V`.
#[must_use]
pub fn charge(charge: &SetPoints) -> String {
    match charge.float_v {
        Some(float_v) => format!("{}, float {}", volts(charge.absorption_v), volts(float_v)),
        None => volts(charge.absorption_v),
    }
}

/// Lines below panels.
#[must_use]
pub fn array(array: &Array) -> Vec<String> {
    let count = match array.datasheet.map_or(1, |it| it.in_series) {
        0 | 1 => String::new(),
        in_series => format!(", {in_series} in series"),
    };
    let strings = array.string_fuse.as_ref().map(|it| format!("string {}", fused(it)));
    let mut lines = vec![format!("{} × {} W{count}", array.count, trimmed(array.rated_w, 1))];
    lines.extend(strings);
    lines.push(format!(
        "slope {}°, az. {}°",
        trimmed(array.tilt_deg, 0),
        trimmed(array.azimuth_deg, 0)
    ));
    lines
}

/// Lines below a controller.
#[must_use]
pub fn controller(controller: &Controller) -> Vec<String> {
    let limit = trimmed(controller.output_limit_a(), 1);
    vec![format!("{}, {limit} A", controller.word()), charge(controller.set_points())]
}

/// Amperes with two digits that count.
#[must_use]
pub fn amperes(value: f64) -> String {
    let places = if value < 0.095 {
        3
    } else if value < 0.95 {
        2
    } else {
        usize::from(value < 99.95)
    };
    trimmed(value, places)
}

fn ampere_hours(value: f64) -> String {
    trimmed(value, usize::from(value < 99.95))
}

/// What the battery counts as, Ah; of lead-acid at the longest time of discharge, since its wells hold
/// more than ever comes out.
#[must_use]
pub fn counted_ah(battery: &Battery, capacity_ah: f64) -> f64 {
    match as_strings(battery) {
        Battery::LeadAcid(it) => rated_ah(&it) * it.age_capacity_share,
        _ => capacity_ah,
    }
}

/// Lines beside the battery.
#[must_use]
pub fn battery(battery: &Battery, capacity_ah: f64, nominal_v: f64) -> Vec<String> {
    let plain = as_strings(battery);
    let counted = format!("counted as {} Ah", ampere_hours(counted_ah(battery, capacity_ah)));
    let cells =
        |count: u32| if count == 1 { "1 cell".to_owned() } else { format!("{count} cells") };
    let strings = |count: u32, string_ah: f64| match count {
        1 => format!("{} Ah", ampere_hours(string_ah)),
        count => format!("{count} strings of {} Ah", ampere_hours(string_ah)),
    };
    let mut lines = match &plain {
        Battery::LithiumIronPhosphate(it) => vec![
            format!("LiFePO4, {}, {}", cells(it.cells_in_series), volts(nominal_v)),
            strings(it.strings, it.capacity_ah.unwrap_or(capacity_ah)),
            counted,
            format!(
                "BMS: charge {} A, discharge {} A",
                trimmed(it.charge_limit_a * f64::from(it.strings), 1),
                trimmed(it.discharge_limit_a * f64::from(it.strings), 1)
            ),
        ],
        Battery::LeadAcid(it) => {
            let kind = match it.kind {
                AcidKind::Flooded => "lead-acid, flooded",
                AcidKind::Agm => "lead-acid, AGM",
                AcidKind::Gel => "lead-acid, gel",
            };
            vec![
                format!("{kind}, {}, {}", cells(it.cells_in_series), volts(nominal_v)),
                strings(it.strings, rated_ah(it) / f64::from(it.strings)),
                counted,
            ]
        }
        Battery::Ideal(it) => vec![format!("ideal, {} Wh", trimmed(it.capacity_wh, 0))],
    };
    // What the strings say already need not be said again.
    let said =
        lines.get(1).is_some_and(|strings| lines.get(2) == Some(&format!("counted as {strings}")));
    if said {
        lines.remove(2);
    }
    let heater = match &plain {
        Battery::LithiumIronPhosphate(it) => it.heater,
        Battery::LeadAcid(it) => it.heater,
        Battery::Ideal(_) => None,
    };
    if let Some(heater) = heater {
        lines.push(format!("heater {} W", trimmed(heater.power_w, 0)));
    }
    lines
}

/// What a load draws.
#[must_use]
pub fn draw(load: &Load) -> String {
    match &load.draw {
        Draw::Current { receive_a, transmit_a: Some(transmit_a) } => {
            format!("{} A, transmitting {} A", amperes(*receive_a), amperes(*transmit_a))
        }
        Draw::Current { receive_a, transmit_a: None } => format!("{} A", amperes(*receive_a)),
        Draw::Envelope { receive_a, .. } => {
            let keyed = drawn(&load.draw, load.transmit_share, &TierLoad::default()).transmit;
            format!(
                "{} A, transmitting {} A peak",
                amperes(*receive_a),
                amperes(keyed.current_peak_a)
            )
        }
        Draw::Power { power_w, idle_w, .. } if *idle_w > 0.0 => {
            format!("{} W, idle {} W", trimmed(*power_w, 1), trimmed(*idle_w, 1))
        }
        Draw::Power { power_w, .. } => format!("{} W", trimmed(*power_w, 1)),
    }
}

/// How a supply joins.
#[must_use]
pub fn joins(joins: Joins) -> &'static str {
    match joins {
        Joins::Changeover => "feeds marked groups",
        Joins::Bus => "on the bus",
        Joins::ChargerOnly => "only charges",
    }
}
