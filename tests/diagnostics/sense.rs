//! What cannot be, though each number alone could: capacities, labels, wires; dates, places, snow.

use std::path::Path;

use longwatch::plan::check::examine;
use longwatch::scenario::limits::{LIMITS, limit_at};
use longwatch::scenario::problem::Problem;
use longwatch::warning::{Kind, Warning};

use super::faults::changed;
use super::{FIELD, check};

/// What is said of a scenario with some of its text replaced.
fn of(text: &str, changes: &[(&str, &str)]) -> (Vec<Problem>, Vec<Warning>) {
    let text = changes.iter().fold(text.to_owned(), |text, (from, to)| {
        assert_eq!(text.matches(from).count(), 1, "`{from}` must stand once");
        text.replace(from, to)
    });
    let examined = examine(&text, "changed.json", Path::new("scenarios"));
    (examined.problems.list, examined.warnings)
}

#[track_caller]
fn one_problem(problems: &[Problem]) -> &Problem {
    assert_eq!(problems.len(), 1, "{problems:?}");
    &problems[0]
}

fn refused_field(from: &str, to: &str) -> Problem {
    one_problem(&of(FIELD, &[(from, to)]).0).clone()
}

/// Of 80, 75, 68 and 49 Ah over 20, 10, 5 and 1 h one is mistyped. 110 Ah at 20 h was taken for a
/// battery of 259 Ah, 10 Ah at 1 h for a better one.
#[test]
fn capacities_that_no_cell_has() {
    for (from, to) in [
        (r#""capacity_ah": 80}"#, r#""capacity_ah": 110}"#),
        (r#""capacity_ah": 80}"#, r#""capacity_ah": 140}"#),
        (r#""capacity_ah": 49}"#, r#""capacity_ah": 10}"#),
        (r#""capacity_ah": 49}"#, r#""capacity_ah": 67}"#),
        (r#""capacity_ah": 68}"#, r#""capacity_ah": 58}"#),
    ] {
        let problem = refused_field(from, to);
        assert!(problem.path.starts_with("battery.lead_acid.capacities"), "{problem:?}");
        assert_eq!(problem.text, "no lead-acid battery has these capacities", "{to}");
    }
    // What is nearly right is taken: labels are rounded.
    for ah in ["78", "82"] {
        let to = format!("\"capacity_ah\": {ah}}}");
        assert_eq!(of(FIELD, &[(r#""capacity_ah": 80}"#, &to)]).0, [], "{ah} Ah");
    }
}

/// What the wells are not above errs on the safe side: said, and taken up to 6 %. By hand: wells with
/// 86.4 Ah in all, c = 0.491, k = 0.648 have 49, 66.1 and 80 Ah over 1, 5 and 20 h.
#[test]
fn a_capacity_that_stands_out_is_named_and_not_counted_on() {
    let (problems, warnings) = of(FIELD, &[(r#""capacity_ah": 68}"#, r#""capacity_ah": 70}"#)]);
    assert_eq!(problems, []);
    let told: Vec<_> = warnings.iter().filter(|it| it.path.contains("capacities")).collect();
    let [warning] = told[..] else { panic!("{warnings:?}") };
    assert_eq!(
        (warning.path.as_str(), warning.text.as_str()),
        (
            "battery.lead_acid.capacities[2].capacity_ah",
            "70 Ah over 5 h stand out of these capacities: the station counts on 66.1 Ah, 5.6 % less. \
             Look for a slip in the capacities."
        )
    );
}

#[test]
fn a_label_that_contradicts_itself() {
    // The current of three panels, the volts of two, and points of no panel at all: above is what an
    // ideal silicon cell has (Green 1981, from memory), below common practice.
    for (from, to, at) in [
        (r#""isc_a": 5.9"#, r#""isc_a": 17.7"#, "isc_a"),
        (r#""voc_v": 22.0"#, r#""voc_v": 44.0"#, "voc_v"),
        (r#""isc_a": 5.9, "voc_v": 22.0"#, r#""isc_a": 7.6, "voc_v": 27.0"#, "imp_a"),
        (r#""isc_a": 5.9, "voc_v": 22.0"#, r#""isc_a": 5.55, "voc_v": 18.6"#, "imp_a"),
    ] {
        let problem = refused_field(from, to);
        assert_eq!(problem.path, format!("arrays.meadow.datasheet.{at}"), "{to}");
        assert_eq!(problem.text, "the panel’s label contradicts itself");
    }
    // A thin film: Isc / Imp 1.25, Voc / Vmp 1.35, fill factor 0.59.
    let film = r#""isc_a": 6.875, "voc_v": 24.57"#;
    assert_eq!(of(FIELD, &[(r#""isc_a": 5.9, "voc_v": 22.0"#, film)]).0, []);
}

#[test]
fn what_divides_or_resists_has_a_least_value_and_a_reason() {
    for (change, path) in [
        ((r#""efficiency_share": 0.87"#, r#""efficiency_share": 0.01"#), "supply.efficiency_share"),
        (
            (r#""awg": 8, "one_way_m": 1.5"#, r#""mm2": 0.01, "one_way_m": 0.05"#),
            "outlet_groups.desk.wire.mm2",
        ),
        (
            (r#""one_way_m": 1.5"#, r#""one_way_m": 1.5, "connector_ohm": 1"#),
            "outlet_groups.desk.wire.connector_ohm",
        ),
        (
            (r#""capacity_ah": 100"#, r#""capacity_ah": 1e-9"#),
            "battery.lithium_iron_phosphate.capacity_ah",
        ),
        (
            (r#""capacity_ah": 100"#, r#""capacity_ah": 100, "age_capacity_share": 1e-6"#),
            "battery.lithium_iron_phosphate.age_capacity_share",
        ),
        ((r#""output_limit_a": 20"#, r#""output_limit_a": 1e-9"#), CONTROLLER),
    ] {
        let examined = examine(&changed(&[change]), "changed.json", Path::new("tests/bad"));
        let problem = one_problem(&examined.problems.list);
        assert_eq!(problem.path, path);
        let told = problem.hint.as_deref().unwrap_or_default();
        let reason = ["divided", "reckoned", "multiplied", "takes volts"];
        assert!(reason.iter().any(|it| told.contains(it)), "{path}: {told}");
    }
    // Nothing that divides may come as near to zero as it likes.
    let dividing = ["_ah", "_wh", "efficiency_share", "age_capacity_share", "limit_a", "mm2", "_v"];
    for limit in LIMITS {
        let key = limit.path.trim_end_matches("[]").rsplit('.').next().unwrap_or_default();
        let other = ["drop_v", "touch_v", "rated_v", "input_limit_v", "margin_cell_v", "day_wh"];
        let found_by_test = limit.path.starts_with("field_tests[]");
        if dividing.iter().any(|end| key.ends_with(end))
            && !other.iter().any(|end| key.ends_with(end))
            && !found_by_test
        {
            assert!(limit.min > 0.0, "{}", limit.path);
        }
    }
    assert!(limit_at("supply.rated_v").is_some_and(|it| it.min >= 1.0));
}

const CONTROLLER: &str = "controllers.tracker.mppt.output_limit_a";

/// Each number within its range, and together 2 x 60 m of 0.5 mm2: 4.5 ohm. At the 11.2 A keyed they
/// ask for 50 of 12.8 V, and served watt-hours below zero.
#[test]
fn a_wire_that_leaves_its_loads_no_power() {
    let long = (r#""awg": 8, "one_way_m": 1.5"#, r#""mm2": 0.5, "one_way_m": 60"#);
    let examined = examine(&changed(&[long]), "changed.json", Path::new("tests/bad"));
    let problem = one_problem(&examined.problems.list);
    assert_eq!(problem.path, "outlet_groups.desk.wire");
    assert_eq!(problem.text, "this wire leaves its loads no power");
    let feed = (
        "  \"outlet_groups\"",
        "  \"main_feed\": {\"wire\": {\"mm2\": 0.5, \"one_way_m\": 60}},\n  \"outlet_groups\"",
    );
    let examined = examine(&changed(&[feed]), "changed.json", Path::new("tests/bad"));
    assert_eq!(one_problem(&examined.problems.list).path, "main_feed.wire");
    // A bad wire that still brings something is for the pre-flight.
    let thin = (r#""awg": 8, "one_way_m": 1.5"#, r#""mm2": 0.5, "one_way_m": 5"#);
    let examined = examine(&changed(&[thin]), "changed.json", Path::new("tests/bad"));
    assert_eq!(examined.problems.list, []);
}

fn notes(changes: &[(&str, &str)]) -> Vec<(String, String)> {
    let examined = examine(&changed(changes), "changed.json", Path::new("tests/bad"));
    assert_eq!(examined.problems.list, [], "{}", examined.problems);
    let note = |it: &Warning| it.kind == Kind::Note;
    examined.warnings.into_iter().filter(note).map(|it| (it.path, it.text)).collect()
}

/// 63 degrees east are 4.2 h before UTC and 8.2 h from a clock of UTC-4; 170 degrees east with a clock
/// of UTC-11 are 22.3 h apart by subtraction and 1.7 h by the sun.
#[test]
fn a_longitude_with_the_wrong_sign() {
    assert_eq!(
        notes(&[(r#""longitude_deg": -63.0"#, r#""longitude_deg": 63.0"#)]),
        [(
            "site.longitude_deg".to_owned(),
            "The clock of the site, UTC-04:00, is 8.2 h from the sun’s at longitude 63 (east), and 0.2 h \
             from the sun’s at longitude -63 (west). Mend the sign, the longitude or the clock: the sun is \
             reckoned by the longitude."
                .to_owned()
        )]
    );
    let with = |longitude: &str, offset: &str| {
        notes(&[
            (r#""longitude_deg": -63.0"#, &format!("\"longitude_deg\": {longitude}")),
            (r#"{"zone": "America/Halifax"}"#, &format!("{{\"fixed_offset\": \"{offset}\"}}")),
        ])
        .len()
    };
    assert_eq!(with("170", "-11:00"), 0, "across the date line");
    assert_eq!(with("75.1", "+08:00"), 0, "the far west of China keeps the clock of the east");
    assert_eq!(with("60", "+08:00"), 1);
    assert_eq!(with("-45", "+03:00"), 1);
}

#[test]
fn dates_that_the_hours_never_meet() {
    let net = r#""days": ["mon", "wed"]"#;
    let dates = |dates: &str| notes(&[(net, &format!("\"dates\": [{dates}]"))]);
    assert_eq!(dates(r#""2027-01-18""#), []);
    assert_eq!(dates(r#""2027-01-20", "2027-01-18""#).len(), 1, "the 20th ends at 18:00");
    assert_eq!(
        dates(r#""2027-01-19", "2027-02-18""#),
        [(
            "windows.net.dates".to_owned(),
            "The window “net” never opens on 2027-02-18: none of its hours are simulated."
                .to_owned()
        )]
    );
    // Days on which it settles are simulated too.
    let settles = notes(&[
        (net, r#""dates": ["2027-01-17"]"#),
        ("  \"grid\"", "  \"start\": {\"warmup_days\": 3},\n  \"grid\""),
    ]);
    assert_eq!(settles, []);
}

#[test]
fn snow_that_stays_on_a_level_panel() {
    let snow = |tilt: &str, more: &str| {
        notes(&[
            (r#""tilt_deg": 60"#, &format!("\"tilt_deg\": {tilt}")),
            ("  \"grid\"", &format!("{more}\n  \"grid\"")),
        ])
    };
    let falls = r#"  "snow": {"falls": [{"at": "2027-01-19T03:00"}]},"#;
    assert_eq!(
        snow("0", falls),
        [(
            "arrays.roof.tilt_deg".to_owned(),
            "Snow stays on the array “roof”: off a level panel it never slides, and nobody clears it. \
             Melting is not reckoned. Say when it is cleared (`snow.cleared_after_h`), or tilt the panels."
                .to_owned()
        )]
    );
    // 1 / (0.197 sin 5 deg) = 58.2 h by the slide rule of Marion and others (2013).
    let nearly = snow("5", falls);
    assert!(nearly[0].1.contains("needs 58 hours of thaw or sun"), "{nearly:?}");
    assert_eq!(snow("60", falls), []);
    assert_eq!(snow("0", ""), [], "no snow falls");
    let cleared = r#"  "snow": {"falls": [{"at": "2027-01-19T03:00"}], "cleared_after_h": 5},"#;
    assert_eq!(snow("0", cleared), []);
    // Storms bring it as well.
    let storm = r#"  "storm": {"coupled": {"snow_chance": 0.5}},"#;
    assert!(snow("0", storm).iter().any(|it| it.0 == "arrays.roof.tilt_deg"));
}

fn run(arguments: &[&str]) -> (Option<i32>, String) {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .current_dir(super::root())
        .env("NO_COLOR", "1")
        .args(arguments)
        .output()
        .expect("the program runs");
    assert!(output.stdout.is_empty(), "{arguments:?}");
    (output.status.code(), String::from_utf8(output.stderr).expect("UTF-8"))
}

/// A club given to a command of one station was told 97 faults, a station given to `exercise` 210.
#[test]
fn a_file_of_the_other_kind_gets_one_sentence() {
    let club = "scenarios/club-weekend.json";
    for command in ["run", "odds", "now", "size", "card", "compare", "without", "report"] {
        let (code, said) = run(&[command, club]);
        assert_eq!(code, Some(1), "{command}: {said}");
        assert!(said.contains(&format!("`longwatch exercise {club}`")), "{command}: {said}");
        assert_eq!(said.trim_end().lines().count(), 1, "{command}: {said}");
    }
    assert!(run(&["calendar", "--hours", "24", club]).1.contains("longwatch exercise"));
    assert!(String::from_utf8_lossy(&check(&[club]).stderr).contains("longwatch exercise"));
    let hall = "scenarios/hall-72h.json";
    let (code, said) = run(&["exercise", hall]);
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains(&format!("`longwatch odds {hall}`")), "{said}");
    assert_eq!(said.trim_end().lines().count(), 1, "{said}");
}
