//! What is said about broken scenarios, word for word, and that nothing breaks the reader.
//!
//! `tests/bad/NAME.json` is a broken scenario and `tests/bad/NAME.txt` what `longwatch check` says
//! about it. After a change of words, `BLESS=1 cargo test diagnostics::` writes the new ones:
//! read them as the tired volunteer who must act on them before they are committed.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use longwatch::plan::check::examine;
use longwatch::scenario::json_path::JsonPath;
use longwatch::scenario::read::read;
use proptest::prelude::*;

/// A small good scenario that the broken ones are made from.
const GOOD: &str = include_str!("bad/good.json");
const FIELD: &str = include_str!("../scenarios/field-weekend.json");
const COLD: &str = include_str!("../scenarios/cold-node.json");
const HALL: &str = include_str!("../scenarios/hall-72h.json");

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn check(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .current_dir(root())
        .env("NO_COLOR", "1")
        .arg("check")
        .args(arguments)
        .output()
        .expect("the program runs")
}

/// The broken scenarios by name.
fn broken() -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(root().join("tests/bad"))
        .expect("the folder is there")
        .filter_map(|entry| entry.expect("an entry").file_name().into_string().ok())
        .filter_map(|name| name.strip_suffix(".json").map(str::to_owned))
        .filter(|name| name != "good")
        .collect();
    names.sort();
    names
}

#[test]
fn every_broken_scenario_is_told_word_for_word() {
    let names = broken();
    assert!(names.len() >= 25, "{names:?}");
    let mut wrong = Vec::new();
    for name in &names {
        let output = check(&[&format!("tests/bad/{name}.json")]);
        assert_eq!(output.status.code(), Some(1), "{name}");
        assert!(output.stdout.is_empty(), "{name}");
        let said = String::from_utf8(output.stderr).expect("UTF-8");
        let beside: PathBuf = root().join(format!("tests/bad/{name}.txt"));
        if std::env::var_os("BLESS").is_some() {
            std::fs::write(&beside, &said).expect("written");
        }
        let expected = std::fs::read_to_string(&beside).unwrap_or_default();
        if said != expected {
            wrong.push(format!("--- {name}, expected:\n{expected}--- said:\n{said}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn programs_get_the_same_problems_as_people() {
    for name in broken() {
        let file = format!("tests/bad/{name}.json");
        let output = check(&["--json", &file]);
        assert_eq!(output.status.code(), Some(1), "{name}");
        let value: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
        let expected =
            std::fs::read_to_string(root().join(format!("tests/bad/{name}.txt"))).expect("text");
        let problems = value["problems"].as_array().expect("a list");
        assert_eq!(value["ok"], false);
        let drawn = expected.lines().filter(|line| line.starts_with("error")).count();
        assert_eq!(problems.len(), drawn, "{name}");
        for problem in problems {
            let text = problem["text"].as_str().expect("a text");
            let path = problem["path"].as_str().expect("a path");
            let title = if path.is_empty() {
                format!("error: {text}")
            } else {
                format!("error[{path}]: {text}")
            };
            assert!(expected.contains(&title), "{name}: {title}");
            let place = &problem["places"][0];
            if let (Some(line), Some(column)) = (place["line"].as_u64(), place["column"].as_u64()) {
                let at = format!("{}:{line}:{column}", place["file"].as_str().expect("a file"));
                assert!(expected.contains(&at), "{name}: {at}");
            }
        }
    }
}

#[test]
fn good_scenarios_have_no_problem() {
    for (text, name) in [
        (GOOD, "good.json"),
        (HALL, "hall-72h.json"),
        (FIELD, "field-weekend.json"),
        (COLD, "cold-node.json"),
    ] {
        let examined = examine(text, name, Path::new("tests/bad"));
        assert_eq!(examined.problems.list, [], "{}", examined.problems);
        let scenario = examined.scenario.expect("a scenario");
        // What is written back reads as the same scenario.
        let again = serde_json::to_string_pretty(&scenario).expect("JSON");
        let (again, _) = read(&again, name).unwrap_or_else(|problems| panic!("{problems}"));
        assert_eq!(again, scenario);
    }
    let output = check(&["tests/bad/good.json"]);
    // It can be simulated, and says nothing of fuses: that is serious.
    assert_eq!(output.status.code(), Some(3));
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(said.starts_with("tests/bad/good.json: "), "{said}");
    assert!(said.contains("Nobody has said whether there is a fuse"), "{said}");
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_do_no_harm() {
    let text = format!("\u{feff}{}", GOOD.replace('\n', "\r\n"));
    let (_, spans) = read(&text, "good.json").unwrap_or_else(|problems| panic!("{problems}"));
    let path = JsonPath::keys(&["arrays", "roof", "tilt_deg"]);
    let place = spans.place(&path).expect("a place");
    let line = 1 + GOOD[..GOOD.find("\"tilt_deg\"").expect("there")].matches('\n').count();
    assert_eq!(spans.line_col(place.value.start).0, line);
    assert_eq!(&spans.text()[place.value], "60");
}

#[test]
fn a_file_that_is_not_there_is_no_scenario_that_is_wrong() {
    let output = check(&["tests/bad/nowhere.json"]);
    assert_eq!(output.status.code(), Some(4));
    assert!(String::from_utf8_lossy(&output.stderr).contains("tests/bad/nowhere.json"));
}

#[test]
fn other_encodings_are_named() {
    let folder = tempfile::tempdir().expect("a folder");
    let wide: Vec<u8> =
        [0xff, 0xfe].into_iter().chain(GOOD.encode_utf16().flat_map(u16::to_le_bytes)).collect();
    let mut latin = GOOD.as_bytes().to_vec();
    latin[30] = 0xe9;
    for (bytes, said) in [(wide, "UTF-16"), (latin, "not written as UTF-8")] {
        let path = folder.path().join("other.json");
        std::fs::write(&path, bytes).expect("written");
        let output = check(&[path.to_str().expect("a name")]);
        assert_eq!(output.status.code(), Some(1));
        let text = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(text.contains(said), "{text}");
    }
}

#[test]
fn wherever_the_file_is_cut_it_is_told_and_nothing_breaks() {
    let end = GOOD.trim_end().len();
    for cut in (0..end).filter(|&cut| GOOD.is_char_boundary(cut)) {
        let examined = examine(&GOOD[..cut], "cut.json", Path::new("tests/bad"));
        assert!(!examined.problems.list.is_empty(), "cut at {cut}");
        assert!(examined.problems.to_string().contains("cut.json"));
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 400,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Slips of the keyboard: whatever they make of the file, it is read or its faults are named;
    /// and what is read is what the plain JSON reader makes of it.
    #[test]
    fn slips_of_the_keyboard_break_nothing(
        slips in prop::collection::vec((any::<prop::sample::Index>(), 0_usize..3, "[ -~\u{e9}\n\t\u{7}\u{201c}]{1,3}"), 1..4)
    ) {
        let mut text: Vec<char> = HALL.chars().collect();
        for (place, what, typed) in slips {
            let at = place.index(text.len());
            match what {
                0 => { text.remove(at); }
                1 => { text.splice(at..at, typed.chars()); }
                _ => { text.splice(at..=at, typed.chars()); }
            }
        }
        let text: String = text.into_iter().collect();
        let examined = examine(&text, "slip.json", Path::new("tests/bad"));
        let drawn = examined.problems.render(true);
        prop_assert!(!drawn.is_empty());
        let plain = serde_json::from_str::<longwatch::scenario::Scenario>(&text);
        match examined.scenario {
            Some(scenario) => prop_assert_eq!(Some(scenario), plain.ok()),
            None => prop_assert!(!examined.problems.list.is_empty()),
        }
    }

    /// Any text at all.
    #[test]
    fn any_text_is_answered(text in "[{}\\[\\]:,\"'0-9a-z.\\-+#/* \n\\\\\u{201c}\u{20ac}]{0,60}") {
        let examined = examine(&text, "any.json", Path::new("tests/bad"));
        prop_assert!(examined.scenario.is_none());
        prop_assert!(!examined.problems.list.is_empty());
        prop_assert!(examined.problems.to_string().contains("any.json"));
        prop_assert!(examined.problems.to_json().is_array());
    }
}

mod faults;
mod sense;
mod warnings;
