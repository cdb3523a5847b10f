//! What holds on every station: the books close, nothing leaves its bounds, lanes equal the
//! single run to the bit, more of everything never serves less.
#![allow(clippy::items_after_statements)]

use crate::support;
use crate::support::books;
use crate::support::lanes;
use crate::support::stations;

use std::collections::BTreeMap;
use std::sync::Mutex;

use books::{balance_wh, check_row, throughput_wh};
use lanes::Compare;
use longwatch::numbers::packed::{plainly, side_by_side};
use longwatch::simulate::ledger::{Losses, Row, SourceFlows};
use longwatch::simulate::single;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use serde_json::{Value, json};
use stations::{Kinds, station};
use support::{bench_with, merge, plan_of, run};

/// A runner whose cases are the same on every machine.
fn runner(cases: u32) -> TestRunner {
    TestRunner::new_with_rng(
        Config { cases, failure_persistence: None, ..Config::default() },
        TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]),
    )
}

#[test]
fn the_books_close_on_random_stations_of_every_kind() {
    let seen: Mutex<BTreeMap<(&str, &str), usize>> = Mutex::new(BTreeMap::new());
    runner(1500)
        .run(&station(), |(kinds, value)| {
            let plan = plan_of(&value);
            let book = single::run_book(&plan);
            prop_assert_eq!(book.given_up, 0, "a slice was given up\n{}", value);
            for row in &book.rows {
                check_row(&plan, row)
                    .map_err(|what| TestCaseError::fail(format!("{what} {kinds:?}\n{value}")))?;
            }
            count(&mut seen.lock().unwrap(), &kinds);
            Ok(())
        })
        .unwrap_or_else(|e| panic!("{e}"));
    let seen = seen.into_inner().unwrap();
    for ((what, kind), count) in &seen {
        println!("{what:10} {kind:14} {count}");
    }
    // 6 batteries, 4 joinings, 3 draws, 5 strategies, 5 grids, 2 controllers, 2 engines.
    assert_eq!(seen.len(), 27, "the generator missed a kind");
    assert!(seen.values().all(|count| *count > 100));
}

fn count(seen: &mut BTreeMap<(&'static str, &'static str), usize>, kinds: &Kinds) {
    for key in [
        ("battery", kinds.battery),
        ("joins", kinds.joins),
        ("draw", kinds.draw),
        ("strategy", kinds.strategy),
        ("grid", kinds.grid),
        ("controller", kinds.controller),
        ("engine", kinds.engine),
    ] {
        *seen.entry(key).or_insert(0) += 1;
    }
}

/// The closure above would notice any loss that is off by a hundredth.
#[test]
fn a_loss_that_is_off_by_a_hundredth_opens_the_books() {
    let mut rows = run(&hard_station()).rows;
    let ideal = bench_with(&json!({
        "start": {"charge_share": 0.2},
        "sun": {"profile": {"rated_share": vec![0.5; 24]}},
        "battery": {"ideal": {"capacity_wh": 600.0, "empty_v": 11.5, "full_v": 13.5,
            "charge_efficiency_share": 0.9, "discharge_efficiency_share": 0.9}}
    }));
    rows.extend(run(&ideal).rows);
    let mut acid = hard_station();
    merge(
        &mut acid,
        &json!({"battery": {"lithium_iron_phosphate": null, "lead_acid": {"kind": "agm",
        "cells_in_series": 6, "capacities": [{"discharge_h": 20.0, "capacity_ah": 100.0},
        {"discharge_h": 1.0, "capacity_ah": 58.0}], "resistance_ohm": 0.008, "rated_absorption_v": 14.4}}}),
    );
    rows.extend(run(&acid).rows);
    merge(&mut acid, &passed_and_driven());
    rows.extend(run(&acid).rows);
    type Part = fn(&mut Losses) -> &mut f64;
    let parts: [(&str, Part); 7] = [
        ("wiring", |it| &mut it.wiring_wh),
        ("resistance", |it| &mut it.battery_resistance_wh),
        ("hysteresis", |it| &mut it.battery_hysteresis_wh),
        ("lag", |it| &mut it.battery_lag_wh),
        ("conversion", |it| &mut it.battery_conversion_wh),
        ("flow between wells", |it| &mut it.battery_flow_wh),
        ("self-discharge", |it| &mut it.self_discharge_wh),
    ];
    for (name, part) in parts {
        let caught = rows
            .iter()
            .filter(|row| {
                let mut losses = row.losses;
                *part(&mut losses) *= 1.01;
                balance_wh(row, &losses).abs() > 1e-9 * (throughput_wh(row) + 1.0)
            })
            .count();
        assert!(caught > 5, "{name}: one hundredth more is noticed in {caught} rows only");
    }
}

/// The columns of every controller add up to what its arrays had: one hundredth more of any is
/// noticed. The fuel line is checked from outside, in `published_acid`.
#[test]
fn a_column_that_is_off_by_a_hundredth_does_not_add_up() {
    let mut station = hard_station();
    merge(&mut station, &json!({"arrays": {"a": {"rated_w": 600.0}}}));
    let tracked = run(&station).rows;
    merge(&mut station, &passed_and_driven());
    let passed = run(&station).rows;
    type Part = fn(&mut SourceFlows) -> &mut f64;
    let parts: [(&str, &[Row], Part); 8] = [
        ("used, tracking", &tracked, |it| &mut it.used_wh),
        ("conversion, tracking", &tracked, |it| &mut it.conversion_loss_wh),
        ("clipped, tracking", &tracked, |it| &mut it.clipped_wh),
        ("curtailed, tracking", &tracked, |it| &mut it.curtailed_wh),
        ("conversion, switching", &passed, |it| &mut it.conversion_loss_wh),
        ("operating point, switching", &passed, |it| &mut it.operating_point_loss_wh),
        ("clipped, switching", &passed, |it| &mut it.clipped_wh),
        ("curtailed, switching", &passed, |it| &mut it.curtailed_wh),
    ];
    for (name, rows, part) in parts {
        let off = |flows: &SourceFlows| {
            (flows.used_wh
                + flows.conversion_loss_wh
                + flows.operating_point_loss_wh
                + flows.clipped_wh
                + flows.curtailed_wh
                - flows.available_wh)
                .abs()
                > 1e-9 * (flows.available_wh + 1.0)
        };
        assert!(!rows.iter().any(|row| off(&row.sources[0])), "{name}: does not add up");
        let caught = rows
            .iter()
            .filter(|row| {
                let mut flows = row.sources[0];
                *part(&mut flows) *= 1.01;
                off(&flows)
            })
            .count();
        assert!(caught > 3, "{name}: one hundredth more is noticed in {caught} rows only");
    }
}

/// Puts a switching controller and an engine on the hard station.
fn passed_and_driven() -> Value {
    json!({
        "arrays": {"a": {"datasheet": {"isc_a": 36.0, "imp_a": 33.3, "vmp_v": 18.0, "voc_v": 22.0}}},
        "controllers": {"a": {"mppt": null, "pwm": {"output_limit_a": 15.0, "standby_w": 0.3,
            "set_points": {"absorption_v": 14.2, "float_v": 13.5, "tail_a": 2.0}}}},
        "grid": "none", "strategy": "it", "strategies": {"it": {"supply": "always"}},
        "supply": {"rated_v": 14.0, "limit_a": 20.0, "efficiency_share": 0.88, "joins": "bus"},
        "generator": {"rated_w": 500.0, "fuel_l": 10.0,
            "fuel_line": {"per_rated_kw_l_h": 0.28, "per_kwh_l": 0.4},
            "rule": {"start_below_share": 0.5, "stop_above_share": 0.8}}
    })
}

/// Three days with everything: two controllers, keying, wires, an outage, cycling.
fn hard_station() -> Value {
    let plane: Vec<f64> =
        (0..24_i32).map(|hour| f64::from((8 - (hour - 12).abs()).max(0)) * 100.0).collect();
    bench_with(&json!({
        "span": {"hours": 72}, "start": {"charge_share": 0.6},
        "sun": {"profile": {"rated_share": null, "in_plane_w_m2": plane, "air_c": 25.0}},
        "arrays": {"a": {"rated_w": 300.0}},
        "controllers": {"a": {"mppt": {"efficiency_share": 0.96, "output_limit_a": 15.0, "standby_w": 0.5,
            "set_points": {"absorption_v": 14.2, "float_v": 13.5, "tail_a": 2.0}}}},
        "battery": {"ideal": null, "lithium_iron_phosphate": {"cells_in_series": 4, "capacity_ah": 60.0,
            "charge_limit_a": 50, "discharge_limit_a": 60}},
        "disconnect": {"disconnect_v": 11.8, "reconnect_v": 12.9},
        "outlet_groups": {"all": {"wire": {"mm2": 4.0, "one_way_m": 3.0, "connectors": 2}}},
        "main_feed": {"wire": {"mm2": 16.0, "one_way_m": 1.0}},
        "loads": {"lamp": {"draw": {"power": {"power_w": 20}}},
            "set": {"group": "all", "transmit_share": 0.15, "window_v": [11.0, 16.0],
                "draw": {"current": {"receive_a": 1.0, "transmit_a": 15.0}}}},
        "tiers": [{"name": "on", "loads": {"lamp": {}, "set": {}}}]
    }))
}

#[test]
fn lanes_equal_the_single_run_to_the_bit() {
    runner(200)
        .run(&station(), |(kinds, value)| {
            let plan = plan_of(&value);
            side_by_side(Compare::spread(&plan))
                .and_then(|()| plainly(Compare::spread(&plan)))
                .map_err(|what| TestCaseError::fail(format!("{what} {kinds:?}\n{value}")))
        })
        .unwrap_or_else(|e| panic!("{e}"));
}

/// Where no rule reads charge, volts or tail current, more panel, more battery or less load never
/// leaves more unserved.
#[test]
fn more_never_serves_less() {
    let unserved = |kind: usize, panels_w: f64, capacity_wh: f64, load_w: f64| -> f64 {
        let plane: Vec<f64> =
            (0..24_i32).map(|hour| f64::from((6 - (hour - 12).abs()).max(0)) * 150.0).collect();
        let mut value = bench_with(&json!({
            "span": {"hours": 96}, "start": {"charge_share": 0.5},
            "sun": {"profile": {"rated_share": null, "in_plane_w_m2": plane}},
            "arrays": {"a": {"rated_w": panels_w}},
            "battery": {"ideal": {"capacity_wh": capacity_wh, "empty_v": 12.0, "full_v": 13.4,
                "charge_efficiency_share": 0.95}},
            "loads": {"lamp": {"draw": {"power": {"power_w": load_w}}}}
        }));
        if kind == 1 {
            merge(
                &mut value,
                &json!({"arrays": {"a": {"datasheet": {"isc_a": panels_w / 16.7,
                "imp_a": panels_w / 18.0, "vmp_v": 18.0, "voc_v": 22.0}}},
                "controllers": {"a": {"mppt": null, "pwm": {"output_limit_a": 1000.0,
                    "set_points": {"absorption_v": 14.0}}}}}),
            );
        }
        if kind == 2 {
            // An engine that runs in the evening whatever the charge.
            merge(
                &mut value,
                &json!({"grid": "none", "strategy": "it",
                "strategies": {"it": {"supply": "always"}},
                "windows": {"evening": {"from": "18:00", "to": "22:00"}},
                "supply": {"rated_v": 14.0, "limit_a": 4.0, "efficiency_share": 0.88, "joins": "bus"},
                "generator": {"rated_w": 1000.0, "fuel_l": 1e6, "allowed": "evening",
                    "fuel_line": {"per_rated_kw_l_h": 0.28, "per_kwh_l": 0.4},
                    "rule": {"start_below_share": 2.0, "stop_above_share": 3.0}}}),
            );
        }
        run(&value).rows.iter().flat_map(|row| &row.groups).map(|group| group.unserved_wh).sum()
    };
    let strategy = (0_usize..3, 20.0_f64..400.0, 50.0_f64..2000.0, 2.0_f64..60.0, 1.01_f64..1.5);
    runner(300)
        .run(&strategy, |(kind, panels_w, capacity_wh, load_w, more)| {
            let base = unserved(kind, panels_w, capacity_wh, load_w);
            prop_assert!(unserved(kind, panels_w * more, capacity_wh, load_w) <= base + 1e-9);
            // A switching controller passes amperes: at the lower volts of a bigger battery they are
            // fewer watts.
            if kind != 1 {
                prop_assert!(unserved(kind, panels_w, capacity_wh * more, load_w) <= base + 1e-9);
            }
            prop_assert!(unserved(kind, panels_w, capacity_wh, load_w / more) <= base + 1e-9);
            Ok(())
        })
        .unwrap_or_else(|e| panic!("{e}"));
}

/// A lead-acid battery that no latch takes off the bus: more panel or less load never leaves it
/// lower, at no hour; a bigger one never holds fewer ampere-hours. The rim is the rounding of the
/// five-minute phases.
#[test]
fn more_never_leaves_a_lead_acid_battery_lower() {
    let charge_ah = |switching: bool, panels_w: f64, capacity_ah: f64, load_w: f64| -> Vec<f64> {
        let plane: Vec<f64> =
            (0..24_i32).map(|hour| f64::from((6 - (hour - 12).abs()).max(0)) * 150.0).collect();
        let mut value = bench_with(&json!({
            "span": {"hours": 48}, "start": {"charge_share": 0.7},
            "sun": {"profile": {"rated_share": null, "in_plane_w_m2": plane}},
            "arrays": {"a": {"rated_w": panels_w}},
            "controllers": {"a": {"mppt": {"set_points": {"absorption_v": 14.4}}}},
            "battery": {"ideal": null, "lead_acid": {"kind": "agm", "cells_in_series": 6,
                "capacities": [{"discharge_h": 20.0, "capacity_ah": capacity_ah},
                    {"discharge_h": 1.0, "capacity_ah": 0.58 * capacity_ah}],
                "resistance_ohm": 0.6 / capacity_ah, "rated_absorption_v": 14.4}},
            "loads": {"lamp": {"draw": {"power": {"power_w": load_w}}}}
        }));
        if switching {
            merge(
                &mut value,
                &json!({"arrays": {"a": {"datasheet": {"isc_a": panels_w / 16.7,
                "imp_a": panels_w / 18.0, "vmp_v": 18.0, "voc_v": 22.0}}},
                "controllers": {"a": {"mppt": null, "pwm": {"output_limit_a": 1000.0,
                    "set_points": {"absorption_v": 14.4}}}}}),
            );
        }
        let book = run(&value);
        assert!(book.rows.iter().all(|row| row.open_h == 0.0), "the latch moved");
        let rated_ah = book.heads.capacity_ah;
        book.rows.iter().map(|row| row.charge_end_share * rated_ah).collect()
    };
    let lower = |less: &[f64], more: &[f64]| {
        less.iter().zip(more).map(|(less, more)| less - more).fold(0.0, f64::max)
    };
    let strategy = (any::<bool>(), 50.0_f64..400.0, 60.0_f64..200.0, 2.0_f64..8.0, 1.01_f64..1.5);
    runner(150)
        .run(&strategy, |(switching, panels_w, capacity_ah, load_w, more)| {
            let base = charge_ah(switching, panels_w, capacity_ah, load_w);
            let rim_ah = 1e-4 * capacity_ah;
            let panels = charge_ah(switching, panels_w * more, capacity_ah, load_w);
            prop_assert!(lower(&base, &panels) <= rim_ah, "more panel: {}", lower(&base, &panels));
            let load = charge_ah(switching, panels_w, capacity_ah, load_w / more);
            prop_assert!(lower(&base, &load) <= rim_ah, "less load: {}", lower(&base, &load));
            let bigger = charge_ah(switching, panels_w, capacity_ah * more, load_w);
            prop_assert!(
                lower(&base, &bigger) <= rim_ah,
                "more battery: {}",
                lower(&base, &bigger)
            );
            Ok(())
        })
        .unwrap_or_else(|e| panic!("{e}"));
}
