//! Each thing that the check of a station points out without refusing it.

use std::path::Path;

use longwatch::plan::check::examine;
use longwatch::warning::{Kind, Warning};

use super::faults::changed;

fn warnings(changes: &[(&str, &str)]) -> Vec<Warning> {
    let examined = examine(&changed(changes), "changed.json", Path::new("tests/bad"));
    assert_eq!(examined.problems.list, [], "{}", examined.problems);
    examined.warnings
}

#[track_caller]
fn warned(changes: &[(&str, &str)], kind: Kind, path: &str, said: &str) {
    let found = warnings(changes);
    let expected = Warning { kind, path: path.to_owned(), text: said.to_owned() };
    assert_eq!(found, [expected]);
}

#[test]
fn a_panel_that_faces_the_pole() {
    let facing = |azimuth: &str, tilt: &str| {
        warnings(&[
            (r#""azimuth_deg": 180"#, &format!(r#""azimuth_deg": {azimuth}"#)),
            (r#""tilt_deg": 60"#, &format!(r#""tilt_deg": {tilt}"#)),
        ])
    };
    for (azimuth, tilt, warned) in [
        ("0", "60", true),
        ("60", "21", true),
        ("300", "60", true),
        ("61", "60", false),
        ("299", "60", false),
        ("0", "20", false),
        ("180", "60", false),
    ] {
        let found = facing(azimuth, tilt);
        assert_eq!(found.iter().any(|it| it.kind == Kind::FacesPole), warned, "{azimuth} {tilt}");
    }
    warned(
        &[(r#""azimuth_deg": 180"#, r#""azimuth_deg": 10"#)],
        Kind::FacesPole,
        "arrays.roof.azimuth_deg",
        "The array “roof” faces north; the noon sun stands at azimuth 180 here.",
    );
    // The other half of the earth, and the belt between the tropics.
    let light = (
        "[1.4, 2.3, 3.4, 4.4, 5.2, 5.7, 5.7, 4.9, 3.7, 2.4, 1.5, 1.1]",
        "[4,4,4,4,3,2,2,3,4,4,4,4]",
    );
    let south = [(r#""latitude_deg": 45.0"#, r#""latitude_deg": -35.0"#), light];
    assert_eq!(warnings(&south)[0].kind, Kind::FacesPole);
    let tropics = [(r#""latitude_deg": 45.0"#, r#""latitude_deg": -10.0"#), light];
    assert_eq!(warnings(&tropics), []);
}

#[test]
fn a_controller_that_cuts_its_panels() {
    warned(
        &[(r#""count": 2"#, r#""count": 3"#)],
        Kind::Clipping,
        "controllers.tracker.mppt.output_limit_a",
        "At 20 A and 13.6 V the controller gives 272 W, less than its panels’ 300 W: bright hours \
         are cut.",
    );
}

#[test]
fn a_group_that_draws_too_much() {
    // 10.5 A keyed and 9 W of lamp at 11.8 V.
    warned(
        &[(r#""desk": {"limit_a": 25"#, r#""desk": {"limit_a": 11"#)],
        Kind::GroupOverLimit,
        "outlet_groups.desk.limit_a",
        "With everything transmitting in tier “all”, at 11.8 V, group “desk” draws 11.3 A; its limit is \
         11 A.",
    );
}

#[test]
fn parts_that_do_nothing() {
    warned(
        &[(r#""net": {"#, r#""noon": {"from": "12:00", "to": "13:00"}, "net": {"#)],
        Kind::Unused,
        "windows.noon",
        "The window “noon” does nothing: nothing names it.",
    );
    warned(
        &[(r#""voice set": {}, "lamp": {}"#, r#""voice set": {}"#)],
        Kind::Unused,
        "loads.lamp",
        "The load “lamp” does nothing: it is in no tier, so it is never on.",
    );
    warned(
        &[(r#"  "outlet_groups": {"#, r#"  "outlet_groups": {"house": {"limit_a": 5}, "#)],
        Kind::Unused,
        "outlet_groups.house",
        "The outlet group “house” does nothing: no load is plugged into it.",
    );
    warned(
        &[("  \"shedding\": {\"down_below_share\": [0.3], \"up_above_share\": [0.5]},\n", "")],
        Kind::Unused,
        "tiers",
        "Without `shedding` only the first tier is ever in force.",
    );
}

#[test]
fn rules_that_never_act() {
    warned(
        &[
            (
                r#"{"supply": "never"}"#,
                r#"{"supply": {"top_up": {"start_below_share": 0.5, "stop_above_share": 0.9}}}"#,
            ),
            ("  \"grid\"", "  \"attended\": \"never\",\n  \"grid\""),
        ],
        Kind::Note,
        "strategies.\"solar only\".supply.top_up",
        "This top-up never starts: it is switched on by hand and nobody comes.",
    );
    warned(
        &[
            (
                r#"{"supply": "always"}"#,
                r#"{"supply": {"warned": {"hold_h": 24, "otherwise": "never"}}}"#,
            ),
            ("  \"grid\"", "  \"warning\": {\"chance\": 0.3, \"lead_time_h\": 6},\n  \"grid\""),
        ],
        Kind::WarningNotCounted,
        "warning.chance",
        "No warning comes in a single run: its chance, 0.3, is below 0.5.",
    );
    warned(
        &[(r#""off": "2027-01-18T20:00""#, r#""off": "2027-02-18T20:00""#)],
        Kind::Note,
        "grid.outage",
        "The forced outage lies outside the span: the run never reaches it.",
    );
    warned(
        &[(r#""float_v": 13.6, "tail_a": 2.0"#, r#""float_v": 13.6"#)],
        Kind::Note,
        "controllers.tracker.mppt.set_points.float_v",
        "`float_v` does nothing without `tail_a`: bulk never ends.",
    );
}

#[test]
fn numbers_that_look_odd() {
    warned(
        &[(r#""receive_a": 0.8, "transmit_a": 10.5"#, r#""receive_a": 10.5, "transmit_a": 0.8"#)],
        Kind::Note,
        "loads.\"voice set\".draw.current.transmit_a",
        "“voice set” transmits with 0.8 A, less than the 10.5 A it receives with: are they swapped?",
    );
    warned(
        &[(r#""absorption_v": 14.2, "float_v": 13.6, "tail_a": 4.0"#, r#""absorption_v": 13.2"#)],
        Kind::Note,
        "supply.charger.set_points.absorption_v",
        "With 13.2 V the charger fills this battery to 42 % only.",
    );
    warned(
        &[(
            r#""limit_a": 25,
    "efficiency_share""#,
            r#""limit_a": 14,
    "efficiency_share""#,
        )],
        Kind::Note,
        "supply.charger.limit_a",
        "The charger’s 15 A are more than the supply’s 14 A: the supply’s limit counts.",
    );
    warned(
        &[(
            r#""controller": "tracker""#,
            r#""controller": "tracker", "basis": {"rated_w": "guess", "count": "datasheet"}"#,
        )],
        Kind::Guess,
        "",
        "One input is a guess: arrays.roof.rated_w.",
    );
}

/// The lithium battery of the good scenario, and one of six lead-acid cells.
const LITHIUM: &str = r#""lithium_iron_phosphate": {
      "cells_in_series": 4,
      "capacity_ah": 100,
      "charge_limit_a": 50,
      "discharge_limit_a": 100
    }"#;
const ACID: &str = r#""lead_acid": {"kind": "agm", "cells_in_series": 6, "resistance_ohm": 0.006,
      "rated_absorption_v": 14.4, "capacities": [{"discharge_h": 20, "capacity_ah": 100},
      {"discharge_h": 1, "capacity_ah": 58}]}"#;
/// A generator that is started below half.
const GENERATOR: &str = r#""generator": {"rated_w": 1000, "fuel_l": 5,
    "fuel_line": {"per_rated_kw_l_h": 0.3, "per_kwh_l": 0.35},
    "rule": {"start_below_share": 0.5, "stop_above_share": 0.8}"#;

#[test]
fn lead_acid() {
    assert_eq!(warnings(&[(LITHIUM, ACID)]), []);
    warned(
        &[(LITHIUM, &ACID.replace("agm", "flooded"))],
        Kind::Note,
        "battery.lead_acid.kind",
        // IEC 62485-2: 0.05 x 6 cells x 20 mA/Ah x 100 Ah / 1000 = 0.6 m3/h; 28 cm2 x 0.6 = 17.
        "Flooded cells give off hydrogen while they are charged: the place needs 0.6 m3 of fresh \
         air an hour, by openings of 17 cm2 low down and as much high up (IEC 62485-2), and \
         nothing may spark in it.",
    );
    let cold = ACID.replace("\"kind\"", "\"temperature\": {\"fixed_c\": 5}, \"kind\"");
    warned(
        &[(LITHIUM, &cold)],
        Kind::Note,
        "controllers.tracker.mppt.set_points",
        "The set points of controller `tracker`, the charger do not follow the battery’s \
         temperature: in the cold a lead-acid battery stays short of full, in the heat it gasses.",
    );
    let per_k = |value: &str| format!("\"absorption_v\": 14.3, \"compensation_v_per_k\": {value}");
    warned(
        &[(LITHIUM, ACID), (r#""absorption_v": 14.3"#, &per_k("-0.004"))],
        Kind::Note,
        "controllers.tracker.mppt.set_points.compensation_v_per_k",
        "-0.004 V per kelvin are -0.667 mV a cell; -3 to -5 mV are usual.",
    );
    assert_eq!(warnings(&[(LITHIUM, ACID), (r#""absorption_v": 14.3"#, &per_k("-0.024"))]), []);
    warned(
        &[(r#""absorption_v": 14.3"#, &per_k("-0.024"))],
        Kind::Note,
        "controllers.tracker.mppt.set_points.compensation_v_per_k",
        "The set points of controller `tracker` follow the battery’s temperature: lithium cells \
         need the same volts at any temperature.",
    );
}

#[test]
fn a_generator_that_never_starts_or_runs_alone() {
    let with = |more: &str| format!("{GENERATOR}{more}}},\n  \"disconnect\"");
    let of = "\"disconnect\"";
    assert_eq!(warnings(&[(of, &with(""))]), []);
    warned(
        &[(of, &with(r#", "fails_to_start_chance": 0.6"#))],
        Kind::Note,
        "generator",
        "The generator never starts in a single run: its chance to fail, 0.6, is 0.5 or more.",
    );
    warned(
        &[(of, &with("").replace("\"fuel_l\": 5", "\"fuel_l\": 0"))],
        Kind::Note,
        "generator",
        "The generator never starts: it has no fuel.",
    );
    let attended = |name: &str| format!("  \"attended\": {{\"in\": \"{name}\"}},\n  \"grid\"");
    warned(
        &[(of, &with(r#", "allowed": "watch""#)), ("  \"grid\"", &attended("net"))],
        Kind::Note,
        "generator.allowed",
        "The generator may run on when nobody is there (outside “net”): then nobody starts or \
         refuels it.",
    );
    assert_eq!(
        warnings(&[(of, &with(r#", "allowed": "net""#)), ("  \"grid\"", &attended("watch"))]),
        []
    );
    warned(
        &[(of, &with("")), ("  \"grid\"", "  \"attended\": \"never\",\n  \"grid\"")],
        Kind::Note,
        "generator",
        "The generator never starts: it is started by hand and nobody comes.",
    );
}

#[test]
fn an_answer_that_rests_on_a_nameplate() {
    let packs = |measured: &str| {
        LITHIUM.replace(
            "\"capacity_ah\": 100",
            &format!("\"packs\": {{\"club\": {{\"rated_ah\": 100{measured}}}}}"),
        )
    };
    warned(
        &[(LITHIUM, &packs(""))],
        Kind::Nameplate,
        "battery.lithium_iron_phosphate.packs.club",
        "Nobody has measured the pack “club”: the answer rests on the rated capacity. `run` shows the \
         answer with 65 % of that beside it.",
    );
    assert_eq!(
        warnings(&[(LITHIUM, &packs(r#", "measured_ah": 91, "tested": "2026-05-01""#))]),
        []
    );
    warned(
        &[(LITHIUM, &packs(r#", "measured_ah": 191"#))],
        Kind::Note,
        "battery.lithium_iron_phosphate.packs.club.measured_ah",
        "“club” holds 191 Ah by its test and 100 Ah on its label: are they swapped?",
    );
    let datasheet = LITHIUM.replace(
        "\"capacity_ah\": 100",
        "\"capacity_ah\": 100, \"basis\": {\"capacity_ah\": \"datasheet\"}",
    );
    warned(
        &[(LITHIUM, &datasheet)],
        Kind::Nameplate,
        "battery.lithium_iron_phosphate.capacity_ah",
        "The battery’s capacity is not measured: the answer rests on the rated capacity. `run` shows \
         the answer with 65 % of that beside it.",
    );
}

#[test]
fn hands_that_never_come() {
    let never = ("  \"grid\"", "  \"attended\": \"never\",\n  \"grid\"");
    warned(
        &[(r#""count": 2"#, r#""count": 2, "deployed": "watch""#), never],
        Kind::Note,
        "arrays.roof.deployed",
        "The array “roof” is never outside: it is put out by hand and nobody comes.",
    );
    let wakes =
        LITHIUM.replace("\"capacity_ah\"", "\"cutoff_reset\": \"by_hand\", \"capacity_ah\"");
    warned(
        &[(LITHIUM, &wakes), never],
        Kind::Note,
        "battery.lithium_iron_phosphate.cutoff_reset",
        "Once its BMS has opened the battery stays off: it must be reset by hand and nobody comes.",
    );
    let snow = |more: &str, at: &str| {
        format!(
            "  \"snow\": {{\"falls\": [{{\"at\": \"{at}\"}}]{more}}},\n  \"attended\": \"never\",\n  \"grid\""
        )
    };
    warned(
        &[("  \"grid\"", &snow(r#", "cleared_after_h": 2"#, "2027-01-19T03:00"))],
        Kind::Note,
        "snow.cleared_after_h",
        "Nobody clears the snow: nobody comes.",
    );
    warned(
        &[("  \"grid\"", &snow("", "2027-02-19T03:00"))],
        Kind::Note,
        "snow.falls[0].at",
        "This snow falls outside the span: the run never reaches it.",
    );
}

#[test]
fn panels_that_do_not_suit_a_switching_controller() {
    let with = |sheet: &str, rated: &str| {
        let tracking = "\"mppt\": {\n        \"output_limit_a\": 20";
        let switching = tracking.replace("mppt", "pwm");
        warnings(&[
            (tracking, &switching),
            (r#""rated_w": 100"#, &format!("\"rated_w\": {rated}, \"datasheet\": {{{sheet}}}")),
        ])
    };
    let said = |found: &[Warning]| -> Vec<(String, String)> {
        found.iter().map(|it| (it.path.clone(), it.text.clone())).collect()
    };
    let usual = r#""isc_a": 5.9, "voc_v": 22.0, "imp_a": 5.5, "vmp_v": 18.2"#;
    assert_eq!(with(usual, "100"), []);
    assert_eq!(
        said(&with(usual, "150")),
        [(
            "arrays.roof.rated_w".to_owned(),
            "The datasheet’s 5.5 A and 18.2 V make 100 W; `rated_w` says 150 W.".to_owned()
        )]
    );
    assert_eq!(
        said(&with(r#""isc_a": 3.4, "voc_v": 40.0, "imp_a": 3.1, "vmp_v": 32.5"#, "100")),
        [(
            "arrays.roof.datasheet.voc_v".to_owned(),
            "At battery volts these panels give less than half of their power: their best point is \
             at 32.5 V. A tracking controller would lose little."
                .to_owned()
        )]
    );
    assert_eq!(
        said(&with(r#""isc_a": 8.6, "voc_v": 15.0, "imp_a": 8.1, "vmp_v": 12.4"#, "100")),
        [(
            "arrays.roof.datasheet.voc_v".to_owned(),
            "These panels never bring the battery to 14.3 V: warmed by the sun they have 13.5 V, \
             with nothing connected."
                .to_owned()
        )]
    );
}

#[test]
fn capacity_that_the_cold_locks_beyond_the_published_tables() {
    let outside = |kind: &str, more: &str| {
        ACID.replace(
            "\"agm\"",
            &format!("\"{kind}\", {more}\"temperature\": {{\"follows_air\": {{\"lag_h\": 3}}}}"),
        )
    };
    let about_cold = |kind: &str, more: &str, month: &str| -> Vec<String> {
        let span = format!(r#""start": "2027-{month}-18T18:00""#);
        let found = warnings(&[
            (LITHIUM, &outside(kind, more)),
            (r#""start": "2027-01-18T18:00""#, &span),
            (r#""off": "2027-01-18T20:00""#, &format!(r#""off": "2027-{month}-18T20:00""#)),
        ]);
        let about = |it: &Warning| it.path == "battery.lead_acid.temperature";
        found.into_iter().filter(about).map(|it| it.text).collect()
    };
    // Cells at -5 - 7/2 = -8.5 deg C in January.
    assert_eq!(
        about_cold("flooded", "", "01"),
        ["The battery gets down to -8.5 deg C here. How much of its capacity the cold locks is \
          published for its kind down to -3.9 deg C, and carried on by a straight line below: give \
          `usable_share_at_c` from its datasheet."]
    );
    assert!(about_cold("agm", "", "01").is_empty(), "its table goes down to -10");
    assert!(about_cold("flooded", "", "07").is_empty(), "no winter in the span");
    let table = r#""usable_share_at_c": [{"cell_c": -30, "usable_share": 0.4}], "#;
    assert!(about_cold("flooded", table, "01").is_empty(), "the table is the user's");
}

#[test]
fn set_points_that_rise_in_the_cold() {
    // Cells at -5 - 7/2 = -8.5 deg C: 14.3 + 0.024 x 33.5 = 15.1 V.
    let outside =
        ACID.replace("\"kind\"", "\"temperature\": {\"follows_air\": {\"lag_h\": 3}}, \"kind\"");
    let follows = r#""absorption_v": 14.3, "compensation_v_per_k": -0.024"#;
    let charger =
        (r#""absorption_v": 14.2"#, r#""absorption_v": 14.2, "compensation_v_per_k": -0.024"#);
    let battery = (LITHIUM, outside.as_str());
    assert_eq!(warnings(&[battery, (r#""absorption_v": 14.3"#, follows), charger]), []);
    warned(
        &[
            battery,
            (r#""absorption_v": 14.3"#, follows),
            charger,
            (r#""window_v": [11.0, 15.8]"#, r#""window_v": [11.0, 15.05]"#),
        ],
        Kind::Note,
        "controllers.tracker.mppt.set_points.compensation_v_per_k",
        "With the battery at -8.5 deg C, the coldest here, controller `tracker` holds 15.1 V; \
         “voice set” works up to 15.05 V.",
    );
}
