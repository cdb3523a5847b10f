//! `size` as its user runs it.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::{Value, json};

use super::support::text;

fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_longwatch"));
    command.current_dir(folder).arg("size").args(arguments).stdin(Stdio::null());
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "COLUMNS"] {
        command.env_remove(name);
    }
    command.output().unwrap()
}

fn texts(output: &Output) -> (String, String) {
    (
        String::from_utf8(output.stdout.clone()).unwrap(),
        String::from_utf8(output.stderr.clone()).unwrap(),
    )
}

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let name = |path: &Path| path.file_name().unwrap().to_string_lossy().into_owned();
    let all = entries.map(|path| (name(&path), fs::read(&path).unwrap()));
    all.filter(|(name, _)| !name.starts_with('.')).collect()
}

/// The hall with fewer sizes and fewer settling days: what it says matters here, not what comes out.
fn small_hall(folder: &Path) {
    let mut hall: Value = serde_json::from_str(&text("scenarios/hall-72h.json")).unwrap();
    hall["start"]["warmup_days"] = json!(2);
    hall["sizing"]["panels"]["counts"] = json!([2, 6, 12]);
    hall["sizing"]["battery"]["strings"]["counts"] = json!([4, 10, 14, 18]);
    fs::write(folder.join("hall.json"), hall.to_string()).unwrap();
}

#[test]
fn sizes_are_told_and_written_the_same_on_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    small_hall(here);
    let mut said = Vec::new();
    for threads in ["1", "7"] {
        let out = format!("on-{threads}");
        let output =
            run(here, &["hall.json", "--trials", "1500", "--threads", threads, "--out", &out]);
        let (out, err) = texts(&output);
        assert_eq!(output.status.code(), Some(0), "{out}\n{err}");
        assert!(err.contains("Sizing, stations and chart: on-"), "{err}");
        said.push(out);
    }
    assert_eq!(said[0], said[1]);
    let written = files(&here.join("on-1"));
    assert!(written == files(&here.join("on-7")), "the files differ");
    for name in ["size.json", "stations.csv", "size-frontier.svg"] {
        assert!(written.contains_key(name), "{:?}", written.keys());
    }
    assert!(said[0].starts_with("Cheapest: "), "{}", said[0]);
    for line in said[0].lines() {
        assert!(line.chars().count() <= 80, "{} columns: {line}", line.chars().count());
    }
    let value: Value = serde_json::from_slice(&written["size.json"]).unwrap();
    let sentence = value["sentence"].as_str().unwrap();
    assert!(said[0].replace('\n', " ").starts_with(sentence), "{sentence}");
    // Every station that was simulated stands in the table, and those of the fresh trials.
    let rows = String::from_utf8(written["stations.csv"].clone()).unwrap();
    let count = |kind: &str| rows.lines().filter(|line| line.starts_with(kind)).count();
    assert_eq!(count("search"), value["simulated"].as_array().unwrap().len());
    let told =
        ["smaller", "larger", "missed"].iter().map(|key| value[key].as_array().unwrap().len());
    assert_eq!(count("fresh"), 1 + told.sum::<usize>());
}

#[test]
fn a_target_out_of_reach_ends_with_3_and_is_written_all_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    small_hall(here);
    let asked = ["hall.json", "--hours", "400", "--lowest-tier", "full traffic", "--trials", "300"];
    let output = run(here, &[&asked[..], &["--json", "--no-charts", "--out", "out"]].concat());
    let (out, err) = texts(&output);
    assert_eq!(output.status.code(), Some(3), "{out}\n{err}");
    assert!(
        err.contains("No station to choose from is on the air for all 400 hours, never below"),
        "{err}"
    );
    let value: Value = serde_json::from_str(&out).unwrap();
    assert!(value["chosen"].is_null() && !value["largest"].is_null());
    assert_eq!(files(&here.join("out")).len(), 2);
}

#[test]
fn every_smallest_station_and_a_command_line_that_is_wrong() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    small_hall(here);
    let common = ["hall.json", "--trials", "600", "--no-charts", "--out", "out"];
    let output = run(here, &[&common[..], &["--minimize", "all"]].concat());
    let (out, err) = texts(&output);
    assert_eq!(output.status.code(), Some(0), "{out}\n{err}");
    assert!(out.contains("smallest station"), "{out}");
    for (flags, said) in [
        (&["--target", "1"][..], "1 % or 100 %? write 1% or 100%"),
        (&["--target", "100%"][..], "no number of trials can prove 100 %"),
        (&["--lowest-tier", "net only"][..], "did you mean `nets only`?"),
        (&["--minimize", "weight"][..], "cost"),
        (&["--hours", "0"][..], "1..=87840"),
    ] {
        let output = run(here, &[&common[..], flags].concat());
        let (out, err) = texts(&output);
        assert_eq!(output.status.code(), Some(2), "{out}\n{err}");
        assert!(err.contains(said), "{flags:?}: {err}");
    }
    // Masses alone: least mass is what people can mean.
    let mut hall: Value =
        serde_json::from_str(&fs::read_to_string(here.join("hall.json")).unwrap()).unwrap();
    hall["sizing"]["battery"]["strings"]["each"] = json!({"mass_kg": 6});
    fs::write(here.join("hall.json"), hall.to_string()).unwrap();
    let (out, err) = texts(&run(here, &common));
    assert!(out.starts_with("Lightest: "), "{out}\n{err}");
}

/// The report searches on as many trials as the command, so both name the same station.
#[test]
fn the_report_names_the_station_that_size_names() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    small_hall(here);
    let common = ["hall.json", "--trials", "600", "--out", "out"];
    let output = run(here, &[&common[..], &["--no-charts", "--full"]].concat());
    let (out, err) = texts(&output);
    assert_eq!(output.status.code(), Some(0), "{out}\n{err}");
    assert!(out.contains("Never below"), "{out}");
    let value: Value = serde_json::from_slice(&files(&here.join("out"))["size.json"]).unwrap();
    let sentence = value["sentence"].as_str().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .current_dir(here)
        .arg("report")
        .args(common)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let page = String::from_utf8(files(&here.join("out"))["report.html"].clone()).unwrap();
    let plain = page.replace("&quot;", "\"");
    assert!(plain.contains(sentence), "{sentence}");
    // By tier: the fullest needs at least what a lower one needs.
    let tiers = value["by_tier"]["tiers"].as_array().unwrap();
    assert!(tiers.len() >= 2, "{tiers:?}");
    let prices: Vec<f64> = tiers.iter().filter_map(|it| it["station"]["price"].as_f64()).collect();
    assert!(prices.windows(2).all(|two| two[0] >= two[1] - 1e-9), "{prices:?}");
}
