use super::*;
use crate::cli::{self, Command};
use crate::scenario::battery::Battery;
use crate::scenario::schedule::{Grid, SupplyRule};
use serde_json::Value;

fn asked(flags: &[&str]) -> NewArgs {
    let cli = cli::parse(["longwatch", "new"].iter().chain(flags)).unwrap();
    let Command::New(args) = cli.command else { panic!("not new") };
    args
}

fn made(flags: &[&str]) -> Scenario {
    scenario(&asked(flags)).unwrap()
}

/// Every object with a `basis`, with its JSON path.
fn with_basis(
    value: &Value,
    path: &str,
    found: &mut Vec<(String, serde_json::Map<String, Value>)>,
) {
    if let Value::Object(members) = value {
        if members.contains_key("basis") {
            found.push((path.to_owned(), members.clone()));
        }
        for (key, member) in members {
            with_basis(member, &format!("{path}.{key}"), found);
        }
    }
}

#[test]
fn what_is_written_reads_back_as_the_same_scenario() {
    let cases: [&[&str]; 6] = [
        &[],
        &["--cells", "1"],
        &["--cells", "8", "--panels-w", "730", "--battery-ah", "333"],
        &["--cells", "16", "--no-mains"],
        &["--panels-w", "0", "--hours", "8784", "--latitude", "-80", "--longitude", "180"],
        &[
            "--zone",
            "Asia/Kathmandu",
            "--title",
            "Über \"alles\" \\ – é",
            "--start",
            "2027-06-01T00:00",
        ],
    ];
    for flags in cases {
        let scenario = made(flags);
        let text = text_of(&scenario).unwrap();
        assert_eq!(serde_json::from_str::<Scenario>(&text).unwrap(), scenario, "{flags:?}");
        for line in text.lines().filter(|line| !line.contains("\"notes\"")) {
            assert!(line.chars().count() <= 100, "{line}");
        }
    }
}

#[test]
fn every_number_of_a_part_is_marked_as_a_guess_unless_a_flag_gave_it() {
    let value = serde_json::to_value(made(&["--latitude", "50", "--battery-ah", "100"])).unwrap();
    let mut parts = Vec::new();
    with_basis(&value, "", &mut parts);
    // Site, climate, array, controller, battery, supply, charger, disconnect, two groups, three loads.
    assert_eq!(parts.len(), 13, "{:?}", parts.iter().map(|(path, _)| path).collect::<Vec<_>>());
    // Counts and latitude come from flags, transmitting of what cannot transmit is no number of its own.
    let exempt = ["latitude_deg", "cells_in_series", "strings"];
    for (path, part) in &parts {
        let basis = part["basis"].as_object().unwrap();
        for (field, value) in part {
            let idle = part.get("transmit_share").is_some_and(|share| share == 0.0)
                && ["transmit_share", "transmission_s"].contains(&field.as_str());
            let has_number = value.is_number()
                || value.is_array()
                || value.to_string().contains(|c: char| c.is_ascii_digit());
            if field != "basis"
                && has_number
                && !idle
                && !exempt.contains(&field.as_str())
                && !part_of_its_own(value)
            {
                assert!(basis.contains_key(field), "{path}.{field} is no guess?");
            }
        }
        for field in basis.keys() {
            assert!(part.contains_key(field), "{path}.basis names `{field}`, which is not there");
            // A capacity that came from a flag is a label's at best: it stays a guess.
            assert_ne!(field, "latitude_deg", "{path}.{field} came from a flag");
        }
    }
}

/// Whether a member says itself where its numbers come from.
fn part_of_its_own(value: &Value) -> bool {
    value.get("basis").is_some()
}

#[test]
fn every_name_that_is_used_is_there_and_every_name_is_used() {
    let scenario = made(&[]);
    for load in scenario.loads.values() {
        assert!(scenario.outlet_groups.contains_key(&load.group));
        assert!(load.when.as_ref().is_none_or(|when| scenario.windows.contains_key(when)));
    }
    for tier in &scenario.tiers {
        for (name, load) in &tier.loads {
            assert!(scenario.loads.contains_key(name));
            assert!(load.when.as_ref().is_none_or(|when| scenario.windows.contains_key(when)));
        }
    }
    for array in scenario.arrays.values() {
        assert!(scenario.controllers.contains_key(&array.controller));
    }
    assert!(scenario.strategies.contains_key(&scenario.strategy));
    for window in scenario.windows.keys() {
        let used = scenario.loads.values().any(|load| load.when.as_ref() == Some(window));
        assert!(used, "{window}");
    }
    for window in scenario.windows.values() {
        assert!(crate::clock::TimesOfDay::new(window).is_ok());
    }
}

#[test]
fn every_station_does_the_same_work() {
    // Capacity times rated volts; a single cell feeds a tenth of it.
    for (cells, size) in [("1", 0.1), ("4", 1.0), ("8", 1.0), ("16", 1.0)] {
        let scenario = made(&["--cells", cells]);
        let Battery::LithiumIronPhosphate(battery) = &scenario.battery else {
            panic!("no lithium")
        };
        let stored_wh = battery.capacity_ah.unwrap() * 3.2 * f64::from(battery.cells_in_series);
        assert!((stored_wh - 2560.0 * size).abs() < 1e-9, "{cells}: {stored_wh}");
        let supply = scenario.supply.as_ref().unwrap();
        assert!((supply.rated_v / f64::from(battery.cells_in_series) - 3.45).abs() < 1e-9);
        let set = &scenario.loads["voice set"];
        let [lowest_v, highest_v] = set.window_v.unwrap();
        assert!(
            lowest_v < scenario.disconnect.as_ref().unwrap().disconnect_v
                && supply.rated_v < highest_v
        );
    }
}

#[test]
fn panels_add_up_and_face_the_noon_sun() {
    for watts in ["50", "200", "250", "1000", "730"] {
        let scenario = made(&["--panels-w", watts]);
        let roof = &scenario.arrays["roof"];
        let total_w = roof.rated_w * f64::from(roof.count);
        assert!((total_w - watts.parse::<f64>().unwrap()).abs() < 0.01, "{watts}: {total_w}");
        assert!(roof.rated_w <= 200.0);
    }
    let north = &made(&["--latitude", "45"]).arrays["roof"];
    let south = &made(&["--latitude", "-33"]).arrays["roof"];
    assert_eq!((north.azimuth_deg, north.tilt_deg), (180.0, 60.0));
    assert_eq!((south.azimuth_deg, south.tilt_deg), (0.0, 50.0));
    assert!(made(&["--panels-w", "0"]).arrays.is_empty());
}

#[test]
fn without_a_supply_there_is_no_mains_in_it_at_all() {
    let scenario = made(&["--no-mains"]);
    assert_eq!(scenario.grid, Grid::None);
    assert_eq!((scenario.supply, scenario.strategy.as_str()), (None, "solar only"));
    assert!(scenario.strategies.values().all(|strategy| strategy.supply == SupplyRule::Never));
    assert!(scenario.outlet_groups.values().all(|group| !group.on_supply));
}

#[test]
fn the_clock_follows_the_longitude() {
    for (longitude_deg, offset) in [
        (0.0, "+00:00"),
        (-45.0, "-03:00"),
        (-7.0, "+00:00"),
        (8.5, "+01:00"),
        (180.0, "+12:00"),
        (-180.0, "-12:00"),
    ] {
        assert_eq!(offset_by_longitude(longitude_deg), offset);
        assert!(LocalClock::from_offset_text(&offset_by_longitude(longitude_deg)).is_ok());
    }
}

#[test]
fn a_wrong_zone_or_start_is_a_wrong_command_line() {
    let zone = scenario(&asked(&["--zone", "Europ/Zurich"])).unwrap_err();
    assert_eq!(zone.exit_code(), 2);
    assert!(zone.to_string().contains("did you mean `Europe/Zurich`"), "{zone}");
    let start =
        scenario(&asked(&["--zone", "Europe/Zurich", "--start", "2025-03-30T02:30"])).unwrap_err();
    assert_eq!(start.exit_code(), 2);
    assert!(
        start.to_string().contains("+01:00") && start.to_string().contains("+02:00"),
        "{start}"
    );
}

#[test]
fn a_file_that_is_there_stays_unless_forced() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("hall.json");
    std::fs::write(&path, "mine").unwrap();
    let mut args = asked(&["--title", "Hall"]);
    args.path.clone_from(&path);
    assert_eq!(run(&args).unwrap_err().exit_code(), 2);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "mine");
    args.force = true;
    run(&args).unwrap();
    assert!(std::fs::read_to_string(&path).unwrap().contains("\"title\": \"Hall\""));
}
