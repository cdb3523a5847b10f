//! Every intermediate figure of `worksheet_cases.json`.
//!
//! Own examples of the order of operations of IEEE 1013/1562 practice, from memory (standing in the
//! file): the arithmetic is exact, so figures must agree to rounding, 1e-12 of each.

use longwatch::decide::hand_method::steps::{
    ArrayInputs, BankInputs, LoadLine, TEMPERATURE_MULTIPLIERS, capacity, temperature_multiplier,
};
use longwatch::decide::hand_method::{Worksheet, steps, worksheet_of};
use serde_json::Value;

use super::support::{reached, text};

fn cases() -> Value {
    serde_json::from_str(&text("tests/reference/risk/worksheet_cases.json")).unwrap()
}

fn case(id: &str) -> Value {
    let all = cases();
    all["cases"].as_array().unwrap().iter().find(|it| it["id"] == id).unwrap().clone()
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("{key}"))
}

/// Compares every figure that the case states, and says that there are so many.
fn all_agree(case: &Value, ours: &[(&str, f64)]) {
    let stated = case["steps"].as_object().unwrap();
    assert_eq!(stated.len(), ours.len(), "{:?}", stated.keys().collect::<Vec<_>>());
    let mut furthest = 0.0_f64;
    for (key, value) in ours {
        let exact = stated[*key].as_f64().unwrap();
        println!("{key}: {value} exact {exact}");
        assert!((value - exact).abs() <= 1e-12 * exact.abs(), "{key}: {value} {exact}");
        furthest = furthest.max((value - exact).abs() / exact.abs().max(1e-300));
    }
    let quantity = format!("steps of {}", case["id"].as_str().unwrap());
    let source = "Own worksheets in the order of IEEE 1013/1562 practice (from memory)";
    reached("size", source, &quantity, ours.len(), furthest, 1e-12, "of it");
}

fn bank(inputs: &Value) -> BankInputs {
    BankInputs {
        autonomy_days: number(inputs, "autonomy_days"),
        max_depth_share: number(inputs, "max_depth_of_discharge"),
        max_daily_depth_share: number(inputs, "max_daily_depth_of_discharge"),
        end_of_life_share: number(inputs, "end_of_life_fraction"),
        temperature_multiplier: number(inputs, "temperature_multiplier"),
        design_margin: number(inputs, "design_margin"),
    }
}

#[test]
fn the_full_flow() {
    let case = case("W3_own_example_full_flow");
    let inputs = &case["inputs"];
    let loads = inputs["loads"].as_array().unwrap().iter().map(|load| LoadLine {
        name: load["name"].as_str().unwrap().to_owned(),
        current_a: number(load, "amps_12V"),
        hours_per_day: number(load, "hours_per_day"),
        at_once: true,
    });
    let window = inputs["window_V"].as_array().unwrap();
    let sheet = Worksheet {
        loads: loads.collect(),
        bank: bank(inputs),
        unit_capacity_ah: number(inputs, "unit_capacity_Ah"),
        window_v: [window[0].as_f64().unwrap(), window[1].as_f64().unwrap()],
        cell_charge_v: number(inputs, "cell_charge_V"),
        array: Some(ArrayInputs {
            array_to_load: number(inputs, "array_to_load"),
            system_loss_share: number(inputs, "system_losses"),
            sun_hours_per_day: number(inputs, "design_month_sun_hours"),
            module_a: number(inputs, "module_Imp_A"),
            module_hot_v: Some(number(inputs, "module_Vmp_hot_V")),
            charge_v: number(inputs, "charge_V"),
        }),
        sources: Vec::new(),
    };
    let found = steps(&sheet).unwrap();
    let (of, bank, array) = (found.capacity, found.bank, found.array.unwrap());
    all_agree(
        &case,
        &[
            ("daily_Ah", of.daily_ah),
            ("unadjusted_Ah", of.unadjusted_ah),
            ("for_mdod_Ah", of.for_max_depth_ah),
            ("for_daily_dod_Ah", of.for_daily_depth_ah),
            ("for_end_of_life_Ah", of.for_end_of_life_ah),
            ("largest_Ah", of.largest_ah),
            ("after_temperature_Ah", of.after_temperature_ah),
            ("after_margin_Ah", of.after_margin_ah),
            ("max_running_A", bank.max_running_a),
            ("functional_hour_rate_h", bank.functional_hour_rate_h),
            ("parallel_strings", f64::from(bank.parallel_strings)),
            ("final_capacity_Ah", bank.final_capacity_ah),
            ("series_cells", f64::from(bank.series_cells)),
            ("min_cell_V", bank.min_cell_v),
            ("final_autonomy_days_at_mdod", bank.final_autonomy_days),
            ("array_A", array.array_a),
            ("modules_parallel", f64::from(array.modules_parallel)),
            ("modules_series", f64::from(array.modules_series)),
            ("realised_array_to_load", array.realised_array_to_load),
            ("days_to_recharge_full_autonomy", array.days_to_recharge.unwrap()),
        ],
    );
}

#[test]
fn whichever_of_the_three_governs() {
    for (id, governs) in [
        ("W4_daily_depth_governs", "for_daily_dod_Ah"),
        ("W5_end_of_life_governs", "for_end_of_life_Ah"),
    ] {
        let case = case(id);
        let of = capacity(number(&case["inputs"], "daily_Ah"), &bank(&case["inputs"]));
        let figures = [
            ("unadjusted_Ah", of.unadjusted_ah),
            ("for_mdod_Ah", of.for_max_depth_ah),
            ("for_daily_dod_Ah", of.for_daily_depth_ah),
            ("for_end_of_life_Ah", of.for_end_of_life_ah),
            ("largest_Ah", of.largest_ah),
            ("after_temperature_Ah", of.after_temperature_ah),
            ("after_margin_Ah", of.after_margin_ah),
        ];
        all_agree(&case, &figures);
        let governing = figures.iter().find(|(key, _)| *key == governs).unwrap().1;
        assert_eq!(governing.to_bits(), of.largest_ah.to_bits());
    }
}

#[test]
fn the_temperature_table_is_that_of_the_worksheets() {
    let all = cases();
    let rows = all["temperature_multiplier_table_lead_acid"].as_array().unwrap();
    assert_eq!(rows.len(), TEMPERATURE_MULTIPLIERS.len());
    for row in rows {
        let (battery_c, multiplier) = (number(row, "C"), number(row, "mult"));
        assert!((temperature_multiplier(battery_c) - multiplier).abs() < 1e-12, "{battery_c}");
    }
    // Straight between two rows, level beyond the last.
    assert!((temperature_multiplier((15.6 + 10.0) / 2.0) - 1.15).abs() < 1e-12);
    assert_eq!((temperature_multiplier(40.0), temperature_multiplier(-30.0)), (1.0, 1.59));
}

/// What the hall puts in: its loads by hand.
#[test]
fn the_worksheet_of_the_hall() {
    let hall: longwatch::scenario::Scenario =
        serde_json::from_str(&text("scenarios/hall-72h.json")).unwrap();
    let sheet = worksheet_of(&hall, std::path::Path::new("scenarios"), Some("roof"), None).unwrap();
    let line = |name: &str| {
        let it = sheet.loads.iter().find(|it| it.name == name).unwrap();
        (it.current_a, it.hours_per_day)
    };
    assert_eq!(line("voice set, receiving"), (0.8, 24.0 * 0.85));
    assert_eq!(line("voice set, transmitting"), (10.5, 24.0 * 0.15));
    // 9 W from 06:00 to 23:00 at 12.8 V.
    let (current_a, hours) = line("lamps");
    assert!((current_a - 9.0 / sheet_volts(&hall)).abs() < 1e-12 && (hours - 17.0).abs() < 1e-9);
    assert_eq!(sheet.bank.autonomy_days, 3.0);
    assert_eq!(sheet.window_v, [12.2, 15.8]);
    assert_eq!(sheet.unit_capacity_ah, 100.0);
    let array = sheet.array.unwrap();
    let kept = 0.98 * 0.98 * 0.98 * 0.97;
    assert!((array.system_loss_share - (1.0 - kept)).abs() < 1e-12);
    assert!((array.module_a - 100.0 * 0.96 / 14.3).abs() < 1e-12);
    // A mean January day of 1.40 kWh/m2 on the level gives more on 60 degrees, not twice as much.
    assert!((1.4..2.8).contains(&array.sun_hours_per_day), "{}", array.sun_hours_per_day);
    // Lead-acid in the cold takes more, lithium does not.
    assert_eq!(sheet.bank.temperature_multiplier, 1.0);
}

fn sheet_volts(scenario: &longwatch::scenario::Scenario) -> f64 {
    longwatch::plan::compile::battery_of(&scenario.battery).nominal_v
}
