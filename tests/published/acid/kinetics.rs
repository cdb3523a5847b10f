//! The two wells through time: constant currents and lifetimes.

use longwatch::numbers::lane::Single;
use longwatch::plan::Plan;
use longwatch::simulate::single;
use longwatch::simulate::state::State;
use longwatch::simulate::step::run_slice;
use longwatch::station::battery::acid::Wells;
use longwatch::station::battery::one_well::bound_fill;
use serde_json::json;

use super::{NoBook, Row, example, float, number, rows};
use crate::support::{bench_with, plan_of, reached};

const CASES: &str = "tests/reference/battery/kibam_reference_cases.csv";
const SOURCE: &str = "Manwell & McGowan, Solar Energy 50 (1993) 399, integrated by DOP853 to 1e-12";

fn wells_of(row: &Row) -> Wells {
    Wells {
        at_hand_share: number(row, "c"),
        rate_per_h: number(row, "k_per_h"),
        all_ah: number(row, "qmax_Ah"),
    }
}

fn start_of(row: &Row) -> (f64, f64) {
    (number(row, "q1_0"), number(row, "q2_0"))
}

/// All 270 cases, 83 of which leave 0..full and test the formula alone. The table is printed with
/// nine decimals of an ampere-hour, 5e-12 of its smallest capacity: 1e-9 is far above.
#[test]
fn wells_follow_the_kinetic_model() {
    let rows = rows(CASES);
    let mut worst = 0.0_f64;
    for row in &rows {
        let wells = wells_of(row);
        let (q1, q2) = wells.after(start_of(row), number(row, "I_A"), number(row, "dt_h"));
        let off = (q1 - number(row, "q1")).abs().max((q2 - number(row, "q2")).abs());
        worst = worst.max(off / wells.all_ah);
    }
    assert_eq!(rows.len(), 270);
    reached("acid", SOURCE, "both wells after a steady current", 270, worst, 1e-9, "of capacity");
}

/// The current that just empties the well at hand, and the one that just fills it: same source.
#[test]
fn limiting_currents_empty_and_fill_the_well_at_hand() {
    let rows = rows(CASES);
    let mut worst = 0.0_f64;
    for row in &rows {
        let wells = wells_of(row);
        let hours = number(row, "dt_h");
        let (empty, _) = wells.after(start_of(row), number(row, "I_dmax_A"), hours);
        // The table counts charging currents upwards.
        let (full, _) = wells.after(start_of(row), -number(row, "I_cmax_A"), hours);
        let full_ah = wells.at_hand_share * wells.all_ah;
        worst = worst.max(empty.abs().max((full - full_ah).abs()) / wells.all_ah);
    }
    let what = "well at hand at its limiting currents";
    reached("acid", SOURCE, what, 2 * rows.len(), worst, 1e-9, "of capacity");
}

/// A station with these wells, loads of a steady current, or a source of one; no losses, nothing
/// that could stop it.
fn bench_of(row: &Row) -> Plan {
    let current_a = number(row, "I_A");
    let (load_a, source_a) = (current_a.max(0.0), (-current_a).max(0.0));
    let light = if source_a > 0.0 { 1.0 } else { 0.0 };
    let hours = number(row, "dt_h").ceil() as u32;
    let mut plan = plan_of(&bench_with(&json!({
        "span": {"hours": hours, "step_min": 15}, "start": {"charge_share": 0.5},
        "sun": {"profile": {"rated_share": vec![light; 24]}},
        "arrays": {"a": {"rated_w": 1e9}},
        "controllers": {"a": {"mppt": {"output_limit_a": source_a.max(1e-3),
            "set_points": {"absorption_v": 1e4}}}},
        "battery": {"ideal": null, "lead_acid": {"kind": "agm", "cells_in_series": 6,
            "capacities": [{"discharge_h": 20.0, "capacity_ah": 100.0},
                {"discharge_h": 1.0, "capacity_ah": 58.0}],
            "resistance_ohm": 0.001, "rated_absorption_v": 14.4, "charge_efficiency_share": 1.0,
            "full_efficiency_share": 1.0, "self_discharge_share_month": 0.0}},
        "outlet_groups": {"all": {"limit_a": 1000}},
        "loads": {"lamp": {"draw": {"power": null, "current": {"receive_a": load_a}}}}
    })));
    let wells = wells_of(row);
    plan.battery.capacity_ah = wells.all_ah;
    plan.battery.usable_at_c = vec![(20.0, 1.0)];
    let mut second = plan.battery.second.unwrap();
    second.at_hand_share = wells.at_hand_share;
    second.rate_per_h = wells.rate_per_h;
    // Takes anything: the current is the source's.
    second.acceptance_per_h = 1e12;
    plan.battery.second = Some(second);
    plan.battery.board_open_v = 0.0;
    for rung in &mut plan.rungs {
        rung.next_below_v = 0.0;
    }
    plan
}

/// The step does it in phases of five minutes and its own exponential: the same cases, those that
/// stay within empty and full from beginning to end (a straight current leaves neither between).
#[test]
fn the_step_follows_the_kinetic_model() {
    let rows = rows(CASES);
    let (mut worst, mut cases, mut charging) = (0.0_f64, 0, 0);
    for row in &rows {
        let wells = wells_of(row);
        let c = wells.at_hand_share;
        let within = |q1: f64, q2: f64| {
            let (h1, h2) = (q1 / (c * wells.all_ah), q2 / ((1.0 - c) * wells.all_ah));
            let inside = 1e-6..=1.0 - 1e-6;
            inside.contains(&h1) && inside.contains(&(c * h1 + (1.0 - c) * h2))
        };
        let (start, end) = (start_of(row), (number(row, "q1"), number(row, "q2")));
        // From full the discharge begins on the very rim.
        let full = start.0 + start.1 > wells.all_ah * (1.0 - 1e-9);
        let from_full = full && number(row, "I_A") > 0.0;
        if !(within(start.0, start.1) || from_full) || !within(end.0, end.1) {
            continue;
        }
        let plan = bench_of(row);
        let mut state = State::<f64>::at_start(&plan, Single);
        state.charge = (start.0 + start.1) / wells.all_ah;
        state.at_hand = start.0 / (c * wells.all_ah);
        let mut left_h = number(row, "dt_h");
        for (at, slice) in plan.slices.iter().enumerate() {
            if left_h < 1e-12 {
                break;
            }
            assert!(left_h >= slice.hours - 1e-12, "a slice beyond the case");
            let inputs = single::inputs_of(&plan, slice, at);
            run_slice(&plan, slice, &inputs, &mut state, &mut NoBook);
            left_h -= slice.hours;
        }
        let second = plan.battery.second.unwrap();
        let bound = bound_fill(&second, state.charge, state.at_hand);
        let q1 = c * wells.all_ah * state.at_hand;
        let q2 = (1.0 - c) * wells.all_ah * bound;
        worst = worst.max((q1 - end.0).abs().max((q2 - end.1).abs()) / wells.all_ah);
        cases += 1;
        charging += usize::from(number(row, "I_A") < 0.0);
    }
    println!("{cases} cases, {charging} of them charging");
    assert!(cases > 100 && charging > 10, "{cases} cases, {charging} of them charging");
    reached("acid", SOURCE, "both wells through the step", cases, worst, 1e-9, "of capacity");
}

/// Published lifetimes of a small cell, 91 and 203 minutes (from memory), reproduced by the closed
/// form to two decimals: hence half of the last digit, and for the square wave one half-second more.
#[test]
fn lifetimes_are_the_published_ones() {
    let it = example("kibam_lifetimes");
    let current_a = float(&it, "/inputs/I");
    let wells = Wells {
        at_hand_share: float(&it, "/inputs/c"),
        // k = k'/(c (1 - c)) is the rate at which the fills level out, per second there.
        rate_per_h: float(&it, "/inputs/kprime") * 3600.0,
        all_ah: float(&it, "/inputs/C_As") / 3600.0,
    };
    let off = (wells.lifetime_h(current_a) * 60.0 - float(&it, "/expected/continuous_min")).abs();
    let source = "Jongerden & Haverkort, two-well lifetimes (from memory), closed form";
    reached("acid", source, "lifetime at a steady current", 1, off, 0.005, "min");

    let half_second_h = 0.5 / 3600.0;
    let full = (wells.at_hand_share * wells.all_ah, (1.0 - wells.at_hand_share) * wells.all_ah);
    let (mut now, mut half_seconds) = (full, 0_u32);
    while now.0 > 0.0 && half_seconds < 100_000 {
        let on = half_seconds % 2 == 0;
        now = wells.after(now, if on { current_a } else { 0.0 }, half_second_h);
        half_seconds += 1;
    }
    let minutes = f64::from(half_seconds) / 120.0;
    let off = (minutes - float(&it, "/expected/square_1Hz_50pct_min")).abs();
    reached("acid", source, "lifetime at a square wave of 1 Hz", 1, off, 0.015, "min");
}
