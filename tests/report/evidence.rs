//! Evidence of independence: the figures are those of the odds and of the rules.

use std::path::Path;

use longwatch::decide::independence::{
    HOURS, battery_alone, beside, past_tests::Forecast, reach, stated, without_mains,
};
use longwatch::plan::check::examine;
use longwatch::scenario::Scenario;
use longwatch::scenario::basis::Basis;
use longwatch::scenario::past_tests::Figures;
use longwatch::simulate::trials::Watch;
use serde_json::{Value, json};

use super::common::{as_xml, hall, hall_page, light_hall, page_of_value, root, text_of};

fn read(value: &Value) -> Scenario {
    let examined = examine(&value.to_string(), "test.json", &root().join("scenarios"));
    let problems = examined.problems.render(false);
    examined.scenario.unwrap_or_else(|| panic!("{problems}"))
}

fn lasted(scenario: &Scenario, trials: u64, threads: usize) -> Vec<u64> {
    let folder = root().join("scenarios");
    let reached =
        reach(scenario, &folder, 1, 0..trials, threads, &Watch::default()).unwrap().unwrap();
    assert_eq!(reached.trials, trials);
    assert_eq!(reached.within.len(), HOURS.len());
    reached.within.iter().map(|it| trials - it.failures).collect()
}

/// The hall's own outage begins with the span and lasts 72 hours: up to there its trials are those
/// of `odds`, to the trial.
#[test]
fn the_first_hours_are_those_of_the_odds() {
    let hall = read(&hall());
    let of_report = lasted(&hall, 300, 2);
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .current_dir(root())
        .args([
            "odds",
            "scenarios/hall-72h.json",
            "--trials",
            "300",
            "--json",
            "--no-charts",
            "--out",
        ])
        .arg(tempfile::tempdir().unwrap().path())
        .output()
        .unwrap();
    let odds: Value = serde_json::from_slice(&output.stdout).unwrap();
    let within = odds["on_air_within"].as_array().unwrap();
    let of_odds: Vec<u64> =
        within.iter().map(|it| 300 - it["failures"].as_u64().unwrap()).collect();
    assert_eq!(of_odds.len(), 3);
    assert_eq!(of_report[..3], of_odds[..]);
    assert!(of_report[3] < of_report[2], "a week is not harder than three days: {of_report:?}");
    assert!(of_report.windows(2).all(|pair| pair[1] <= pair[0]));
    assert_eq!(of_report, lasted(&hall, 300, 1), "threads matter");
}

#[test]
fn the_question_is_the_same_for_every_grid() {
    let mut value = light_hall();
    value["grid"] = json!("always");
    let always = without_mains(&read(&value));
    let forced = without_mains(&read(&light_hall()));
    assert_eq!((always.grid.clone(), always.span.hours), (forced.grid, 168));
    value["grid"] = json!("none");
    assert_eq!(serde_json::to_value(without_mains(&read(&value)).grid).unwrap(), json!("none"));
    // Each trial has its own beginning then: nobody can look at the charge as it begins.
    value["shedding"]["decide_at"] = json!(["09:00", "sunset", "23:00"]);
    value["grid"] =
        json!({"outage_at_random": {"from": "2027-01-01", "to": "2027-02-01", "hours": 72}});
    let season = serde_json::to_value(without_mains(&read(&value)).grid).unwrap();
    assert_eq!(season["outage_at_random"]["hours"], json!(168.0));
    assert_eq!(season["outage_at_random"]["to"], json!("2027-02-01"));
}

/// 1280 Wh at 100 % and a steady 20 W: 64 hours by arithmetic.
#[test]
fn the_battery_alone_lasts_what_arithmetic_says() {
    let mut value = hall();
    value["battery"] = json!({"ideal": {
        "capacity_wh": 1280.0, "empty_v": 12.0, "full_v": 12.0, "charge_efficiency_share": 1.0,
        "discharge_efficiency_share": 1.0, "charge_limit_a": 50.0, "self_discharge_share_month": 0.0,
    }});
    for key in [
        "disconnect",
        "main_feed",
        "shedding",
        "snow",
        "supply",
        "warning",
        "storm",
        "sizing",
        "variants",
    ] {
        value.as_object_mut().unwrap().remove(key);
    }
    value["strategies"] = json!({"alone": {"supply": "never"}});
    value["strategy"] = json!("alone");
    value["outlet_groups"] = json!({"house": {"limit_a": 10}});
    value["loads"] = json!({"set": {"group": "house", "draw": {"power": {"power_w": 20}}}});
    value["tiers"] = json!([{"name": "all", "loads": {"set": {}}}]);
    let alone = battery_alone(&read(&value), None).unwrap();
    let hours = alone.stepping_down_h.unwrap();
    assert!((hours - 64.0).abs() < 1e-6, "{hours}");
    assert_eq!(alone.stepping_down_h, alone.top_tier_h);
    // Nothing charged it: more panels change nothing.
    value["arrays"]["roof"]["count"] = json!(40);
    assert_eq!(battery_alone(&read(&value), None).unwrap(), alone);
}

/// Stepping down by rule lasts longer than keeping everything on.
#[test]
fn stepping_down_lasts_longer() {
    let alone = battery_alone(&read(&hall()), None).unwrap();
    let (down, top) = (alone.stepping_down_h.unwrap(), alone.top_tier_h.unwrap());
    assert!(down > 1.5 * top, "{down} {top}");
}

#[test]
fn numbers_come_with_their_basis_guesses_first() {
    let all = stated(&read(&hall()));
    assert!(all.len() >= 4, "{all:?}");
    let rank = |basis: &Basis| match basis {
        Basis::Guess => 0,
        Basis::Datasheet => 1,
        Basis::Measured(_) => 2,
    };
    assert!(all.windows(2).all(|pair| rank(&pair[0].basis) <= rank(&pair[1].basis)), "{all:?}");
    assert!(rank(&all[0].basis) == 0 && rank(&all[all.len() - 1].basis) == 2);
    let rated = all.iter().find(|it| it.path == "arrays.roof.rated_w").unwrap();
    assert_eq!((rated.value.as_str(), rated.unit), ("100", "W"));
    let xml = as_xml(hall_page());
    let document = roxmltree::Document::parse(&xml).unwrap();
    let rows: Vec<String> =
        document.descendants().filter(|it| it.has_tag_name("tr")).map(text_of).collect();
    let row = "battery.lithium_iron_phosphate.age_capacity_share0.95measured2026-09-12";
    assert!(rows.iter().any(|it| it == row), "{rows:?}");
    // What states no date says so, and has an empty box beside it.
    let undated = all.iter().filter(|it| !matches!(it.basis, Basis::Measured(_))).count();
    assert_eq!(rows.iter().filter(|it| it.ends_with("not dated")).count(), undated);
    assert!(rows.iter().any(|it| it.ends_with("datelooked at on, by")), "{rows:?}");
}

#[test]
fn a_test_stands_beside_the_forecast() {
    let mut value = light_hall();
    value["field_tests"] = json!([
        {"on": "2025-09-13", "what": "Mains off over night", "measured": {"day_wh": 1700}},
        {
            "on": "2026-09-12",
            "what": "Bank drawn down at 10 A",
            "expected": {"capacity_ah": 190},
            "measured": {"capacity_ah": 171, "battery_alone_h": 50},
        },
    ]);
    let scenario = read(&value);
    let told = Figures { capacity_ah: Some(190.0), ..Figures::default() };
    let all = beside(&scenario.field_tests, Forecast(told));
    assert_eq!(all[0].what, "Bank drawn down at 10 A", "the latest first");
    assert_eq!(all[0].lines.len(), 2);
    assert_eq!((all[0].lines[0].measured, all[0].lines[0].forecast), (Some(171.0), Some(190.0)));
    assert_eq!(all[0].lines[1].forecast, None);

    let page = page_of_value(&value);
    let xml = as_xml(&page);
    let document = roxmltree::Document::parse(&xml).unwrap();
    let rows: Vec<String> =
        document.descendants().filter(|it| it.has_tag_name("tr")).map(text_of).collect();
    let of =
        |what: &str| rows.iter().find(|it| it.starts_with(what)).unwrap().replace('\u{a0}', " ");
    // 2 strings of 100 Ah at 95 % are 190 Ah; 171 of them are 90 %.
    assert_eq!(of("Capacity from full"), "Capacity from full to cut-off190 Ah171 Ah190 Ah90 %");
    assert!(of("Energy of the loads").contains("1,700 Wh"));
    assert!(!rows.iter().any(|it| it.contains("Run the whole chain")), "an action that is done");
}

#[test]
fn a_test_that_measured_nothing_is_refused() {
    let mut value = hall();
    value["field_tests"] =
        json!([{"on": "2026-09-12", "what": "Nothing written down", "measured": {}}]);
    let examined = examine(&value.to_string(), "test.json", Path::new(""));
    let text = examined.problems.render(false);
    assert!(text.contains("this test measured nothing"), "{text}");
    assert!(text.contains("`capacity_ah`"), "{text}");
}
