//! Where results go, and that they never go over what somebody wrote.

use std::fs;

use serde_json::Value;

use super::{code, contents, err, expect, hall, names, program, temporary};

/// The only file that somebody wrote by hand was gone after this.
#[test]
fn results_never_overwrite_what_was_read() {
    let folder = temporary();
    let here = folder.path();
    let text = fs::read(hall()).unwrap();
    for name in ["summary.json", "charge.svg"] {
        fs::write(here.join(name), &text).unwrap();
        let refused = expect(2, here, &["run", "--out", ".", name]);
        assert!(err(&refused).contains("was read for these results"), "{}", err(&refused));
        assert!(refused.stdout.is_empty());
        assert_eq!(names(here), [name], "something was written");
        assert_eq!(fs::read(here.join(name)).unwrap(), text);
        fs::remove_file(here.join(name)).unwrap();
    }
    // The scenario of somebody else, which this run does not read, and one that was changed.
    fs::write(here.join("hall.json"), &text).unwrap();
    fs::write(here.join("summary.json"), &text).unwrap();
    let refused = expect(2, here, &["run", "--out", ".", "hall.json", "--no-charts"]);
    assert!(err(&refused).contains("it is not overwritten"), "{}", err(&refused));
    assert_eq!(fs::read(here.join("summary.json")).unwrap(), text);
    assert!(!here.join("ledger.csv").exists());
}

#[test]
fn results_never_overwrite_a_series_of_the_weather() {
    let folder = temporary();
    let here = folder.path();
    let relay = hall().replace("hall-72h", "ridge-relay");
    let mut relay: Value = serde_json::from_slice(&fs::read(&relay).unwrap()).unwrap();
    let file = relay["sun"]["measured"]["file"].as_str().unwrap().to_owned();
    let scenarios = std::path::Path::new(&hall()).parent().unwrap().to_owned();
    let series = fs::read(scenarios.join(file)).unwrap();
    relay["sun"]["measured"]["file"] = "ledger.csv".into();
    fs::write(here.join("relay.json"), relay.to_string()).unwrap();
    fs::write(here.join("ledger.csv"), &series).unwrap();
    let refused = expect(2, here, &["run", "--out", ".", "relay.json", "--no-charts"]);
    assert!(err(&refused).contains("ledger.csv` was read for these results"), "{}", err(&refused));
    assert!(fs::read(here.join("ledger.csv")).unwrap() == series);
}

#[cfg(unix)]
#[test]
fn a_link_to_what_was_read_is_not_followed() {
    let folder = temporary();
    let here = folder.path();
    fs::copy(hall(), here.join("hall.json")).unwrap();
    fs::create_dir(here.join("r")).unwrap();
    std::os::unix::fs::symlink("../hall.json", here.join("r/summary.json")).unwrap();
    expect(2, here, &["run", "--out", "r", "hall.json", "--no-charts"]);
    assert_eq!(fs::read(here.join("hall.json")).unwrap(), fs::read(hall()).unwrap());
}

#[test]
fn another_command_strategy_variant_or_trial_has_another_folder() {
    let folder = temporary();
    let here = folder.path();
    let hall = hall();
    let run = |more: &[&str]| {
        expect(0, here, &[&["run", hall.as_str(), "--no-charts"], more].concat());
    };
    run(&[]);
    let first = contents(here);
    run(&["--strategy", "solar only"]);
    run(&["--variant", "half the keying"]);
    run(&["--trial", "7"]);
    run(&["--trial", "7", "--seed", "2"]);
    run(&["--charge", "50%"]);
    expect(0, here, &["odds", hall.as_str(), "--trials", "50", "--no-charts"]);
    let all = contents(here);
    let folders: std::collections::BTreeSet<&str> =
        all.keys().map(|name| name.rsplit_once('/').unwrap().0).collect();
    let wanted = [
        "odds",
        "run",
        "run-from-now",
        "run-strategy-solar-only",
        "run-trial-7",
        "run-trial-7-seed-2",
        "run-variant-half-the-keying",
    ];
    let wanted: Vec<String> = wanted.iter().map(|it| format!("output/hall-72h/{it}")).collect();
    assert_eq!(folders.into_iter().collect::<Vec<_>>(), wanted);
    assert!(first.iter().all(|(name, bytes)| all[name] == *bytes), "the first is not as it was");
}

#[test]
fn the_same_command_replaces_its_own_whole_and_leaves_what_others_wrote() {
    let folder = temporary();
    let here = folder.path();
    let hall = hall();
    let shared = |command: &[&str]| {
        let output = program(here, &[command, &["--out", "r"]].concat()).output().unwrap();
        assert_eq!(code(&output), 0, "{}", err(&output));
    };
    shared(&["run", &hall]);
    assert!(here.join("r/charge.svg").is_file());
    fs::write(here.join("r/notes.txt"), "mine").unwrap();
    shared(&["odds", &hall, "--trials", "50"]);
    shared(&["run", &hall, "--no-charts", "--strategy", "solar only"]);
    let left = names(&here.join("r"));
    assert!(!left.iter().any(|name| name == "charge.svg"), "of an earlier run: {left:?}");
    for name in ["ledger.csv", "summary.json", "odds.json", "odds-charge.svg", "notes.txt"] {
        assert!(left.iter().any(|it| it == name), "{name}: {left:?}");
    }
}
