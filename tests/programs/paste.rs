//! Commands that the program prints, through a shell, of files and names that a shell would take
//! for something else.
#![cfg(unix)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::{Value, json};

use super::{err, expect, hall, out, temporary};

const STRATEGY: &str = "$(touch X)";
const VARIANT: &str = "`touch X`; it's \"so\" \\ !1";

/// A folder of an awkward name with a station of awkward names.
fn awkward(here: &Path) -> PathBuf {
    let mut value: Value = serde_json::from_slice(&fs::read(hall()).unwrap()).unwrap();
    value["strategies"][STRATEGY] = value["strategies"]["solar only"].clone();
    let patch = value["variants"]["half the keying"].clone();
    value["variants"] = json!({ VARIANT: patch });
    let folder = here.join("it's $(touch X) & `more`");
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("-ha ll.json"), value.to_string()).unwrap();
    folder
}

/// What a shell makes of a printed command.
fn pasted(here: &Path, command: &str) -> Output {
    let program = Path::new(env!("CARGO_BIN_EXE_longwatch")).parent().unwrap();
    let path = format!("{}:{}", program.display(), std::env::var("PATH").unwrap());
    Command::new("sh")
        .args(["-c", command])
        .current_dir(here)
        .env("PATH", path)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

fn commands(text: &str) -> Vec<String> {
    let found = text.lines().filter_map(|line| Some(line.split_once("longwatch ")?.1));
    found.map(|it| format!("longwatch {it}")).collect()
}

fn is_fine(here: &Path, command: &str) {
    let output = pasted(here, command);
    assert_eq!(output.status.code(), Some(0), "{command}\n{}", err(&output));
    assert!(!here.join("X").exists(), "a name was executed: {command}");
}

#[test]
fn commands_that_play_a_trial_can_be_pasted() {
    let temporary = temporary();
    let here = awkward(temporary.path());
    let file = "./-ha ll.json";
    let trials = ["--trials", "200", "--no-charts", "--full", "--out", "r"];
    let told = [
        &["odds", file, "--strategy", STRATEGY, "--outlook", "overcast, clear"][..],
        &["odds", file, "--variant", VARIANT, "--charge", "50..60%"],
        &["compare", file, "--strategy", STRATEGY, "--variant", VARIANT],
    ];
    let mut pasted = 0;
    for asked in told {
        let output = expect(0, &here, &[asked, &trials].concat());
        let commands = commands(&out(&output));
        assert!(!commands.is_empty(), "{}", out(&output));
        for command in commands {
            is_fine(&here, &format!("{command} --no-charts"));
            pasted += 1;
        }
    }
    assert!(pasted >= 5, "{pasted}");
    // The trial is that of the strategy that was named: its folder says so, and holds nothing else's.
    let folders = fs::read_dir(here.join("output/-ha ll")).unwrap().count();
    assert!(folders >= 4, "{folders}");
}

#[test]
fn commands_that_name_a_file_can_be_pasted() {
    let temporary = temporary();
    let here = awkward(temporary.path());
    let output = expect(0, &here, &["new", "./-a $(touch X)'s.json"]);
    let [next] = &commands(&err(&output))[..] else { panic!("{}", err(&output)) };
    is_fine(&here, &format!("{next} --no-charts"));

    for part in ["1/2", "2/2"] {
        let parts = ["--trials", "40", "--shard", part, "--out", "$(touch X) parts"];
        let output = expect(0, &here, &[&["odds", "./-ha ll.json"], &parts[..]].concat());
        let [join] = &commands(&out(&output))[..] else { panic!("{}", out(&output)) };
        if part == "2/2" {
            is_fine(&here, &format!("{join} --no-charts"));
        }
    }
}
