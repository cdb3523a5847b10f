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
        "controllers.tracker.tracking.output_limit_a",
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
        "With everything keyed in tier “all”, at 11.8 V, group “desk” draws 11.3 A; its limit is \
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
            ("  \"grid\"", "  \"warning\": {\"chance\": 0.3, \"lead_h\": 6},\n  \"grid\""),
        ],
        Kind::WarningNotCounted,
        "warning.chance",
        "No warning comes in a single run: its chance, 0.3, is below 0.5.",
    );
    warned(
        &[(r#""off": "2027-01-18T20:00""#, r#""off": "2027-02-18T20:00""#)],
        Kind::Note,
        "grid.forced",
        "The forced outage lies outside the span: the run never meets it.",
    );
    warned(
        &[(r#""float_v": 13.6, "tail_a": 2.0"#, r#""float_v": 13.6"#)],
        Kind::Note,
        "controllers.tracker.tracking.charge.float_v",
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
        &[(r#""bulk_v": 14.2, "float_v": 13.6, "tail_a": 4.0"#, r#""bulk_v": 13.2"#)],
        Kind::Note,
        "supply.charger.charge.bulk_v",
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
