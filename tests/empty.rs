//! From an empty battery: whatever the station, the sun and the self-discharge, every number is one
//! that a station can have.

mod shipped;

use std::collections::BTreeMap;
use std::sync::Mutex;

use longwatch::numbers::packed::{plainly, side_by_side};
use longwatch::simulate::ledger::Row;
use longwatch::simulate::single;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use serde_json::{Value, json};

use crate::support::books::check_row;
use crate::support::lanes::Compare;
use crate::support::stations::{Kinds, station};
use crate::support::{bench_with, merge, plan_of, run};

/// A runner whose cases are the same on every machine.
fn runner(cases: u32) -> TestRunner {
    TestRunner::new_with_rng(
        Config { cases, failure_persistence: None, ..Config::default() },
        TestRng::from_seed(RngAlgorithm::ChaCha, &[11; 32]),
    )
}

/// A random station that begins empty or nearly so, under weak sun, with any self-discharge that a
/// scenario may state, in any heat.
fn drained() -> impl Strategy<Value = (Kinds, Value, f64)> {
    let charge = prop_oneof![Just(0.0_f64), 0.0_f64..0.02];
    let sun = prop_oneof![0.0_f64..0.02, 0.0_f64..0.3];
    let month = prop_oneof![Just(0.0_f64), 0.0_f64..0.1, 0.0_f64..0.999];
    (station(), charge, sun, month, -15.0_f64..45.0).prop_map(
        |((kinds, mut value), charge, sun, month, air_c)| {
            let plane: Vec<f64> = (0..24)
                .map(|hour| {
                    let height = std::f64::consts::PI * (f64::from(hour) - 6.0) / 12.0;
                    (900.0 * sun * height.sin()).max(0.0)
                })
                .collect();
            let chemistry = match kinds.battery {
                "ideal" => "ideal",
                kind if kind.starts_with("acid") => "lead_acid",
                _ => "lithium_iron_phosphate",
            };
            merge(
                &mut value,
                &json!({"start": {"charge_share": charge},
                    "sun": {"profile": {"in_plane_w_m2": plane, "air_c": air_c}},
                    "battery": {chemistry: {"self_discharge_share_month": month}}}),
            );
            (kinds, value, charge)
        },
    )
}

/// Charges from 0 to 1, hours within the step, all of it finite. At the lower end the last bit may be
/// rounded; at the upper one a phase of a lead-acid battery is no shorter than a third of a second.
fn possible(row: &Row) -> Result<(), String> {
    let charges = [row.charge_start_share, row.charge_end_share, row.charge_lowest_share];
    if !charges.iter().all(|charge| (-1e-12..=1.0 + 1e-9).contains(charge)) {
        return Err(format!("{}: charges {charges:?}", row.start));
    }
    let hours = [row.no_power_h, row.open_h, row.generator_h, row.first_dark_h.unwrap_or(0.0)];
    if !hours.iter().all(|hours| (0.0..=row.hours + 1e-9).contains(hours)) {
        return Err(format!("{}: hours {hours:?} of {}", row.start, row.hours));
    }
    let others = [row.stored_end_wh, row.mean_v, row.charged_ah, row.discharged_ah];
    if !others.iter().all(|other| other.is_finite() && *other >= -1e-9) {
        return Err(format!("{}: {others:?}", row.start));
    }
    Ok(())
}

#[test]
fn what_begins_empty_stays_possible_on_random_stations() {
    let seen: Mutex<BTreeMap<&str, (usize, usize)>> = Mutex::new(BTreeMap::new());
    runner(1500)
        .run(&drained(), |(kinds, value, _)| {
            let plan = plan_of(&value);
            let book = single::run_book(&plan);
            prop_assert_eq!(book.given_up, 0, "a slice was given up\n{}", value);
            for row in &book.rows {
                possible(row)
                    .and_then(|()| check_row(&plan, row))
                    .map_err(|what| TestCaseError::fail(format!("{what} {kinds:?}\n{value}")))?;
            }
            let empties = book.rows.iter().any(|row| row.charge_end_share <= 0.0);
            let mut seen = seen.lock().unwrap();
            let counts = seen.entry(kinds.battery).or_default();
            *counts = (counts.0 + 1, counts.1 + usize::from(empties));
            Ok(())
        })
        .unwrap_or_else(|e| panic!("{e}"));
    let seen = seen.into_inner().unwrap();
    for (battery, (stations, empty)) in &seen {
        println!("{battery:14} {stations} stations, {empty} empty at the end of a step");
    }
    assert_eq!(seen.len(), 6, "the generator missed a battery");
    assert!(seen.values().all(|(stations, empty)| *stations > 100 && *empty > 20));
}

#[test]
fn what_begins_empty_goes_the_same_way_side_by_side() {
    runner(200)
        .run(&drained(), |(kinds, value, charge)| {
            let plan = plan_of(&value);
            side_by_side(Compare::from_empty(&plan, charge))
                .and_then(|()| plainly(Compare::from_empty(&plan, charge)))
                .map_err(|what| TestCaseError::fail(format!("{what} {kinds:?}\n{value}")))
        })
        .unwrap_or_else(|e| panic!("{e}"));
}

/// By hand: 400 Ah that lose 0.3 a month at 20 deg C lose 400 x 0.3 / 720 = 0.1667 A. Sun that brings
/// 0.1 A leaves an empty battery empty and is lost to the last watt-hour; with 0.3 A the surplus of
/// 0.1333 A is stored, 3.2 Ah in 24 h.
#[test]
fn an_empty_battery_stores_what_it_does_not_lose() {
    let station = |amperes: f64| {
        bench_with(&json!({
            "start": {"charge_share": 0.0},
            "arrays": {"a": {"rated_w": amperes * 12.8}},
            "battery": {"ideal": {"capacity_wh": 400.0 * 12.8, "self_discharge_share_month": 0.3}},
            "loads": {"lamp": {"draw": {"power": {"power_w": 1e-9}}}}
        }))
    };
    let sums = |amperes: f64| {
        let rows = run(&station(amperes)).rows;
        let charged_ah: f64 = rows.iter().map(|row| row.charged_ah).sum();
        let lost_wh: f64 = rows.iter().map(|row| row.losses.self_discharge_wh).sum();
        let end_ah = rows.last().map_or(f64::NAN, |row| row.charge_end_share * 400.0);
        (charged_ah, lost_wh / 12.8, end_ah)
    };
    let near = |(charged, lost, end): (f64, f64, f64), expected: (f64, f64, f64)| {
        let off = (charged - expected.0).abs().max((lost - expected.1).abs());
        assert!(off.max((end - expected.2).abs()) < 1e-6, "{charged} {lost} {end}: {expected:?}");
    };
    near(sums(0.1), (2.4, 2.4, 0.0));
    near(sums(0.3), (7.2, 4.0, 3.2));
}

/// By hand: 0.8 of 400 Ah that lose 0.3 a month at 20 deg C and four times that at 40 deg C lose
/// 0.6667 A: 320 Ah are gone after 480 h, and nothing more is lost after that.
#[test]
fn a_station_that_drains_itself_ends_empty() {
    let value = bench_with(&json!({
        "span": {"hours": 720}, "start": {"charge_share": 0.8},
        "sun": {"profile": {"rated_share": null, "in_plane_w_m2": vec![0.0; 24], "air_c": 40.0}},
        "battery": {"ideal": null, "lithium_iron_phosphate": {"cells_in_series": 4,
            "capacity_ah": 400.0, "self_discharge_share_month": 0.3,
            "charge_limit_a": 100, "discharge_limit_a": 100,
            "temperature": {"follows_air": {"lag_h": 1}}}},
        "loads": {"lamp": {"draw": {"power": {"power_w": 1e-9}}}}
    }));
    let rows = run(&value).rows;
    for row in &rows {
        possible(row).unwrap_or_else(|what| panic!("{what}"));
    }
    let at = |hour: usize| rows[hour - 1].charge_end_share;
    // The battery begins as warm as the air.
    assert!((at(240) - 0.4).abs() < 2e-3, "{}", at(240));
    assert!(at(479) > 0.0 && at(483) <= 0.0, "{} {}", at(479), at(483));
    assert!(at(720) <= 0.0);
}
