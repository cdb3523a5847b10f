//! `compare` and `without` as their user runs them.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::{Value, json};

use super::support::{merge, text};

pub fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_longwatch"));
    command.current_dir(folder).args(arguments).stdin(Stdio::null());
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "COLUMNS"] {
        command.env_remove(name);
    }
    command.output().unwrap()
}

pub fn texts(output: &Output) -> (String, String) {
    let of = |bytes: &Vec<u8>| String::from_utf8(bytes.clone()).unwrap();
    (of(&output.stdout), of(&output.stderr))
}

pub fn fine(folder: &Path, arguments: &[&str]) -> (String, String) {
    let output = run(folder, arguments);
    let (out, err) = texts(&output);
    assert_eq!(output.status.code(), Some(0), "{arguments:?}\n{out}\n{err}");
    (out, err)
}

pub fn refused(folder: &Path, arguments: &[&str], code: i32) -> String {
    let output = run(folder, arguments);
    let (out, err) = texts(&output);
    assert_eq!(output.status.code(), Some(code), "{arguments:?}\n{out}\n{err}");
    assert!(out.is_empty(), "{out}");
    err
}

pub fn hall() -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/hall-72h.json").display().to_string()
}

/// The hall with a patch, written into a folder.
fn hall_with(folder: &Path, patch: &Value) {
    let mut value: Value = serde_json::from_str(&text("scenarios/hall-72h.json")).unwrap();
    merge(&mut value, patch);
    fs::write(folder.join("hall.json"), format!("{value:#}")).unwrap();
}

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let named = |path: std::path::PathBuf| {
        (path.file_name().unwrap().to_string_lossy().into_owned(), fs::read(&path).unwrap())
    };
    let all = entries.map(named);
    all.filter(|(name, _)| !name.starts_with('.')).collect()
}

#[test]
fn a_comparison_is_told_and_written_the_same_on_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let hall = hall();
    let common = [
        "compare",
        hall.as_str(),
        "--trials",
        "60",
        "--strategy",
        "charger on",
        "--strategy",
        "solar only",
        "--variant",
        "shed sooner",
    ];
    let mut told = Vec::new();
    for threads in ["1", "2", "7"] {
        let more = ["--threads", threads, "--out", threads];
        told.push(fine(here, &[&common[..], &more].concat()).0);
    }
    assert!(told.iter().all(|it| *it == told[0]));
    let written = files(&here.join("1"));
    assert!(files(&here.join("2")) == written && files(&here.join("7")) == written);
    for name in ["compare.json", "pairs.csv", "compare-on-air.svg", "compare-pairs.svg"] {
        assert!(written.contains_key(name), "{:?}", written.keys());
    }
    let value: Value = serde_json::from_slice(&written["compare.json"]).unwrap();
    assert_eq!(value["trials"], 60);
    assert_eq!(value["stations"].as_array().unwrap().len(), 3);
    assert_eq!(value["stations"][2]["kind"], "variant");
    for key in ["on_air_share", "start_charge_share", "in_span", "normal_month", "on_air", "causes"]
    {
        assert!(!value["stations"][0][key].is_null(), "{key}");
    }
    for key in ["mains_kwh", "mains_cost", "cycles", "high_charge_h", "noise_h", "fuel_l"] {
        assert!(value["stations"][0]["normal_month"][key].is_number(), "{key}");
    }
    for key in ["plugged_in_storm_h", "attended_h", "noise_h", "fuel_l", "mains_kwh"] {
        assert!(value["stations"][0]["in_span"][key].is_number(), "{key}");
    }
    assert_eq!(value["pairs"].as_array().unwrap().len(), 3);
    let pairs = String::from_utf8(written["pairs.csv"].clone()).unwrap();
    assert!(pairs.starts_with("a,b,both,only_a,only_b,neither,difference,"), "{pairs}");
    assert_eq!(pairs.lines().count(), 4);
    let first = value["sentence"].as_str().unwrap().split_whitespace().take(4);
    let said: Vec<&str> = told[0].split_whitespace().take(4).collect();
    assert_eq!(said, first.collect::<Vec<_>>());
    let short = |line: &str| line.chars().count() <= 80 || line.contains("longwatch run");
    assert!(told[0].lines().all(short), "{}", told[0]);

    let bare = ["--json", "--no-charts", "--out", "bare"];
    let (json, _) = fine(here, &[&common[..], &bare].concat());
    assert_eq!(json.as_bytes(), written["compare.json"]);
    assert_eq!(files(&here.join("bare")).len(), 2);
}

#[test]
fn names_that_there_are_not_are_refused_with_the_one_meant() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let hall = hall();
    let said = refused(here, &["compare", &hall, "--strategy", "charger onn"], 2);
    assert!(said.contains("did you mean `charger on`?"), "{said}");
    let said = refused(here, &["compare", &hall, "--variant", "one more panels"], 2);
    assert!(said.contains("did you mean `one more panel`?"), "{said}");
    let said = refused(here, &["compare", &hall, "--strategy", "solar only"], 2);
    assert!(said.contains("nothing to compare"), "{said}");
    let said = refused(here, &["without", &hall, "--strategy", "solar"], 2);
    assert!(said.contains("did you mean `solar only`?"), "{said}");
    assert!(files(here).is_empty());
}

#[test]
fn a_wrong_variant_stops_every_command_and_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    hall_with(here, &json!({"variants": {"steep": {"arrays": {"roof": {"tilt_deg": 100}}}}}));
    for command in ["compare", "run", "check", "without"] {
        let said = refused(here, &[command, "hall.json"], 1);
        assert!(said.contains("variants.steep.arrays.roof.tilt_deg"), "{said}");
        assert!(said.contains("variant `steep`"), "{said}");
    }
}

#[test]
fn losses_and_guesses_are_told_and_written_the_same_on_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let hall = hall();
    let common = ["without", hall.as_str(), "--trials", "40"];
    let mut told = Vec::new();
    for threads in ["1", "2", "7"] {
        let more = ["--threads", threads, "--out", threads];
        told.push(fine(here, &[&common[..], &more].concat()).0);
    }
    assert!(told.iter().all(|it| *it == told[0]));
    let written = files(&here.join("1"));
    assert!(files(&here.join("2")) == written && files(&here.join("7")) == written);
    for name in ["without.json", "without-parts.svg", "without-guesses.svg"] {
        assert!(written.contains_key(name), "{:?}", written.keys());
    }
    let value: Value = serde_json::from_slice(&written["without.json"]).unwrap();
    assert_eq!(value["strategy"], "charger on");
    let lost = value["lost"].as_array().unwrap();
    assert!(lost.len() >= 4, "{lost:?}");
    assert!(
        lost.windows(2)
            .all(|two| { two[0]["pair"]["only_a"].as_u64() >= two[1]["pair"]["only_a"].as_u64() })
    );
    let swings = value["swings"].as_array().unwrap();
    assert!(swings.iter().any(|it| it["why"] == "nameplate"), "{swings:?}");
    assert!(swings.iter().any(|it| it["path"] == "loads.\"hf set\".transmit_share"), "{swings:?}");
    assert!(told[0].lines().all(|line| line.chars().count() <= 80), "{}", told[0]);
    let (json, _) =
        fine(here, &[&common[..], &["--json", "--no-charts", "--out", "bare"]].concat());
    assert_eq!(json.as_bytes(), written["without.json"]);
}
