//! Random stations that reach every battery, joining, draw, strategy and grid.
#![allow(dead_code)]

use proptest::prelude::*;
use serde_json::{Value, json};

/// Which kinds a station is of, for counting what a generator reached.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Kinds {
    pub battery: &'static str,
    pub joins: &'static str,
    pub draw: &'static str,
    pub strategy: &'static str,
    pub grid: &'static str,
    pub controller: &'static str,
    pub engine: &'static str,
}

/// A random station and its kinds.
pub fn station() -> impl Strategy<Value = (Kinds, Value)> {
    let kinds = (
        prop::sample::select(vec![
            "ideal",
            "lithium 1s",
            "lithium 4s",
            "lithium 8s",
            "acid flooded",
            "acid agm",
        ]),
        prop::sample::select(vec!["no supply", "changeover", "bus", "charger only"]),
        prop::sample::select(vec!["current", "envelope", "power"]),
        prop::sample::select(vec!["always", "never", "windows", "top up", "warned"]),
        prop::sample::select(vec!["always", "none", "outages", "pattern", "outage"]),
        prop::sample::select(vec!["mppt", "pwm"]),
        prop::sample::select(vec!["no engine", "engine and vehicle"]),
    );
    let sizes = (
        0.2_f64..6.0,  // panels over load
        0.1_f64..3.0,  // battery days
        0.05_f64..1.0, // start charge
        any::<bool>(), // float and tail
        0_u32..4,      // disconnect: none, lasting, short, by hand
        prop::sample::select(vec![60_u32, 60, 30, 20]),
        -12.0_f64..30.0, // air
        any::<bool>(),   // shedding
        any::<bool>(),   // a second controller
    );
    (kinds, sizes).prop_map(
        |((battery, joins, draw, strategy, grid, controller, engine), sizes)| {
            let kinds = Kinds { battery, joins, draw, strategy, grid, controller, engine };
            let value = build(&kinds, &sizes);
            (kinds, value)
        },
    )
}

type Sizes = (f64, f64, f64, bool, u32, u32, f64, bool, bool);

fn build(kinds: &Kinds, sizes: &Sizes) -> Value {
    let (sun, days, start, floats, disconnect, step_min, air_c, sheds, second) = *sizes;
    let cells = match kinds.battery {
        "lithium 1s" => 1.0,
        "lithium 8s" => 8.0,
        _ => 4.0,
    };
    let nominal_v = 3.2 * cells;
    // About 1.5 A receiving and 12 A keyed at 12.8 V; a quarter of that for one cell.
    let scale = if cells < 2.0 { 0.25 } else { 1.0 };
    let mean_w = 2.5 * scale * nominal_v;
    let capacity_ah = days * 24.0 * mean_w / nominal_v;
    let draw = match kinds.draw {
        "current" => json!({"current": {"receive_a": 1.2 * scale, "transmit_a": 11.0 * scale}}),
        "envelope" => json!({"envelope": {"receive_a": 1.2 * scale, "quiescent_a": 2.0 * scale,
            "full_a": 20.0 * scale, "mode": "voice_unprocessed"}}),
        _ => {
            json!({"power": {"power_w": mean_w, "converter_efficiency_share": 0.9, "idle_w": 0.2}})
        }
    };
    let mut radio = json!({"group": "desk", "draw": draw, "window_v": [2.6 * cells, 4.1 * cells]});
    if kinds.draw != "power" {
        radio["transmit_share"] = json!(0.1);
        radio["operator"] = json!("A");
    }
    let mut charge = json!({"absorption_v": 3.55 * cells, "compensation_v_per_k": -0.005 * cells});
    if floats {
        charge["float_v"] = json!(3.38 * cells);
        charge["tail_a"] = json!(capacity_ah * 0.02);
        charge["recharge_below_v"] = json!(3.28 * cells);
    }
    let tracking = |limit_a: f64, absorption_v: f64| {
        let mut charge = charge.clone();
        charge["absorption_v"] = json!(absorption_v);
        json!({"mppt": {"output_limit_a": limit_a, "standby_w": 0.3, "set_points": charge}})
    };
    let array = |watts: f64, controller: &str| {
        json!({"rated_w": watts, "count": 1, "tilt_deg": 30, "azimuth_deg": 180,
            "controller": controller, "loss_share": {"all": 0.05}})
    };
    let plane: Vec<f64> = (0..24)
        .map(|hour| {
            (900.0 * (std::f64::consts::PI * (f64::from(hour) - 6.0) / 12.0).sin()).max(0.0)
        })
        .collect();
    let mut value = json!({
        "format": 2, "title": "random",
        "site": {"latitude_deg": 45.0, "longitude_deg": 0.0, "clock": {"fixed_offset": "+00:00"}},
        "span": {"start": "2026-03-03T00:00", "hours": 72, "step_min": step_min},
        "start": {"charge_share": start},
        "sun": {"profile": {"in_plane_w_m2": plane, "air_c": air_c}},
        "windows": {"night": {"from": "22:00", "to": "06:00"},
            "watch": {"from": "06:30", "to": "23:00"}, "news": {"minutes": [0, 5]}},
        "arrays": {"roof": array(sun * mean_w * 4.0, "roof")},
        "controllers": {"roof": tracking(0.3 * capacity_ah, 3.55 * cells)},
        "outlet_groups": {
            "desk": {"limit_a": 40, "on_supply": true, "wire": {"mm2": 6.0, "one_way_m": 3.0, "connectors": 2}},
            "house": {"limit_a": 10}},
        "main_feed": {"wire": {"mm2": 16.0, "one_way_m": 1.0}},
        "loads": {"radio": radio,
            "lamps": {"group": "house", "draw": {"power": {"power_w": 6.0 * scale}}, "when": "watch"},
            "receiver": {"group": "house", "draw": {"current": {"receive_a": 0.3}}, "when": "news",
                "essential": false}},
        "tiers": [{"name": "all", "loads": {"radio": {}, "lamps": {}, "receiver": {}}},
            {"name": "radio", "loads": {"radio": {"when": "watch"}, "receiver": {}}},
            {"name": "quiet", "loads": {"receiver": {}}}],
        "strategy": "it"
    });
    if second {
        value["arrays"]["lawn"] = array(mean_w, "lawn");
        value["controllers"]["lawn"] = tracking(6.0, 3.5 * cells);
    }
    if kinds.controller == "pwm" {
        value["controllers"]["roof"] = json!({"pwm": {"output_limit_a": 0.3 * capacity_ah,
            "standby_w": 0.2, "set_points": charge}});
        value["arrays"]["roof"]["datasheet"] = json!({"isc_a": sun * mean_w * 4.0 / (16.0 * cells / 4.0),
            "voc_v": 5.5 * cells, "imp_a": sun * mean_w * 3.7 / (16.0 * cells / 4.0), "vmp_v": 4.5 * cells});
    }
    if kinds.engine != "no engine" {
        value["generator"] = json!({"rated_w": 400.0 * scale, "fuel_l": 2.0, "tank_l": 1.0, "other_w": 20.0 * scale,
            "fuel_line": {"per_rated_kw_l_h": 0.28, "per_kwh_l": 0.4}, "allowed": "watch",
            "rule": {"start_below_share": 0.35, "stop_above_share": 0.8}});
        value["vehicle"] = json!({"limit_a": 10.0 * scale, "connected": "night",
            "set_points": {"absorption_v": 3.5 * cells}});
    }
    value["battery"] = match kinds.battery {
        "acid flooded" | "acid agm" => {
            json!({"lead_acid": {"kind": kinds.battery.replace("acid ", ""),
            "cells_in_series": 6, "resistance_ohm": 0.6 / capacity_ah, "rated_absorption_v": 14.4,
            "capacities": [{"discharge_h": 20.0, "capacity_ah": capacity_ah},
                {"discharge_h": 5.0, "capacity_ah": 0.84 * capacity_ah},
                {"discharge_h": 1.0, "capacity_ah": 0.57 * capacity_ah}],
            "temperature": {"follows_air": {"lag_h": 6}}}})
        }
        "ideal" => json!({"ideal": {"capacity_wh": capacity_ah * nominal_v, "empty_v": 11.5,
            "full_v": 13.6, "charge_efficiency_share": 0.95, "discharge_efficiency_share": 0.97,
            "self_discharge_share_month": 0.02}}),
        _ => json!({"lithium_iron_phosphate": {"cells_in_series": cells as u32,
            "capacity_ah": capacity_ah, "charge_limit_a": 0.5 * capacity_ah,
            "discharge_limit_a": 60, "temperature": {"follows_air": {"lag_h": 6}}}}),
    };
    // Hard weather on some of them.
    if sheds && kinds.battery != "ideal" {
        let chemistry =
            if kinds.battery.starts_with("acid") { "lead_acid" } else { "lithium_iron_phosphate" };
        value["battery"][chemistry]["heater"] =
            json!({"power_w": 1.5 * scale, "on_below_c": 5, "rise_c": 10});
    }
    if floats && kinds.battery.starts_with("lithium") {
        value["battery"]["lithium_iron_phosphate"]["cutoff_reset"] = json!("by_hand");
        value["attended"] = json!({"in": "watch"});
    }
    if second {
        value["snow"] = json!({"falls": [{"at": "2026-03-03T05:10"}], "cleared_after_h": 5});
    }
    if kinds.joins != "no supply" {
        value["supply"] = json!({"rated_v": if kinds.joins == "bus" { 3.32 } else { 3.45 } * cells,
            "limit_a": 22.0, "efficiency_share": 0.88, "no_load_w": 2,
            "joins": kinds.joins.replace(' ', "_")});
        if kinds.joins != "bus" {
            value["supply"]["charger"] = json!({"limit_a": 15.0, "set_points": charge});
        }
    }
    let rule = match kinds.strategy {
        "always" => json!("always"),
        "never" => json!("never"),
        "windows" => json!({"windows": {"in": ["night"]}}),
        "top up" => json!({"top_up": {"start_below_share": 0.4, "stop_above_share": 0.8}}),
        _ => json!({"warned": {"hold_h": 10, "otherwise": "never"}}),
    };
    value["strategies"] = json!({"it": {"supply": rule,
        "switches": if floats { "supply" } else { "charger" }}});
    value["warning"] = json!({"chance": 0.8, "lead_time_h": 6});
    value["grid"] = match kinds.grid {
        "always" => json!("always"),
        "none" => json!("none"),
        "outages" => json!({"outages": [{"off": "2026-03-03T09:20", "on": "2026-03-03T15:40"},
            {"off": "2026-03-04T01:00", "on": "2026-03-05T02:30"}]}),
        "pattern" => json!({"pattern": {"off_in": ["watch"]}}),
        _ => json!({"outage": {"off": "2026-03-03T18:00", "hours": 30}}),
    };
    if disconnect > 0 {
        value["disconnect"] = json!({"disconnect_v": 2.95 * cells, "reconnect_v": 3.25 * cells,
            "delay_s": if disconnect == 2 { 90 } else { 10 }, "min_off_min": 20,
            "reconnects": if disconnect == 3 { "by_hand" } else { "by_itself" }});
    }
    if sheds {
        value["shedding"] = json!({"decide_at": ["sunrise", "sunset", "12:00"],
            "down_below_share": [0.5, 0.25], "up_above_share": [0.6, 0.35],
            "tier_without_mains": "radio"});
    }
    value
}
