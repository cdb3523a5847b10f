//! Hard weather and what stands beside a run: snow, cold cells, a board that waits for a hand, a
//! heater, hands that never come, silence.
//!
//! No published values here: each number is worked by hand from the stated rule.

use crate::support;

use longwatch::show::run_table::pack_table;
use longwatch::simulate::beside::{answer, silence_cost};
use longwatch::simulate::ledger::{Ledger, Row};
use longwatch::simulate::single;
use longwatch::simulate::summary::{full_share, summarise};
use serde_json::{Value, json};
use support::{bench_with, merge, plan_of, run};

fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "{found} against {expected}");
}

fn available_wh(ledger: &Ledger) -> Vec<f64> {
    ledger.rows.iter().map(|row| row.sources[0].available_wh).collect()
}

/// The bench with its panel at 30 degrees under 500 W/m2 at an air temperature.
fn under_snow(air_c: f64, snow: &Value) -> Value {
    bench_with(&json!({
        "sun": {"profile": {"rated_share": null, "in_plane_w_m2": vec![500.0; 24], "air_c": air_c}},
        "arrays": {"a": {"tilt_deg": 30}},
        "snow": snow
    }))
}

#[test]
fn snow_covers_a_panel_until_it_has_slid_off() {
    // 1.97 sin 30 deg tenths an hour: gone after 10 / 0.985 = 10.15 hours, so eleven hours are lost.
    let falls = json!({"falls": [{"at": "2026-06-01T05:00"}]});
    let gives = available_wh(&run(&under_snow(1.0, &falls)));
    let clear = gives[0];
    assert!(clear > 30.0);
    for (hour, given) in gives.iter().enumerate() {
        let expected = if (5..16).contains(&hour) { 0.0 } else { clear };
        near(*given, expected, 1e-9);
    }
    // 500 W/m2 slide it above -6.25 deg C.
    assert_eq!(available_wh(&run(&under_snow(-7.0, &falls)))[23], 0.0);
    assert!(available_wh(&run(&under_snow(-6.0, &falls)))[23] > 0.0);
    // Two rows: the upper one is free once half has slid, after 5.08 hours.
    let mut rows = under_snow(1.0, &falls);
    merge(&mut rows, &json!({"arrays": {"a": {"rows_up_slope": 2}}}));
    let gives = available_wh(&run(&rows));
    near(gives[10], 0.0, 1e-9);
    near(gives[11], clear / 2.0, 1e-9);
    near(gives[16], clear, 1e-9);
}

#[test]
fn somebody_clears_the_snow_in_attended_hours_only() {
    let snow = json!({"falls": [{"at": "2026-06-01T03:00"}], "cleared_after_h": 2});
    let first_free = |attended: Value| {
        let mut value = under_snow(-20.0, &snow);
        let windows = json!({"windows": {"day": {"from": "08:00", "to": "18:00"}}});
        merge(&mut value, &windows);
        value["attended"] = attended;
        let gives = available_wh(&run(&value));
        (3..24).find(|hour| gives[*hour] > 0.0)
    };
    assert_eq!(first_free(json!("always")), Some(5));
    assert_eq!(first_free(json!({"in": "day"})), Some(8));
    assert_eq!(first_free(json!("never")), None);
}

#[test]
fn panels_that_are_not_outside_catch_no_snow() {
    let mut value = under_snow(-20.0, &json!({"falls": [{"at": "2026-06-01T03:00"}]}));
    merge(
        &mut value,
        &json!({"windows": {"day": {"from": "08:00", "to": "18:00"}}, "arrays": {"a": {"deployed": "day"}}}),
    );
    let gives = available_wh(&run(&value));
    assert!(gives[7] == 0.0 && gives[8] > 0.0 && gives[17] > 0.0 && gives[18] == 0.0);
    // Where nobody comes nobody puts them out, and nobody stows them.
    value["attended"] = json!("never");
    assert!(available_wh(&run(&value)).iter().all(|given| *given == 0.0));
    let mut stowed = bench_with(&json!({"windows": {"gale": {"from": "08:00", "to": "18:00"}},
        "arrays": {"a": {"stowed": "gale"}}}));
    assert_eq!(available_wh(&run(&stowed))[9], 0.0);
    stowed["attended"] = json!("never");
    assert!(available_wh(&run(&stowed))[9] > 0.0);
}

/// A 10 Ah battery of four cells that a lamp empties in the night before the sun rises at 12:00.
fn night(patch: &Value) -> Value {
    let plane: Vec<f64> = (0..24).map(|hour| if hour < 12 { 0.0 } else { 900.0 }).collect();
    let mut value = bench_with(&json!({
        "span": {"hours": 48},
        "start": {"charge_share": 0.5},
        "sun": {"profile": {"rated_share": null, "in_plane_w_m2": plane, "air_c": 15.0}},
        "controllers": {"a": {"mppt": {"standby_w": 0.5}}},
        "loads": {"lamp": {"draw": {"power": {"power_w": 20}}}},
        "battery": {"ideal": null, "lithium_iron_phosphate": {"cells_in_series": 4, "capacity_ah": 10,
            "charge_limit_a": 5, "discharge_limit_a": 20}}
    }));
    merge(&mut value, patch);
    value
}

fn served_wh(row: &Row) -> f64 {
    row.groups[0].served_wh
}

#[test]
fn an_empty_battery_wakes_with_the_sun_or_waits_for_a_hand() {
    let by_charging = run(&night(&json!({})));
    let hand = json!({"battery": {"lithium_iron_phosphate": {"cutoff_reset": "by_hand"}},
        "windows": {"visit": {"from": "15:00", "to": "16:00"}}});
    let mut visited = night(&hand);
    visited["attended"] = json!({"in": "visit"});
    let mut alone = night(&hand);
    alone["attended"] = json!("never");
    let (visited, alone) = (run(&visited), run(&alone));
    for ledger in [&by_charging, &visited, &alone] {
        // By hand: 1.6 A lag 0.016 of the charge behind, so the board opens at 0.022; 4.78 Ah at a
        // mean of 12.85 V at rest less 0.18 V, and 20 of 20.5 W go to the lamp: 59 Wh. Then it is
        // dark until noon.
        near(ledger.rows[..12].iter().map(served_wh).sum(), 59.0, 1.0);
        assert!(ledger.rows[5..12].iter().all(|row| row.open_h == row.hours));
        // Nothing gives what controllers want once the board is open and the cells are empty.
        near(ledger.rows[11].standby_wh, 0.0, 1e-12);
        assert_eq!(ledger.rows[11].heater_wh, 0.0);
    }
    assert!(served_wh(&by_charging.rows[13]) > 19.9);
    assert!(by_charging.rows[12].charged_ah > 1.0);
    assert!(visited.rows[12..15].iter().all(|row| served_wh(row) == 0.0 && row.charged_ah == 0.0));
    assert!(served_wh(&visited.rows[16]) > 19.9 && visited.rows[16].charged_ah > 1.0);
    assert!(alone.rows[12..].iter().all(|row| served_wh(row) == 0.0 && row.charged_ah == 0.0));
    assert!(alone.rows[13].sources[0].curtailed_wh > 50.0);
}

#[test]
fn a_heater_warms_its_place_and_is_paid_for() {
    let cold = |heater: Value| {
        night(&json!({
            "start": {"charge_share": 1.0},
            "sun": {"profile": {"in_plane_w_m2": vec![0.0; 24], "air_c": -10.0}},
            "loads": {"lamp": {"draw": {"power": {"power_w": 0}}}},
            "battery": {"lithium_iron_phosphate": {"heater": heater,
                "temperature": {"follows_air": {"lag_h": 2}}}}
        }))
    };
    let without = run(&cold(json!(null)));
    let heated = run(&cold(json!({"power_w": 2, "on_below_c": 50, "rise_c": 12})));
    near(without.rows[40].battery_c, -10.0, 1e-9);
    // On for good: 12 K above the air after many lags; 2 W besides the controller's half watt.
    near(heated.rows[20].battery_c, 2.0, 1e-3);
    near(heated.rows[20].standby_wh, 0.5, 1e-9);
    near(heated.rows[20].heater_wh, 2.0, 1e-9);
    // After an hour: -10 + 12 (1 - e^(-1/2)).
    near(heated.rows[1].battery_c, -10.0 + 12.0 * (1.0 - (-0.5_f64).exp()), 1e-9);
    // 128 Wh and 2.5 W: empty after two days, and then cold again.
    assert!(heated.rows[47].charge_end_share < 0.12);
    // A thermostat keeps near its point and draws a part of the time.
    let kept = run(&cold(json!({"power_w": 2, "on_below_c": -4, "rise_c": 12})));
    let drawn_wh: f64 = kept.rows[10..34].iter().map(|row| row.heater_wh).sum();
    let mean_c: f64 = kept.rows[10..34].iter().map(|row| row.battery_c).sum::<f64>() / 24.0;
    near(drawn_wh / 48.0, (mean_c + 10.0) / 12.0, 0.06);
    near(mean_c, -4.0, 1.5);
}

#[test]
fn silence_costs_what_the_silenced_source_would_have_given() {
    let quiet = bench_with(&json!({
        "start": {"charge_share": 0.2},
        "sun": {"profile": {"rated_share": vec![0.3; 24]}},
        "windows": {"news": {"minutes": [0, 5]}},
        "controllers": {"a": {"mppt": {"off_in": "news"}}}
    }));
    let plan = plan_of(&quiet);
    let ledger = single::run(&plan);
    let cost = silence_cost(&plan, &ledger).expect("something is silenced");
    // 30 W in five minutes of each of 24 hours: 60 Wh.
    near(cost.charging_wh, 60.0, 1e-9);
    near(cost.without.lowest_charge_share, 0.2, 1e-12);
    // With the lamp at 10 W silence draws the battery down first: 10 W for five minutes of 1280 Wh.
    near(answer(&plan).lowest_charge_share, 0.2 - 10.0 / 12.0 / 1280.0, 1e-9);
    assert_eq!(silence_cost(&plan_of(&bench_with(&json!({}))), &ledger), None);
}

#[test]
fn a_silenced_supply_is_silent_on_the_engine_too() {
    let value = bench_with(&json!({
        "start": {"charge_share": 0.2}, "grid": "none",
        "sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "windows": {"net": {"from": "02:00", "to": "03:00"}},
        "supply": {"rated_v": 13.8, "limit_a": 20, "efficiency_share": 0.9, "no_load_w": 3,
            "joins": "charger_only", "off_in": "net",
            "charger": {"limit_a": 10, "set_points": {"absorption_v": 14.0}}},
        "generator": {"rated_w": 1000, "fuel_l": 20, "other_w": 100,
            "fuel_line": {"per_rated_kw_l_h": 0.1, "per_kwh_l": 0.4},
            "rule": {"start_below_share": 0.3, "stop_above_share": 0.99}}
    }));
    let ledger = run(&value);
    let (loud, silent) = (&ledger.rows[1], &ledger.rows[2]);
    // 10 A at 12.8 V; 0.1 l and 0.4 l/kWh of 128 / 0.9 + 3 + 100 W.
    near(loud.sources[2].used_wh, 128.0, 1e-6);
    near(loud.fuel_l, 0.1 + 0.4e-3 * (128.0 / 0.9 + 103.0), 1e-9);
    near(silent.sources[2].used_wh, 0.0, 1e-12);
    near(silent.generator_h, 1.0, 1e-12);
    near(silent.fuel_l, 0.1 + 0.4e-3 * 100.0, 1e-9);
    near(ledger.rows[3].sources[2].used_wh, 128.0, 1e-6);
}

/// Under a strategy that forbids it the engine stands still, and burns nothing.
#[test]
fn a_strategy_may_keep_the_engine_off() {
    let mut value = bench_with(&json!({
        "start": {"charge_share": 0.2}, "grid": "none",
        "sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "supply": {"rated_v": 13.8, "limit_a": 20, "efficiency_share": 0.9,
            "joins": "charger_only", "charger": {"limit_a": 10, "set_points": {"absorption_v": 14.0}}},
        "generator": {"rated_w": 1000, "fuel_l": 20,
            "fuel_line": {"per_rated_kw_l_h": 0.1, "per_kwh_l": 0.4},
            "rule": {"start_below_share": 0.3, "stop_above_share": 0.99}},
        "strategy": "by rule",
        "strategies": {"by rule": {"supply": "never"}, "quiet": {"supply": "never", "generator": "never"}}
    }));
    let hours = |value: &Value| run(value).rows.iter().map(|row| row.generator_h).sum::<f64>();
    assert!(hours(&value) > 1.0);
    value["strategy"] = json!("quiet");
    assert_eq!(hours(&value), 0.0);
    let ledger = run(&value);
    assert!(ledger.rows.iter().all(|row| row.fuel_l == 0.0 && row.sources[2].used_wh == 0.0));
}

/// A lead-acid battery is full when its current has fallen to the tail: at 2 A per 100 Ah and an
/// acceptance of 0.8 of what is missing an hour that is 1 - 0.02 / 0.8 = 0.975.
///
/// By pencil, from 0.5 at absorption volts, m being what is missing: dm/dt = -0.8 eta m. To m = 0.15
/// eta is 0.97: ln(0.5 / 0.15) / 0.776 = 1.55 h. From there eta = 0.6 + 0.37 m / 0.15, and
/// `1/0.48 ln(m / (0.6 + 2.467 m))` between 0.025 and 0.15 is (3.276 - 1.867) / 0.48 = 2.94 h: 4.49 h.
/// In steps of five minutes the lowest stands at the end of the first, full at the end of the step
/// that reaches it: 4.42 h.
#[test]
fn a_lead_acid_battery_is_full_at_its_tail() {
    let charged = |acceptance: f64| {
        let plan = plan_of(&bench_with(&json!({
            "span": {"hours": 24, "step_min": 5}, "start": {"charge_share": 0.5},
            "sun": {"profile": {"rated_share": vec![1.0; 24]}},
            "arrays": {"a": {"rated_w": 5000.0}},
            "controllers": {"a": {"mppt": {"output_limit_a": 500.0, "set_points": {"absorption_v": 14.4}}}},
            "loads": {"lamp": {"draw": {"power": {"power_w": 0}}}},
            "battery": {"ideal": null, "lead_acid": {"kind": "flooded", "cells_in_series": 6,
                "capacities": [{"discharge_h": 20, "capacity_ah": 100},
                    {"discharge_h": 1, "capacity_ah": 58}],
                "acceptance_share_per_h": acceptance, "temperature": {"fixed_c": 25.0},
                "resistance_ohm": 0.006, "rated_absorption_v": 14.4}}
        })));
        (full_share(&plan), summarise(&plan, &single::run(&plan)).hours_to_full_after)
    };
    let (full, after_h) = charged(0.8);
    near(full.expect("something charges"), 0.975, 1e-12);
    let after_h = after_h.expect("full again");
    near(after_h, 4.42, 0.09); // a step either way: the rest volts move within a phase
    // A slow one is not called full below nine tenths.
    near(charged(0.1).0.expect("something charges"), 0.9, 1e-12);
}

/// Two packs, one measured: 40 + 0.9 x 50 = 85 Ah, by hand.
#[test]
fn a_register_of_packs_is_a_bank() {
    let plan = plan_of(&bench_with(&json!({"battery": {"ideal": null,
        "lithium_iron_phosphate": {"cells_in_series": 4, "age_capacity_share": 0.9,
            "packs": {"A": {"rated_ah": 50, "measured_ah": 40}, "B": {"rated_ah": 50}},
            "charge_limit_a": 10, "discharge_limit_a": 30}}})));
    near(plan.battery.capacity_ah, 85.0, 1e-9);
    near(plan.battery.charge_limit_a, 20.0, 1e-12);
    near(plan.battery.discharge_limit_a, 60.0, 1e-12);
    let summary = summarise(&plan, &single::run(&plan));
    near(summary.packs["A"].counts_ah, 40.0, 1e-12);
    near(summary.packs["B"].counts_ah, 45.0, 1e-12);
    let written = serde_json::to_value(&summary).expect("a summary");
    assert_eq!(
        written["packs"]["A"],
        json!({"rated_ah": 50.0, "measured_ah": 40.0, "counts_ah": 40.0})
    );
    let table = pack_table(&summary).expect("packs").to_string();
    assert!(table.contains("  all         100 Ah      85 Ah"), "{table}");
    // The 20 h capacity of two lead-acid packs of 70 and 80 Ah: a discharge at a twentieth lasts 20 h.
    let acid = json!({"battery": {"ideal": null, "lead_acid": {"kind": "agm", "cells_in_series": 6,
        "capacities": [{"discharge_h": 20, "capacity_ah": 100}, {"discharge_h": 1, "capacity_ah": 58}],
        "packs": {"A": {"rated_ah": 90, "measured_ah": 70}, "B": {"rated_ah": 80}},
        "resistance_ohm": 0.006, "rated_absorption_v": 14.4}}});
    let mut value = bench_with(&acid);
    merge(
        &mut value,
        &json!({"sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "loads": {"lamp": {"draw": {"power": null, "current": {"receive_a": 7.5, "transmit_a": 0}}}}}),
    );
    let ledger = run(&value);
    let served_h: f64 = ledger.rows.iter().map(|row| row.hours - row.open_h).sum();
    near(served_h, 20.0, 0.1);
}
