//! The whole program, run as its user runs it.

mod folders;
mod paste;

use std::collections::BTreeMap;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn scenario(name: &str) -> PathBuf {
    root().join("scenarios").join(name)
}

fn hall() -> String {
    scenario("hall-72h.json").display().to_string()
}

/// The program in a folder, with nothing said about colour.
fn program(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_longwatch"));
    command.current_dir(folder).args(arguments);
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "COLUMNS"] {
        command.env_remove(name);
    }
    command
}

fn run_in(folder: &Path, arguments: &[&str]) -> Output {
    program(folder, arguments).stdin(Stdio::null()).output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn code(output: &Output) -> i32 {
    output.status.code().unwrap_or_else(|| panic!("ended by a signal: {}", err(output)))
}

/// Runs it and insists on an exit code.
fn expect(wanted: i32, folder: &Path, arguments: &[&str]) -> Output {
    let output = run_in(folder, arguments);
    assert_eq!(code(&output), wanted, "{arguments:?}\n{}\n{}", out(&output), err(&output));
    output
}

/// Files below a folder with what they hold.
fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(here) = open.pop() {
        for entry in fs::read_dir(&here).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if !is_hidden(&path) {
                let name = path.strip_prefix(folder).unwrap().to_string_lossy().replace('\\', "/");
                found.insert(name, fs::read(&path).unwrap());
            }
        }
    }
    found
}

/// The list of its results that a command leaves in their folder.
fn is_hidden(path: &Path) -> bool {
    path.file_name().unwrap().to_string_lossy().starts_with(".longwatch-")
}

fn names(folder: &Path) -> Vec<String> {
    contents(folder).into_keys().collect()
}

fn temporary() -> TempDir {
    tempfile::tempdir().unwrap()
}

/// Everything that a run with charts writes.
fn all_files() -> Vec<String> {
    let mut names = vec!["ledger.csv".to_owned(), "summary.json".to_owned()];
    for chart in ["balance", "charge", "flows", "volts"] {
        names.push(format!("{chart}.svg"));
        if cfg!(feature = "png") {
            names.push(format!("{chart}.png"));
        }
    }
    names.sort();
    names
}

#[test]
fn run_writes_ledger_summary_and_charts_and_says_where() {
    let folder = temporary();
    let output = expect(0, folder.path(), &["run", &hall(), "--out", "deep/results"]);
    assert_eq!(names(&folder.path().join("deep/results")), all_files());
    let first = out(&output).lines().next().unwrap_or_default().to_owned();
    assert!(first.contains("72 hours") && first.contains("lowest charge"), "{first}");
    assert!(err(&output).contains("deep/results") || err(&output).contains("deep\\results"));

    let files = contents(&folder.path().join("deep/results"));
    let summary: Value = serde_json::from_slice(&files["summary.json"]).unwrap();
    assert_eq!(summary["sentence"], first.as_str());
    let ledger = String::from_utf8(files["ledger.csv"].clone()).unwrap();
    assert_eq!(ledger.lines().count(), 73, "a head and a row an hour");
    for (name, bytes) in &files {
        if name.ends_with(".svg") {
            let text = String::from_utf8(bytes.clone()).unwrap();
            assert!(text.starts_with("<svg") && text.trim_end().ends_with("</svg>"), "{name}");
        }
        if name.ends_with(".png") {
            assert_eq!(&bytes[..8], b"\x89PNG\r\n\x1a\n", "{name}");
        }
    }
}

#[test]
fn without_out_results_go_to_a_folder_named_after_the_scenario() {
    let folder = temporary();
    expect(0, folder.path(), &["run", &hall(), "--no-charts"]);
    assert_eq!(
        names(folder.path()),
        ["output/hall-72h/run/ledger.csv", "output/hall-72h/run/summary.json"]
    );
}

#[test]
fn json_stands_alone_on_standard_output_and_is_the_summary() {
    let folder = temporary();
    let output = expect(0, folder.path(), &["run", &hall(), "--json", "--no-charts", "--out", "x"]);
    let printed: Value = serde_json::from_slice(&output.stdout).unwrap();
    let written = fs::read(folder.path().join("x/summary.json")).unwrap();
    assert_eq!(output.stdout, written);
    for key in [
        "load_wh",
        "served_wh",
        "shed_wh",
        "unserved_wh",
        "no_power_h",
        "first_no_power",
        "lowest_charge_share",
        "lowest_charge_at",
        "end_charge_share",
        "hours_to_full_after",
        "solar_available_wh",
        "solar_used_wh",
        "clipped_wh",
        "curtailed_wh",
        "mains_to_load_wh",
        "mains_to_battery_wh",
        "losses_wh",
        "origin_wh",
        "balance_residual_wh",
        "warnings",
    ] {
        assert!(printed.get(key).is_some(), "no `{key}`");
    }
    assert_eq!(names(&folder.path().join("x")), ["ledger.csv", "summary.json"]);
    // The hall has no generator: it gave 0, not the -0 of an empty sum.
    assert!(!String::from_utf8_lossy(&written).contains("-0.0,"));
}

#[test]
fn the_same_scenario_gives_the_same_bytes() {
    let folder = temporary();
    let one = expect(0, folder.path(), &["run", &hall(), "--out", "one"]);
    let two = expect(0, folder.path(), &["run", &hall(), "--out", "two"]);
    assert_eq!(one.stdout, two.stdout);
    assert!(contents(&folder.path().join("one")) == contents(&folder.path().join("two")));
}

#[test]
fn a_new_station_runs_from_the_pipe_and_from_its_file() {
    let folder = temporary();
    let written = expect(0, folder.path(), &["new"]);
    let mut run = program(folder.path(), &["run", "-", "--no-charts"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    run.stdin.take().unwrap().write_all(&written.stdout).unwrap();
    let piped = run.wait_with_output().unwrap();
    assert_eq!(code(&piped), 0, "{}", err(&piped));
    assert!(folder.path().join("output/standard-input/run/summary.json").is_file());

    expect(0, folder.path(), &["new", "station.json"]);
    let filed = expect(0, folder.path(), &["run", "station.json", "--no-charts"]);
    assert_eq!(filed.stdout, piped.stdout);
    // A file that is there is not replaced unasked.
    let refused = expect(2, folder.path(), &["new", "station.json"]);
    assert!(err(&refused).contains("--force"), "{}", err(&refused));
}

#[test]
fn check_is_quiet_about_shipped_scenarios_but_for_guesses_and_nameplates() {
    let folder = temporary();
    for name in ["hall-72h.json", "ridge-relay.json", "harbour-south.json"] {
        let path = scenario(name).display().to_string();
        let output = expect(0, folder.path(), &["check", &path]);
        // Where the first line is folded depends on how long the path is.
        let said = out(&output).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains(" 0 serious"), "{said}");
        let json = expect(0, folder.path(), &["check", "--json", &path]);
        let value: Value = serde_json::from_slice(&json.stdout).unwrap();
        assert_eq!(value["ok"], true);
        for warning in value["warnings"].as_array().unwrap() {
            // A variant may be a bad idea: that is what it is tried for.
            let path = warning["path"].as_str().unwrap_or_default();
            let kind = warning["kind"].as_str().unwrap();
            let quiet = ["guess", "nameplate"].contains(&kind) || path.starts_with("variants.");
            assert!(quiet, "{name}: {warning}");
        }
    }
    assert!(names(folder.path()).is_empty(), "check writes nothing");
}

#[test]
fn exit_codes_say_what_went_wrong_and_standard_output_stays_empty() {
    let folder = temporary();
    let broken =
        fs::read_to_string(hall()).unwrap().replace("\"tilt_deg\": 60", "\"tilt_deg\": 600");
    fs::write(folder.path().join("broken.json"), broken).unwrap();
    let cases: [(i32, &[&str], &str); 9] = [
        (1, &["check", "broken.json"], "tilt_deg"),
        (1, &["run", "broken.json"], "tilt_deg"),
        (2, &["run"], "Usage"),
        (2, &["rnu", "broken.json"], "run"),
        (2, &["run", &hall(), "--no-chart"], "--no-charts"),
        (2, &["new", "--latitude", "95"], "80"),
        (4, &["run", "missing.json"], "missing.json"),
        (4, &["check", "missing.json"], "missing.json"),
        (4, &["run", &hall(), "--out", "broken.json"], "broken.json"),
    ];
    for (wanted, arguments, word) in cases {
        let output = expect(wanted, folder.path(), arguments);
        assert!(err(&output).contains(word), "{arguments:?}: {}", err(&output));
        assert!(out(&output).is_empty(), "{arguments:?}: {}", out(&output));
    }
    assert_eq!(names(folder.path()), ["broken.json"], "a failed command writes nothing");
    for arguments in [&["--help"][..], &["run", "--help"], &["--version"], &["schema"]] {
        let output = expect(0, folder.path(), arguments);
        assert!(err(&output).is_empty() && !out(&output).is_empty(), "{arguments:?}");
    }
}

#[test]
fn another_strategy_of_the_scenario_can_be_put_in_force() {
    let folder = temporary();
    let summary = |strategy: &str| -> Value {
        let arguments =
            ["run", &hall(), "--json", "--no-charts", "--out", "x", "--strategy", strategy];
        serde_json::from_slice(&expect(0, folder.path(), &arguments).stdout).unwrap()
    };
    let (with, without) = (summary("charger on"), summary("solar only"));
    assert_eq!(with["strategy"], "charger on");
    assert_eq!(without["strategy"], "solar only");
    let start = |of: &Value| of["start_charge_share"].as_f64().unwrap();
    assert!(start(&with) > start(&without) + 0.2, "{} {}", start(&with), start(&without));

    let misspelt = ["run", &hall(), "--no-charts", "--strategy", "solar onyl"];
    let output = expect(2, folder.path(), &misspelt);
    assert!(err(&output).contains("did you mean `solar only`?"), "{}", err(&output));
    assert!(err(&output).contains("`charger on`"), "{}", err(&output));
    assert!(!folder.path().join("output").exists());
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let folder = temporary();
    for arguments in [&["schema"][..], &["run", &hall(), "--no-charts"], &["new"], &["--help"]] {
        let mut child = program(folder.path(), arguments)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        assert_eq!(code(&output), 0, "{arguments:?}: {}", err(&output));
        let said = err(&output);
        assert!(!said.contains("error") && !said.contains("panicked"), "{arguments:?}: {said}");
    }
}

#[test]
fn colour_comes_only_where_it_is_wanted() {
    let folder = temporary();
    let escapes = |output: &Output| out(output).contains('\x1b') || err(output).contains('\x1b');
    let missing = ["check", "missing.json"];
    let plain = ["run", &hall(), "--no-charts"];
    assert!(!escapes(&run_in(folder.path(), &plain)), "a pipe is no terminal");
    assert!(!escapes(&run_in(folder.path(), &missing)));
    assert!(escapes(&run_in(folder.path(), &["check", "missing.json", "--color", "always"])));
    for (name, value) in [("NO_COLOR", "1"), ("TERM", "dumb")] {
        let output = program(folder.path(), &missing).env(name, value).output().unwrap();
        assert!(!escapes(&output), "{name}");
    }
    let never = ["run", &hall(), "--no-charts", "--color", "never"];
    assert!(!escapes(&program(folder.path(), &never).env("CLICOLOR_FORCE", "1").output().unwrap()));
}

/// A file that cannot be written ends the run with code 4, names the file, and leaves neither a
/// part of it nor a temporary file; what was there before stays as it was.
#[test]
fn nothing_is_left_half_written() {
    let folder = temporary();
    let results = folder.path().join("x");
    fs::create_dir_all(results.join("summary.json").join("in the way")).unwrap();
    let output = expect(4, folder.path(), &["run", &hall(), "--out", "x"]);
    assert!(err(&output).contains("summary.json"), "{}", err(&output));
    assert!(out(&output).is_empty());
    let left = contents(&results);
    let endings = [".csv", ".svg", ".png"];
    let whole = |name: &str| !name.starts_with('.') && endings.iter().any(|it| name.ends_with(it));
    assert!(left.keys().all(|name| whole(name)), "{:?}", left.keys());
    let ledger = String::from_utf8(left["ledger.csv"].clone()).unwrap();
    assert_eq!(ledger.lines().count(), 73, "whole, not a part");
}

#[test]
fn a_measured_series_is_found_beside_the_scenario_from_anywhere() {
    let folder = temporary();
    let path = scenario("ridge-relay.json").display().to_string();
    let output = expect(0, folder.path(), &["run", &path, "--json", "--no-charts", "--out", "x"]);
    let summary: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(summary["hours"], 8760.0);
    assert!(
        summary["curtailed_wh"].as_f64().unwrap()
            > 0.3 * summary["solar_available_wh"].as_f64().unwrap()
    );
    let rows = fs::read_to_string(folder.path().join("x/ledger.csv")).unwrap().lines().count();
    assert_eq!(rows, 8761);
}

/// A trial has its own ledger, the same again with the same seed; a seed alone is a slip.
#[test]
fn any_trial_is_played_again() {
    let folder = temporary();
    let ledger = |trial: &str, seed: &str, out: &str| {
        let output = expect(
            0,
            folder.path(),
            &["run", &hall(), "--trial", trial, "--seed", seed, "--no-charts", "--out", out],
        );
        let told = String::from_utf8_lossy(&output.stdout).replace('\n', " ");
        assert!(told.contains(&format!("trial {trial} of seed {seed}")), "{told}");
        fs::read_to_string(folder.path().join(out).join("ledger.csv")).unwrap()
    };
    let one = ledger("17", "3", "a");
    assert_eq!(one, ledger("17", "3", "b"));
    assert_ne!(one, ledger("18", "3", "c"));
    assert_ne!(one, ledger("17", "4", "d"));
    let output = expect(2, folder.path(), &["run", &hall(), "--seed", "3"]);
    assert!(err(&output).contains("--trial"), "{}", err(&output));
}
