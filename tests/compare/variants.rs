//! One variant by itself: `--variant` of the commands that look at one station.

use std::fs;
use std::path::Path;

use serde_json::{Value, json};

use super::programs::{fine, hall, refused, run, texts};
use super::support::{merge, text};

fn json_of(folder: &Path, arguments: &[&str]) -> Value {
    serde_json::from_str(&fine(folder, arguments).0).unwrap()
}

/// The same as the file into which the patch is merged by hand.
#[test]
fn a_variant_runs_as_the_file_that_has_it_merged() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let mut value: Value = serde_json::from_str(&text("scenarios/hall-72h.json")).unwrap();
    let patch = value["variants"]["one more panel"].clone();
    let title = format!("{} (one more panel)", value["title"].as_str().unwrap());
    merge(&mut value, &patch);
    merge(&mut value, &json!({"variants": null, "title": title}));
    fs::write(here.join("merged.json"), format!("{value:#}")).unwrap();
    let hall = hall();
    let variant = [hall.as_str(), "--variant", "one more panel"];
    let told = |with: &[&str], more: &[&str]| fine(here, &[with, more].concat()).0;
    let plain = ["--no-charts", "--json"];
    assert_eq!(
        told(&[&["run"], &variant[..]].concat(), &plain),
        told(&["run", "merged.json"], &plain)
    );
    let (base, its) =
        ("output/merged/run/ledger.csv", "output/hall-72h/run-variant-one-more-panel/ledger.csv");
    assert_eq!(fs::read(here.join(its)).unwrap(), fs::read(here.join(base)).unwrap());
    let days = ["--charge", "60%", "--outlook", "overcast, clear", "--json"];
    assert_eq!(
        told(&[&["now"], &variant[..]].concat(), &days),
        told(&["now", "merged.json"], &days)
    );
    assert_ne!(told(&["run", hall.as_str()], &plain), told(&["run", "merged.json"], &plain));
}

#[test]
fn odds_and_replays_of_a_variant_are_those_of_the_comparison() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    // The old rule loses storms with the variant and without: there is something to look at.
    let mut old: Value = serde_json::from_str(&text("scenarios/hall-72h.json")).unwrap();
    old["shedding"] = old["variants"]["old rule"]["shedding"].clone();
    let half = old["variants"]["half the keying"].clone();
    old["variants"] = json!({"half the keying": half});
    fs::write(here.join("hall.json"), old.to_string()).unwrap();
    let hall = "hall.json";
    let (trials, variant) = (["--trials", "200", "--no-charts"], ["--variant", "half the keying"]);
    let compared = ["compare", hall, "--strategy", "charger on", "--json"];
    let all = json_of(here, &[&compared[..], &variant, &trials].concat());
    let alone = json_of(here, &[&["odds", hall, "--json"], &variant[..], &trials].concat());
    let of = |at: usize| all["stations"][at]["lasted"].as_u64().unwrap();
    assert_eq!(alone["trials"].as_u64().unwrap() - alone["failures"].as_u64().unwrap(), of(1));
    assert!(of(1) != of(0), "nothing to tell them apart by");
    // What the comparison says how to look at is done as it is said.
    let compared = ["compare", hall, "--strategy", "charger on"];
    let (table, _) = fine(here, &[&compared[..], &variant, &trials, &["--full"]].concat());
    let commands = || table.lines().filter_map(|line| Some(line.split_once("longwatch ")?.1));
    let ends: Vec<&str> = commands().filter_map(|it| Some(it.split_once(" --trial ")?.1)).collect();
    let [variant, strategy] = ends[..] else { panic!("{table}") };
    assert!(variant.ends_with(" --variant \"half the keying\""), "{table}");
    assert!(strategy.ends_with(" --strategy \"charger on\""), "{table}");
    for command in commands() {
        let quoted = command.split('"').enumerate().flat_map(|(at, part)| match at % 2 {
            0 => part.split_whitespace().collect::<Vec<_>>(),
            _ => vec![part],
        });
        let told = json_of(here, &quoted.chain(["--no-charts", "--json"]).collect::<Vec<_>>());
        assert!(
            told["no_power_h"].as_f64() > Some(0.0) || told["off_air_tier_h"].as_f64() > Some(0.0)
        );
    }
}

#[test]
fn a_variant_that_there_is_not_is_told_with_what_was_meant() {
    let folder = tempfile::tempdir().unwrap();
    let hall = hall();
    for command in ["run", "odds", "now", "size", "card", "without", "report", "check"] {
        let said = refused(folder.path(), &[command, hall.as_str(), "--variant", "shed soner"], 2);
        assert!(said.contains("no variant `shed soner`; did you mean `shed sooner`?"), "{said}");
    }
    let other = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/cold-node.json");
    let said = refused(folder.path(), &["run", other.to_str().unwrap(), "--variant", "x"], 2);
    assert!(said.contains("it has no `variants`"), "{said}");
}

/// More strings feed a short circuit with more than the fuses of the hall are made to break: the
/// station as it stands is fine, that variant is not.
#[test]
fn variants_are_examined_like_the_station() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let hall = hall();
    let all = json_of(here, &["check", hall.as_str(), "--json"]);
    assert_eq!(all["counts"]["serious"], 0);
    let rows = all["variants"].as_array().unwrap();
    let names: Vec<&str> = rows.iter().map(|row| row["name"].as_str().unwrap()).collect();
    let wanted =
        ["one more panel", "two more strings", "half the keying", "shed sooner", "old rule"];
    assert_eq!(names, wanted);
    let strings = &rows[1];
    assert!(strings["counts"]["serious"].as_u64().unwrap() > 0, "{strings:#}");
    assert_eq!(rows[3]["counts"]["serious"], 0);
    let arguments = ["check", hall.as_str(), "--variant", "two more strings", "--json"];
    let output = run(here, &arguments);
    assert_eq!(output.status.code(), Some(3));
    let alone: Value = serde_json::from_str(&texts(&output).0).unwrap();
    assert_eq!(alone["counts"], strings["counts"]);
    assert!(alone["variants"].as_array().unwrap().is_empty());
    let serious = alone["findings"].as_array().unwrap().iter();
    let mut serious = serious.filter(|it| it["severity"] == "serious");
    assert!(serious.all(|it| it["subject"] == "fuse_interrupt"), "{alone:#}");
}
