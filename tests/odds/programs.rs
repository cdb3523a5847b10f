//! `odds` and `merge` as their user runs them.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_longwatch"));
    command.current_dir(folder).args(arguments).stdin(Stdio::null());
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "COLUMNS"] {
        command.env_remove(name);
    }
    command.output().unwrap()
}

fn fine(folder: &Path, arguments: &[&str]) -> (String, String) {
    let output = run(folder, arguments);
    let (out, err) = texts(&output);
    assert_eq!(output.status.code(), Some(0), "{arguments:?}\n{out}\n{err}");
    (out, err)
}

fn refused(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, arguments);
    let (out, err) = texts(&output);
    assert_eq!(output.status.code(), Some(2), "{arguments:?}\n{out}\n{err}");
    assert!(out.is_empty(), "{out}");
    err
}

fn texts(output: &Output) -> (String, String) {
    (
        String::from_utf8(output.stdout.clone()).unwrap(),
        String::from_utf8(output.stderr.clone()).unwrap(),
    )
}

fn hall() -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    root.join("scenarios/hall-72h.json").display().to_string()
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
fn odds_are_told_and_written_and_nothing_is_drawn_off_a_terminal() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let (out, err) =
        fine(here, &["odds", &hall(), "--trials", "200", "--full", "--out", "results"]);
    let first = out.lines().next().unwrap();
    assert!(first.starts_with("On the air for all 72 hours in "), "{out}");
    assert!(first.contains("200"), "{out}");
    assert!(out.contains(&format!("longwatch run {} --seed 1 --trial ", hall())), "{out}");
    assert!(err.contains("Odds, bands and charts: results"), "{err}");
    assert!(!err.contains('\u{1b}') && !err.contains(" left"), "{err}");
    let written = files(&here.join("results"));
    let value: Value = serde_json::from_slice(&written["odds.json"]).unwrap();
    assert_eq!(value["trials"].as_u64(), Some(200));
    assert_eq!(value["seed"].as_u64(), Some(1));
    assert_eq!(value["sentence"].as_str(), Some(first));
    let names: Vec<&str> = written.keys().map(String::as_str).collect();
    for name in ["odds.json", "bands.csv", "odds-charge.svg", "odds-on-air.svg"] {
        assert!(names.contains(&name), "{names:?}");
    }
    assert!(names.iter().all(|name| !name.ends_with(".tmp")), "{names:?}");

    let (json, _) =
        fine(here, &["odds", &hall(), "--trials", "200", "--json", "--no-charts", "--out", "bare"]);
    let bare = files(&here.join("bare"));
    assert_eq!(json.as_bytes(), bare["odds.json"]);
    assert_eq!(bare["odds.json"], written["odds.json"]);
    assert_eq!(bare.len(), 2);
}

fn strs(all: &[String]) -> Vec<&str> {
    all.iter().map(String::as_str).collect()
}

#[test]
fn parts_join_to_the_same_files() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let hall = hall();
    let common = ["odds", hall.as_str(), "--trials", "101", "--seed", "9"];
    fine(here, &[&common[..], &["--out", "whole"]].concat());
    for (part, threads) in [("1/3", "1"), ("2/3", "2"), ("3/3", "7")] {
        let more = ["--shard", part, "--threads", threads, "--out", "parts"];
        let (out, _) = fine(here, &[&common[..], &more].concat());
        assert!(out.starts_with(&format!("Part {} of 3: ", &part[..1])), "{out}");
    }
    let parts = |numbers: &[u8]| -> Vec<String> {
        numbers.iter().map(|it| format!("parts/odds-part-{it}-of-3.json")).collect()
    };
    let join = |numbers: &[u8], out: &str| -> Vec<String> {
        [vec!["merge".to_owned()], parts(numbers), vec!["--out".to_owned(), out.to_owned()]]
            .concat()
    };
    fine(here, &strs(&join(&[3, 1, 2], "joined")));
    assert!(files(&here.join("joined")) == files(&here.join("whole")), "the files differ");

    let said = refused(here, &strs(&join(&[3, 1], "not")));
    assert!(said.contains("part 2 of 3 is missing"), "{said}");
    let said = refused(here, &strs(&join(&[1, 2, 3, 1], "not")));
    assert!(said.contains("part 1 of 3 is there 2 times"), "{said}");
    let other = ["--strategy", "solar only", "--shard", "2/3", "--out", "others"];
    fine(here, &[&common[..], &other].concat());
    let said = refused(
        here,
        &["merge", "parts/odds-part-1-of-3.json", "others/odds-part-2-of-3.json", "--out", "not"],
    );
    assert!(
        said.contains("under \"solar only\"") && said.contains("under \"charger on\""),
        "{said}"
    );
    let said = refused(here, &["merge", "whole/odds.json"]);
    assert!(said.contains("is no part that `odds --shard` wrote"), "{said}");
    assert!(!here.join("not").exists());
}

/// Registers of 512 bits (AVX-512), of 256 (AVX2) and one number at a time: as far as this processor has
/// them, else the widest that it has in their place.
#[test]
fn registers_and_threads_change_no_byte() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let (hall, field) = (hall(), hall().replace("hall-72h", "field-weekend"));
    for scenario in [&hall, &field] {
        let mut first: Option<Vec<u8>> = None;
        for (bits, threads) in [("512", "1"), ("512", "7"), ("256", "2"), ("64", "1")] {
            let arguments = ["--trials", "120", "--threads", threads, "--json", "--no-charts"];
            let output = Command::new(env!("CARGO_BIN_EXE_longwatch"))
                .current_dir(here)
                .env(longwatch::numbers::packed::WIDEST_BITS, bits)
                .args(["odds", scenario])
                .args(arguments)
                .output()
                .unwrap();
            assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
            let same = first.get_or_insert_with(|| output.stdout.clone());
            assert!(*same == output.stdout, "{bits} bits, {threads} threads: {scenario}");
        }
    }
}

/// The trials that the odds name, played again by `run`, come to what the odds say of them.
#[test]
fn named_trials_play_again() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let harbour = root.join("scenarios/harbour-south.json").display().to_string();
    let results = ["--no-charts", "--json", "--out", "results"];
    let odds = ["odds", harbour.as_str(), "--trials", "400", "--seed", "1"];
    let odds: Value = serde_json::from_str(&fine(here, &[&odds[..], &results].concat()).0).unwrap();
    let mut seen = 0;
    for name in ["worst", "median", "first_failing"] {
        let named = &odds["named_trials"][name];
        let Some(trial) = named["trial"].as_u64() else { continue };
        let trial = trial.to_string();
        let run = ["run", harbour.as_str(), "--trial", trial.as_str(), "--seed", "1"];
        let run: Value =
            serde_json::from_str(&fine(here, &[&run[..], &results].concat()).0).unwrap();
        // The odds keep the lowest charge in hundred-thousandths, the energy in micro-watt-hours.
        for (key, within) in [("lowest_charge_share", 0.500_01e-5), ("unserved_wh", 0.500_01e-6)] {
            if let Some(said) = named[key].as_f64() {
                let played = run[key].as_f64().unwrap();
                assert!((said - played).abs() <= within, "{name}, {key}: {said}, {played}");
                seen += 1;
            }
        }
        if name == "first_failing" {
            assert!(run["no_power_h"].as_f64().unwrap() > 0.0);
            seen += 1;
        }
    }
    assert!(seen >= 3, "only {seen} comparisons");
}

/// Uncertain inputs: the same trials with everything as stated stand beside, from parts as well.
#[test]
fn readiness_with_inputs_as_stated_stands_beside() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let text = fs::read_to_string(hall()).unwrap();
    let mut scenario: Value = serde_json::from_str(&text).unwrap();
    scenario["uncertain"] = serde_json::json!({ "load_multiplier": { "uniform": [0.8, 1.4] } });
    fs::write(here.join("unsure.json"), scenario.to_string()).unwrap();
    let common = ["odds", "unsure.json", "--trials", "150", "--no-charts"];
    let (out, _) = fine(here, &[&common[..], &["--out", "whole"]].concat());
    assert!(out.contains("inputs as stated"), "{out}");
    let whole = files(&here.join("whole"));
    let odds: Value = serde_json::from_slice(&whole["odds.json"]).unwrap();
    let stated = &odds["as_stated"];
    assert!(stated["on_air_share"].as_f64().unwrap() >= odds["on_air_share"].as_f64().unwrap());
    assert_eq!(stated["hours"], odds["hours"]);
    for part in ["1/2", "2/2"] {
        fine(here, &[&common[..], &["--shard", part, "--out", "parts"]].concat());
    }
    let join = ["merge", "parts/odds-part-1-of-2.json", "parts/odds-part-2-of-2.json"];
    fine(here, &[&join[..], &["--no-charts", "--out", "joined"]].concat());
    assert!(files(&here.join("joined")) == whole, "the files differ");
}

#[test]
fn rounds_end_when_the_range_is_narrow_enough() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let value = |more: &[&str]| -> Value {
        let hall = hall();
        let common = ["odds", hall.as_str(), "--json", "--no-charts", "--out", "results"];
        serde_json::from_str(&fine(here, &[&common[..], more].concat()).0).unwrap()
    };
    let odds = value(&["--until-half-width", "0.4"]);
    assert_eq!(odds["trials"].as_u64(), Some(1000));
    assert_eq!(odds["ended_early"].as_bool(), Some(false));
    assert!(odds["stopping"]["half_width_reached"].as_f64().unwrap() <= 0.4);
    // No number of trials within the limit is enough: that is said.
    let odds = value(&["--until-half-width", "0.00001", "--trials", "1500"]);
    assert_eq!(odds["trials"].as_u64(), Some(1500));
    let stopping = &odds["stopping"];
    assert!(stopping["half_width_reached"].as_f64().unwrap() > 0.00001);
    assert_eq!(odds["ended_early"].as_bool(), Some(false));
}

#[cfg(unix)]
#[test]
fn an_interrupt_ends_with_what_is_done_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let child = Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .current_dir(here)
        .args(["odds", &hall(), "--trials", "1000000000", "--no-charts", "--out", "results"])
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // Nothing waits for a time here but the sending of the signal; the run is far too long to end.
    std::thread::sleep(std::time::Duration::from_secs(2));
    let sent = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(sent.success());
    let output = child.wait_with_output().unwrap();
    let (out, err) = texts(&output);
    assert_eq!(output.status.code(), Some(0), "{out}\n{err}");
    assert!(err.contains("stopping after the trials under way"), "{err}");
    if out.is_empty() {
        assert!(err.contains("Stopped before a trial was done"), "{err}");
        return;
    }
    assert!(out.contains("Ended early: 1,000,000,000 "), "{out}");
    let odds: Value = serde_json::from_slice(&files(&here.join("results"))["odds.json"]).unwrap();
    assert_eq!(odds["ended_early"].as_bool(), Some(true));
    assert!(odds["trials"].as_u64().unwrap() < 1_000_000_000);
}
