//! Five stations small enough for a pencil. The arithmetic stands in the comments; nothing in it
//! comes from the program.

use crate::support;

use longwatch::numbers::lane::Single;
use longwatch::plan::{Plan, Slice, TemperaturePlan};
use longwatch::simulate::ledger::Row;
use longwatch::simulate::phase::{Book, Phase};
use longwatch::simulate::single;
use longwatch::simulate::state::State;
use longwatch::simulate::step::run_slice;
use serde_json::{Value, json};
use support::{bench_with, plan_of};

/// Rounding in the comments: four digits.
const DIGIT: f64 = 5e-5;
/// An ideal battery has one nano-ohm: thresholds in volts lie 1e-8 V beside the pencil's.
const WIRE: f64 = 2e-7;

fn near(what: &str, ours: f64, pencil: f64, within: f64) {
    assert!((ours - pencil).abs() <= within, "{what}: {ours}, by pencil {pencil} +- {within}");
}

/// Of every row: energy from source `at`.
fn used_wh(rows: &[Row], at: usize) -> f64 {
    rows.iter().map(|row| row.sources[at].used_wh).sum()
}

fn served_wh(rows: &[Row]) -> f64 {
    rows.iter().flat_map(|row| &row.groups).map(|group| group.served_wh).sum()
}

fn unserved_wh(rows: &[Row]) -> f64 {
    rows.iter().flat_map(|row| &row.groups).map(|group| group.unserved_wh).sum()
}

struct NoBook;

impl Book<f64> for NoBook {
    fn phase(&mut self, _: &Plan, _: &Slice, _: &Phase<f64>) {}
}

/// Fills of the well at hand after each slice.
fn at_hand(plan: &Plan) -> Vec<f64> {
    let mut state = State::<f64>::at_start(plan, Single);
    let mut fills = Vec::new();
    for (at, slice) in plan.slices.iter().enumerate() {
        let inputs = single::inputs_of(plan, slice, at);
        run_slice(plan, slice, &inputs, &mut state, &mut NoBook);
        fills.push(state.at_hand);
    }
    fills
}

/// An ideal battery of 100 Ah whose volts run straight from empty to full, and a lamp of `amps`.
fn straight(empty_v: f64, full_v: f64, amps: f64, patch: &Value) -> Value {
    let mut value = bench_with(&json!({
        "span": {"start": "2026-06-01T00:00"},
        "sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "battery": {"ideal": {"capacity_wh": 50.0 * (empty_v + full_v), "empty_v": empty_v,
            "full_v": full_v}},
        "loads": {"lamp": {"draw": {"power": null, "current": {"receive_a": amps}}}}
    }));
    support::merge(&mut value, patch);
    value
}

/// 1. A lead-acid night.
///
/// 100 Ah in two wells, half of it at hand (c = 0.5), levelling out at k = 0.2 an hour; 10 mohm.
/// 4 A from 20:00 to 06:00, then nothing until 11:00.
///
/// Out: 4 A x 10 h = 40 Ah, so s = 0.60 in the morning.
/// The fills part towards -4 / (0.5 x 0.2 x 100) = -0.4; after ten hours by 1 - e^-2 = 0.8647 of
/// that: -0.3459. At hand h1 = 0.60 - 0.5 x 0.3459 = 0.4271.
/// Rest volts of a flooded block: 11.90 at 0.4, 12.06 at 0.5: 11.90 + 0.271 x 0.16 = 11.943; less
/// 4 A x 10 mohm = 0.040: 11.903 V at the terminals, the lowest of the night.
/// Mean of the parting over the night: -0.4 (1 - 0.8647 / 2) = -0.2271; mean h1 = 0.80 - 0.1135 =
/// 0.6865, about 12.304 V at rest, 12.264 V at the terminals: 40 Ah x 12.264 V = 490.5 Wh. The table
/// is bent, so its mean is not quite its value at the mean: 0.5 %.
/// Five hours of rest leave e^-1 = 0.3679 of the parting: h1 = 0.60 - 0.5 x 0.3459 x 0.3679 = 0.5364.
#[test]
fn a_lead_acid_night() {
    let mut plan = plan_of(&bench_with(&json!({
        "span": {"start": "2026-06-01T20:00", "hours": 15}, "start": {"charge_share": 1.0},
        "sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "windows": {"night": {"from": "20:00", "to": "06:00"}},
        "battery": {"ideal": null, "lead_acid": {"kind": "flooded", "cells_in_series": 6,
            "resistance_ohm": 0.01, "rated_absorption_v": 14.4, "self_discharge_share_month": 0.0,
            "temperature": {"fixed_c": 25.0},
            "capacities": [{"discharge_h": 20.0, "capacity_ah": 90.0},
                {"discharge_h": 1.0, "capacity_ah": 55.0}]}},
        "loads": {"lamp": {"when": "night", "draw": {"power": null, "current": {"receive_a": 4.0}}}}
    })));
    plan.battery.capacity_ah = 100.0;
    let mut second = plan.battery.second.unwrap();
    (second.at_hand_share, second.rate_per_h) = (0.5, 0.2);
    plan.battery.second = Some(second);
    let rows = single::run_book(&plan).rows;
    near("charge at 06:00", rows[9].charge_end_share, 0.60, 1e-9);
    near("charge at 11:00", rows[14].charge_end_share, 0.60, 1e-9);
    let fills = at_hand(&plan);
    near("well at hand at 06:00", fills[9], 0.4271, DIGIT);
    near("well at hand at 11:00", fills[14], 0.5364, DIGIT);
    let lowest_v = rows[..10].iter().map(|row| row.lowest_v).fold(f64::INFINITY, f64::min);
    near("lowest volts", lowest_v, 11.903, 1e-3);
    near("served", served_wh(&rows), 490.5, 0.005 * 490.5);
    near("unserved", unserved_wh(&rows), 0.0, 1e-9);
}

/// 2. A generator morning, bulk, then sun.
///
/// 100 Ah, 12 V empty, 14 V full; 2 A of lamp; 30 % at 06:00, the rule starts below 50 % and stops
/// at 57 %. The supply gives 20 A: 18 A into the battery. 57 - 30 = 27 Ah last 1.5 h: stop at 07:30.
/// Volts rise from 12.60 to 13.14, mean 12.87: 20 A x 12.87 V x 1.5 h = 386.1 Wh from the supply. At
/// 80 % these are 482.6 Wh at the plug, with 10 W of its own 15 Wh, with a kettle of 100 W 150 Wh:
/// 647.6 Wh in all.
/// Fuel: 0.3 l/h a rated kW x 1 kW x 1.5 h = 0.45 l, and 0.5 l/kWh x 0.6476 kWh = 0.3238 l: 0.7738 l.
/// 07:30 to 08:00: 2 A x 0.5 h = 1 Ah out: 56 %, above the rule. Sun from 08:00: 10 A, 8 A into the
/// battery, to 10:00 16 Ah: 72 %. Volts from 13.12 to 13.44, mean 13.28: 10 A x 13.28 V x 2 h =
/// 265.6 Wh of sun.
#[test]
fn a_generator_morning_then_sun() {
    let light: Vec<f64> = (0..24).map(|hour| if hour < 8 { 0.0 } else { 1.0 }).collect();
    let plan = plan_of(&straight(
        12.0,
        14.0,
        2.0,
        &json!({
            "span": {"start": "2026-06-01T06:00", "hours": 4}, "start": {"charge_share": 0.3},
            "sun": {"profile": {"rated_share": light}},
            "arrays": {"a": {"rated_w": 1000.0}},
            "controllers": {"a": {"mppt": {"output_limit_a": 10.0, "set_points": {"absorption_v": 14.4}}}},
            "grid": "none", "strategy": "it", "strategies": {"it": {"supply": "always"}},
            "supply": {"rated_v": 14.4, "limit_a": 20.0, "efficiency_share": 0.8, "no_load_w": 10.0,
                "joins": "bus"},
            "generator": {"rated_w": 1000.0, "fuel_l": 5.0, "other_w": 100.0,
                "fuel_line": {"per_rated_kw_l_h": 0.3, "per_kwh_l": 0.5},
                "rule": {"start_below_share": 0.5, "stop_above_share": 0.57}}
        }),
    ));
    let rows = single::run_book(&plan).rows;
    near("charge at 07:00", rows[0].charge_end_share, 0.48, 1e-9);
    near("charge at 08:00", rows[1].charge_end_share, 0.56, 1e-9);
    near("charge at 10:00", rows[3].charge_end_share, 0.72, 1e-9);
    near("engine hours", rows.iter().map(|row| row.generator_h).sum(), 1.5, 1e-9);
    near("from the generator", used_wh(&rows, 2), 386.1, 1e-6);
    near("fuel", rows.iter().map(|row| row.fuel_l).sum(), 0.7738, DIGIT);
    near("from the sun", used_wh(&rows, 0), 265.6, 1e-6);
    // The lamp: 2 A at 12.87 V for 1.5 h, 13.13 V for 0.5 h, 13.28 V for 2 h: 38.61 + 13.13 + 53.12.
    near("served", served_wh(&rows), 104.86, 1e-6);
}

/// 3. A supply below the battery's own volts.
///
/// 100 Ah, 12.4 V empty, 13.6 V full, at 90 %: 13.48 V. A supply held at 13.2 V stands beside it,
/// 5 A of lamp. The battery carries it alone until it has fallen to 13.2 V, at (13.2 - 12.4) / 1.2 =
/// 66.67 %: 23.33 Ah, 4 h 40 min. From then on the supply carries it: 5 A x 13.2 V = 66 W, in the
/// 1 h 20 min to the sixth hour 88 Wh. Served: 5 A x 13.34 V x 4.6667 h = 311.27 Wh, and 88: 399.27 Wh.
///
/// A load of 12 A from then on would ask the battery for 2 A beyond the supply's 10: tried in the
/// seventh hour: 2 Ah, 64.67 %, and the supply's 10 A at the mean of 13.200 and 13.176 V: 131.88 Wh.
#[test]
fn a_supply_below_the_batterys_own_volts() {
    let plan = plan_of(&straight(
        12.4,
        13.6,
        5.0,
        &json!({
            "span": {"hours": 7}, "start": {"charge_share": 0.9},
            "windows": {"seventh": {"from": "06:00", "to": "07:00"}},
            "grid": "always", "strategy": "it", "strategies": {"it": {"supply": "always"}},
            "supply": {"rated_v": 13.2, "limit_a": 10.0, "efficiency_share": 0.88, "joins": "bus"},
            "loads": {"heater": {"group": "all", "when": "seventh",
                "draw": {"current": {"receive_a": 7.0}}}},
            "tiers": [{"name": "on", "loads": {"lamp": {}, "heater": {}}}]
        }),
    ));
    let rows = single::run_book(&plan).rows;
    near("charge after 4 h", rows[3].charge_end_share, 0.70, 1e-9);
    near("charge after 5 h", rows[4].charge_end_share, 2.0 / 3.0, 1e-9);
    near("charge after 6 h", rows[5].charge_end_share, 2.0 / 3.0, 1e-9);
    near("supply in the first 4 h", used_wh(&rows[..4], 1), 0.0, 1e-9);
    near("supply in the fifth hour", used_wh(&rows[4..5], 1), 22.0, 1e-6);
    near("supply in 6 h", used_wh(&rows[..6], 1), 88.0, 1e-6);
    near("served in 6 h", served_wh(&rows[..6]), 399.27, 5e-3);
    near("charge after 7 h", rows[6].charge_end_share, 2.0 / 3.0 - 0.02, 1e-9);
    near("supply in the seventh hour", used_wh(&rows[6..], 1), 131.88, 1e-6);
}

/// 4. A latched disconnect that waits for a visit.
///
/// 100 Ah, 12 V empty, 14 V full, at 35 %; 10 A of lamp. The disconnect opens at 12.4 V, which is
/// 20 %: 15 Ah, 01:30. Sun from 06:00, 8 A. It would close by itself at 12.6 V, 30 %: 10 Ah of sun,
/// 07:15. But it waits for a hand, and somebody is there from 10:00 on: by then 4 h x 8 A = 32 Ah,
/// 52 %. Off for 8.5 h: 10 A x 13 V (nominal) x 8.5 h = 1105 Wh unserved. From 10:00 on 8 - 10 =
/// -2 A, to noon 4 Ah: 48 %. By itself: off for 5.75 h, 747.5 Wh; then -2 A from 30 % and 07:15 on,
/// 4.75 h to noon, 9.5 Ah: 20.5 %, just above the disconnect.
#[test]
fn a_latched_disconnect_waits_for_a_visit() {
    let light: Vec<f64> = (0..24).map(|hour| if hour < 6 { 0.0 } else { 1.0 }).collect();
    let station = |closes: &str| {
        straight(
            12.0,
            14.0,
            10.0,
            &json!({
                "span": {"hours": 12}, "start": {"charge_share": 0.35},
                "sun": {"profile": {"rated_share": light}},
                "arrays": {"a": {"rated_w": 1000.0}},
                "controllers": {"a": {"mppt": {"output_limit_a": 8.0, "set_points": {"absorption_v": 14.4}}}},
                "windows": {"visit": {"from": "10:00", "to": "13:00"}}, "attended": {"in": "visit"},
                "disconnect": {"disconnect_v": 12.4, "reconnect_v": 12.6, "reconnects": closes}
            }),
        )
    };
    let rows = single::run_book(&plan_of(&station("by_hand"))).rows;
    near("charge at 02:00", rows[1].charge_end_share, 0.20, WIRE);
    near("open in the second hour", rows[1].open_h, 0.5, WIRE);
    near("charge at 10:00", rows[9].charge_end_share, 0.52, WIRE);
    near("open", rows.iter().map(|row| row.open_h).sum(), 8.5, WIRE);
    near("unserved", unserved_wh(&rows), 1105.0, 130.0 * WIRE);
    near("charge at noon", rows[11].charge_end_share, 0.48, WIRE);

    let rows = single::run_book(&plan_of(&station("by_itself"))).rows;
    near("open, by itself", rows.iter().map(|row| row.open_h).sum(), 5.75, WIRE);
    near("unserved, by itself", unserved_wh(&rows), 747.5, 130.0 * WIRE);
    near("charge at noon, by itself", rows[11].charge_end_share, 0.205, WIRE);
}

/// 5. A pack in the cold.
///
/// 50 Ah of lithium cells that halve their distance to the air every hour. 3 deg C at first, air of
/// -5 for four hours, then of +9. At the ends of the hours: -1, -3, -4, -4.5, then (-4.5 + 9) / 2 =
/// 2.25, 5.625, 7.3, 8.2. No charge below 0 until above +3: hours 2 to 6 are barred, the sixth although
/// the cells are above 0 again. A lamp of 1 A; sun of 6 A but in hours 2 and 3.
/// Hour 1: 5 A in, 50 to 60 %. Hours 2, 3: 1 A out each, 56 %. Hours 4 to 6: the sun carries the
/// lamp and charges nothing. Hours 7, 8: 5 A in each, 66 and 76 %.
#[test]
fn a_pack_in_the_cold() {
    let light: Vec<f64> =
        (0..24).map(|hour| if hour == 1 || hour == 2 { 0.0 } else { 1.0 }).collect();
    let mut plan = plan_of(&bench_with(&json!({
        "span": {"hours": 8}, "start": {"charge_share": 0.5},
        "sun": {"profile": {"rated_share": light}},
        "arrays": {"a": {"rated_w": 1000.0}},
        "controllers": {"a": {"mppt": {"output_limit_a": 6.0, "set_points": {"absorption_v": 14.4}}}},
        "battery": {"ideal": null, "lithium_iron_phosphate": {"cells_in_series": 4, "capacity_ah": 50.0,
            "charge_limit_a": 50, "discharge_limit_a": 50, "self_discharge_share_month": 0.0}},
        "loads": {"lamp": {"draw": {"power": null, "current": {"receive_a": 1.0}}}}
    })));
    let lag_h = 1.0 / std::f64::consts::LN_2;
    plan.temperature = TemperaturePlan::follows(lag_h, 0.0, 3.0);
    for (hour, step) in plan.steps.iter_mut().enumerate() {
        step.air_c = if hour < 4 { -5.0 } else { 9.0 };
    }
    let rows = single::run_book(&plan).rows;
    let cells = [3.0, -1.0, -3.0, -4.0, -4.5, 2.25, 5.625, 7.3125];
    let charge = [0.60, 0.58, 0.56, 0.56, 0.56, 0.56, 0.66, 0.76];
    for (hour, row) in rows.iter().enumerate() {
        near("cells at the beginning", row.battery_c, cells[hour], 1e-9);
        near("charge at the end", row.charge_end_share, charge[hour], 1e-9);
        assert_eq!(row.too_cold_to_charge, (1..=5).contains(&hour), "hour {hour}");
        near("unserved", row.groups[0].unserved_wh, 0.0, 1e-9);
        let from_sun = hour != 1 && hour != 2;
        assert_eq!(row.discharged_ah > 0.5, !from_sun, "hour {hour}");
    }
}
