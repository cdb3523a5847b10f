//! `check` as its user runs it.

use std::process::{Command, Output, Stdio};

use serde_json::Value;

use super::support::text;

pub fn check(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("NO_COLOR", "1")
        .arg("check")
        .args(arguments)
        .output()
        .unwrap()
}

pub fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

#[test]
fn serious_findings_give_exit_code_3_and_sentences_that_mend() {
    let output = check(&["tests/preflight/bad.json", "--full"]);
    assert_eq!(output.status.code(), Some(3), "{}", String::from_utf8_lossy(&output.stderr));
    let said = out(&output);
    assert!(!said.contains(": fine"), "{said}");
    for words in ["serious: group “desk”, drop at peak", "To mend it:", "Basis: ", "-24.21 V"] {
        assert!(said.contains(words), "no `{words}` in:\n{said}");
    }
    assert!(String::from_utf8_lossy(&output.stderr).contains(" serious"));
    let widest = said.lines().skip(1).map(|line| line.chars().count()).max();
    assert!(widest <= Some(80), "{widest:?}");
}

#[test]
fn json_keeps_its_keys_and_has_the_findings() {
    for (file, code) in [("tests/preflight/bad.json", 3), ("scenarios/hall-72h.json", 0)] {
        let output = check(&[file, "--json"]);
        assert_eq!(output.status.code(), Some(code));
        let value: Value = serde_json::from_slice(&output.stdout).unwrap();
        for key in ["file", "title", "ok", "problems", "warnings", "sentence", "counts", "findings"]
        {
            assert!(value.get(key).is_some(), "no `{key}`");
        }
        assert_eq!(value["ok"], true);
        let findings = value["findings"].as_array().unwrap();
        let counted: u64 = ["serious", "caution", "note", "fine"]
            .iter()
            .filter_map(|severity| value["counts"][severity].as_u64())
            .sum();
        assert_eq!(findings.len() as u64, counted);
        let serious = findings.iter().filter(|it| it["severity"] == "serious").count();
        assert_eq!(value["counts"]["serious"].as_u64(), Some(serious as u64));
        assert_eq!(serious > 0, code == 3);
        for finding in findings {
            for key in [
                "subject", "severity", "item", "path", "what", "sentence", "value", "limit",
                "margin", "unit", "basis", "mend",
            ] {
                assert!(finding.get(key).is_some(), "no `{key}` in {finding}");
            }
        }
    }
}

#[test]
fn the_diagram_is_written_when_a_folder_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let named = folder.path().join("deep/er");
    let output = check(&["scenarios/hall-72h.json", "--out", named.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0));
    let svg = std::fs::read_to_string(named.join("diagram.svg")).unwrap();
    assert!(svg.starts_with("<svg xmlns") && svg.contains("role=\"img\""));
    assert!(!cfg!(feature = "png") || named.join("diagram.png").is_file());
    let json = std::fs::read(named.join("check.json")).unwrap();
    let asked = check(&["scenarios/hall-72h.json", "--json"]).stdout;
    assert_eq!(json, asked);
}

#[test]
fn standard_input_is_examined_too_and_findings_do_not_hang_on_the_name() {
    use std::io::Write;
    let mut child = Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .args(["check", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(text("scenarios/hall-72h.json").as_bytes()).unwrap();
    let piped = child.wait_with_output().unwrap();
    assert_eq!(piped.status.code(), Some(0));
    let filed = check(&["scenarios/hall-72h.json"]);
    // The first paragraph begins with the name of the file.
    let rest = |text: String| text.split_once("\n\n").unwrap().1.to_owned();
    assert_eq!(rest(out(&piped)), rest(out(&filed)));
}

/// What `new` writes has nothing serious but that nobody has said a word about its fuses, and it has no
/// number of a fuse, a wire or a distance.
#[test]
fn a_new_station_waits_for_somebody_to_look_at_its_fuses() {
    for more in [&[][..], &["--cells", "16"], &["--cells", "1"], &["--no-mains"], &["--cells", "8"]]
    {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("station.json");
        let made = Command::new(env!("CARGO_BIN_EXE_longwatch"))
            .arg("new")
            .arg(&path)
            .args(more)
            .output()
            .unwrap();
        assert!(made.status.success());
        let output = check(&[path.to_str().unwrap()]);
        assert_eq!(output.status.code(), Some(3), "{more:?}: {}", out(&output));
        let full = check(&[path.to_str().unwrap(), "--full"]);
        assert!(out(&full).contains("Not stated: not examined"), "{more:?}: {}", out(&full));
        let said: Value =
            serde_json::from_slice(&check(&[path.to_str().unwrap(), "--json"]).stdout).unwrap();
        let findings = said["findings"].as_array().unwrap();
        let serious = findings.iter().filter(|it| it["severity"] == "serious");
        assert!(serious.clone().all(|it| it["subject"] == "fused"), "{said:#}");
        assert!(serious.count() > 0);
        assert!(findings.iter().all(|it| it.get("proposal").is_none()), "{said:#}");
        let written = std::fs::read_to_string(&path).unwrap();
        for key in ["fuse\"", "wire\"", "one_way_m", "mm2", "awg", "from_source_m"] {
            assert!(!written.contains(key), "{more:?}: `{key}` in {written}");
        }
    }
}

/// Notes come with sentence and basis, what is always on is ranked, every limit has its basis.
#[test]
fn notes_ranks_and_bases_stand_in_the_text() {
    let said = out(&check(&["scenarios/hall-72h.json", "--full"]));
    let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let value: Value =
        serde_json::from_slice(&check(&["scenarios/hall-72h.json", "--json"]).stdout).unwrap();
    let findings = value["findings"].as_array().unwrap();
    let mut ranked = Vec::new();
    for finding in findings {
        let basis = finding["basis"].as_str().unwrap();
        if finding["value"].is_null() {
            continue;
        }
        assert!(flat.contains(basis), "no `{basis}`");
        if finding["subject"] == "always_on" {
            ranked.push(format!("{}. {}", ranked.len() + 1, finding["item"].as_str().unwrap()));
        } else if finding["severity"] != "fine" {
            assert!(flat.contains(finding["sentence"].as_str().unwrap()), "{finding}");
        }
    }
    let at: Vec<usize> = ranked.iter().map(|line| flat.find(line).expect(line)).collect();
    assert!(at.len() > 1 && at.is_sorted(), "{ranked:?} {at:?}");
    let widest = said.lines().skip(1).map(|line| line.chars().count()).max();
    assert!(widest <= Some(80), "{widest:?}");
}

#[test]
fn the_file_of_a_club_is_told_to_be_one() {
    let output = check(&["scenarios/club-weekend.json"]);
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(said.contains("longwatch exercise scenarios/club-weekend.json"), "{said}");
    assert!(said.lines().count() < 5, "{said}");
}
