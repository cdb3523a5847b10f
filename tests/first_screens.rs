//! The first screen of every command: at most 24 lines of 80 columns, 40 of 50, warnings counted, and
//! nothing left out without a word.

use std::path::Path;
use std::process::{Command, Output};

use super::support::text;

/// Lines that a terminal of so many columns needs; letters of one column each.
fn lines(text: &str, columns: usize) -> usize {
    text.lines().map(|line| line.chars().count().div_ceil(columns).max(1)).sum()
}

fn run(folder: &Path, columns: &str, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("NO_COLOR", "1")
        .env("COLUMNS", columns)
        .args(arguments)
        .args(if arguments[0] == "now" { vec![] } else { vec!["--out", folder.to_str().unwrap()] })
        .output()
        .unwrap()
}

fn said(output: &Output) -> (String, String) {
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (text(&output.stdout), text(&output.stderr))
}

const HALL: &str = "scenarios/hall-72h.json";
const FIELD: &str = "scenarios/field-weekend.json";

/// Every command that answers, on stations that strain it.
const COMMANDS: [&[&str]; 17] = [
    &["run", HALL, "--no-charts"],
    &["run", HALL, "--no-charts", "--trial", "263"],
    &["run", "scenarios/harbour-south.json", "--no-charts"],
    &["run", "tests/preflight/agm-starter.json", "--no-charts"],
    &["odds", HALL, "--no-charts", "--trials", "200"],
    &["odds", FIELD, "--no-charts", "--trials", "50"],
    &["odds", "scenarios/ridge-relay.json", "--no-charts", "--trials", "20"],
    &["compare", HALL, "--no-charts", "--trials", "60"],
    &["compare", FIELD, "--no-charts", "--trials", "20"],
    &["calendar", HALL, "--no-charts", "--trials", "4", "--hours", "72"],
    &["without", HALL, "--no-charts", "--trials", "60"],
    &["without", FIELD, "--no-charts", "--trials", "20"],
    &["size", HALL, "--no-charts", "--trials", "500"],
    &["now", HALL, "--charge", "80%", "--at", "2027-01-19T00:00"],
    &["now", FIELD, "--charge", "60%"],
    &["card", HALL, "--no-charts", "--trials", "200"],
    &["exercise", "scenarios/club-weekend.json", "--no-charts", "--trials", "40"],
];

#[test]
fn every_first_screen_fits_and_names_what_it_leaves_out() {
    let folder = tempfile::tempdir().unwrap();
    let mut table = String::new();
    for arguments in COMMANDS {
        let mut counted = Vec::new();
        for (columns, most) in [(80, 24), (50, 40)] {
            let output = run(folder.path(), &columns.to_string(), arguments);
            assert!(matches!(output.status.code(), Some(0 | 3)), "{arguments:?}: {output:?}");
            let (out, err) = said(&output);
            let all = lines(&out, columns) + lines(&err, columns);
            assert!(all <= most, "{arguments:?}: {all} lines of {columns}\n{err}{out}");
            let (full, _) = said(&run(folder.path(), "80", &[arguments, &["--full"][..]].concat()));
            let left_out = out.contains("`--full` shows all.") || out.contains("more: --full");
            assert_eq!(left_out, out != full, "{out}\n{full}");
            counted.push(all);
        }
        table += &format!("{:3} {:3}  {}\n", counted[0], counted[1], arguments.join(" "));
    }
    println!("lines at 80 and 50 columns\n{table}");
}

#[test]
fn full_prints_what_the_first_screen_leaves_out() {
    let folder = tempfile::tempdir().unwrap();
    let arguments = ["odds", HALL, "--no-charts", "--trials", "200"];
    let (short, short_err) = said(&run(folder.path(), "80", &arguments));
    let (full, full_err) = said(&run(folder.path(), "80", &[&arguments[..], &["--full"]].concat()));
    assert!(!short.contains("To look at") && full.contains("To look at"), "{short}{full}");
    assert!(!full.contains("Not shown"), "{full}");
    let told = short.split("\nNot shown").next().unwrap();
    for line in told.lines() {
        assert!(full.contains(line), "{line}");
    }
    assert!(short_err.contains("3 guesses, 1 rated value: `check --guesses`"), "{short_err}");
    assert!(full_err.contains("3 inputs are guesses: arrays.roof.loss_share"), "{full_err}");
}

#[test]
fn check_lists_every_guess_with_its_line() {
    let output = Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(["check", "--guesses", HALL])
        .output()
        .unwrap();
    let (out, _) = said(&output);
    assert_eq!(output.status.code(), Some(0), "{out}");
    assert!(out.starts_with("scenarios/hall-72h.json: 3 guesses, 1 rated value."), "{out}");
    let file = text(HALL);
    for (path, key) in [
        ("arrays.roof.loss_share", "loss_share"),
        ("loads.voice set.transmit_share", "transmit_share"),
        ("battery.lithium_iron_phosphate.capacity_ah", "capacity_ah"),
    ] {
        let row = out.lines().find(|line| line.contains(path)).unwrap_or_else(|| panic!("{out}"));
        let line: usize = row.split_whitespace().next().unwrap().parse().unwrap();
        assert!(file.lines().nth(line - 1).unwrap().contains(key), "{row}");
    }
}
