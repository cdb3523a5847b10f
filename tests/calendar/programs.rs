//! `calendar` as its user runs it.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;

fn run(folder: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_longwatch"));
    command.current_dir(folder).args(arguments).stdin(Stdio::null());
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "COLUMNS"] {
        command.env_remove(name);
    }
    let output = command.output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

fn hall() -> String {
    format!("{}/scenarios/hall-72h.json", env!("CARGO_MANIFEST_DIR"))
}

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| !path.file_name().unwrap().to_string_lossy().starts_with('.'))
        .map(|path| {
            (path.file_name().unwrap().to_string_lossy().into_owned(), fs::read(&path).unwrap())
        })
        .collect()
}

#[test]
fn a_calendar_is_told_and_written_the_same_on_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let hall = hall();
    let common = ["calendar", hall.as_str(), "--hours", "72", "--trials", "40", "--full"];
    let two = ["--strategy", "solar only", "--strategy", "when warned"];
    let mut seen = Vec::new();
    for threads in ["1", "7"] {
        let (code, out, err) =
            run(here, &[&common[..], &two, &["--threads", threads, "--out", threads]].concat());
        assert_eq!(code, Some(0), "{out}\n{err}");
        assert!(err.contains(&format!("Calendar and chart: {threads}")), "{err}");
        assert!(!err.contains('\u{1b}') && !err.contains(" left"), "{err}");
        seen.push((out, files(&here.join(threads))));
    }
    assert!(seen[0] == seen[1], "threads make a difference");
    let (out, written) = &seen[0];
    let first = out.lines().next().unwrap();
    assert!(first.contains("is the weakest month"), "{out}");
    assert!(out.lines().skip(1).all(|line| line.chars().count() <= 80), "{out}");
    assert!(out.contains("\"solar only\"") && out.contains("\"when warned\""), "{out}");
    assert!(!out.contains("charger on"), "{out}");

    let value: Value = serde_json::from_slice(&written["calendar.json"]).unwrap();
    assert_eq!(value["sentence"].as_str(), Some(first));
    assert_eq!(value["trials"].as_u64(), Some(40));
    let mut reader = csv::Reader::from_reader(written["calendar.csv"].as_slice());
    let heads: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    assert_eq!(
        heads,
        [
            "month",
            "clock_hour",
            "strategy",
            "trials",
            "kept",
            "chance",
            "chance_wilson_low_95",
            "chance_wilson_high_95"
        ]
    );
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 2 * 12 * 24);
    for (row, point) in rows.iter().zip(
        value["strategies"]
            .as_array()
            .unwrap()
            .iter()
            .flat_map(|strategy| strategy["points"].as_array().unwrap()),
    ) {
        let number = |at: usize| row[at].parse::<f64>().unwrap();
        assert_eq!(number(4), point["kept"].as_f64().unwrap());
        assert_eq!(number(5), number(4) / number(3));
        assert!(number(6) <= number(5) && number(5) <= number(7));
    }
    let names: Vec<&str> = written.keys().map(String::as_str).collect();
    assert!(names.contains(&"calendar.svg"), "{names:?}");

    let few = ["--strategy", "solar only", "--json", "--no-charts", "--out", "bare"];
    let (_, json, _) = run(here, &[&common[..], &few].concat());
    let bare = files(&here.join("bare"));
    assert_eq!(json.as_bytes(), bare["calendar.json"]);
    assert_eq!(bare.len(), 2);
    // A strategy meets the same years whether or not another one is beside it.
    let alone: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(alone["strategies"][0], value["strategies"][0]);
}

#[test]
fn what_is_left_open_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let mut scenario: Value = serde_json::from_str(&fs::read_to_string(hall()).unwrap()).unwrap();
    scenario.as_object_mut().unwrap().remove("storm");
    fs::write(here.join("calm.json"), scenario.to_string()).unwrap();
    scenario["storm"] = serde_json::json!("independent");
    fs::write(here.join("apart.json"), scenario.to_string()).unwrap();
    let few = ["--hours", "24", "--trials", "2", "--strategy", "solar only", "--no-charts"];
    for (name, said, outages) in [
        ("calm.json", "Each outage is taken to come with a storm", "with_storm"),
        ("apart.json", "Outages and weather are drawn independently", "any_sky"),
    ] {
        let (code, out, err) =
            run(here, &[&["calendar", name, "--out", outages][..], &few].concat());
        assert_eq!(code, Some(0), "{out}\n{err}");
        assert!(err.contains(said), "{err}");
        let value: Value =
            serde_json::from_slice(&files(&here.join(outages))["calendar.json"]).unwrap();
        assert_eq!(value["outages"].as_str(), Some(outages));
    }
    // A measured year without a grid: its days are drawn, and nothing fails.
    let ridge = format!("{}/scenarios/ridge-relay.json", env!("CARGO_MANIFEST_DIR"));
    let (code, out, err) = run(
        here,
        &[
            "calendar",
            &ridge,
            "--hours",
            "72",
            "--trials",
            "4",
            "--no-charts",
            "--full",
            "--out",
            "ridge",
        ],
    );
    assert_eq!(code, Some(0), "{out}\n{err}");
    assert!(err.contains("One measured series is not a year of chances"), "{err}");
    assert!(err.contains("There is no mains that could fail"), "{err}");
    let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("The weather is that of 2017."), "{out}");
}

#[test]
fn what_cannot_be_is_refused_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let hall = hall();
    let refused = |more: &[&str]| {
        let (code, out, err) = run(here, &[&["calendar", hall.as_str()][..], more].concat());
        assert_eq!(code, Some(2), "{out}\n{err}");
        assert!(out.is_empty(), "{out}");
        err
    };
    let err = refused(&["--hours", "72", "--strategy", "solar onyl"]);
    assert!(err.contains("did you mean `solar only`"), "{err}");
    assert!(refused(&[]).contains("--hours"));
    assert!(refused(&["--hours", "0"]).contains("1..=1000"));
    assert!(refused(&["--hours", "72", "--clock-hours", "6,24"]).contains("from 0 to 23"));
    assert!(fs::read_dir(here).unwrap().next().is_none(), "something was written");
}
