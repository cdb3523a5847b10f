//! The list of retired phrases can fail, and leaves plain English alone; what the program prints for the
//! shipped scenarios has none of them.

use std::path::Path;
use std::process::{Command, Stdio};

use clap::CommandFactory as _;
use longwatch::cli::Cli;
use serde_json::Value;

use crate::support::retired::{RETIRED, found, long_sentences};
use crate::support::shipped;
use crate::support::texts::texts_of;

/// Sentences as they once stood in the program.
const PLANTED: [&str; 12] = [
    "On the air for all 72 hours in 7,425 of 10,000 storms.",
    "The station goes dark before the second morning.",
    "Dark for 1,811 of 4,344 hours, first on Wednesday.",
    "The readiness is 74 %.",
    "Each tier is held in 95 of 100 skies.",
    "Key of the random numbers: the same trials wherever it is the same.",
    "The pre-flight examines every wire before anybody connects anything.",
    "Below 10.2 V the board opens and takes the loads off.",
    "Keying until Thursday 20:00, minutes an hour.",
    "The club is down for 0.73 h on the mean.",
    "The hand method says 600 W and 400 Ah.",
    "Lose each part in turn, move each guess: what hurts most.",
];

/// Sentences that stay.
const PLAIN: [&str; 12] = [
    "On the air in 9,683 of 10,000 simulated outages.",
    "Storms dim the sun and take the mains together.",
    "A dark spell is several days with little light.",
    "Mains is utility power from the grid.",
    "The tier \"silent, ready\" is one that a user named.",
    "The key `preflight` and the phrase `hand method` are code here.",
    "The column dark_h is a name of a column.",
    "A vehicle has an engine of its own.",
    "The wire carries current to the radio.",
    "Set the thresholds again before you buy a battery.",
    "`odds` counts how many trials stay on the air.",
    "Tools burn, and rings weld, when they cross the poles.",
];

#[test]
fn planted_sentences_are_found() {
    for sentence in PLANTED {
        assert!(!found(sentence).is_empty(), "not found: {sentence}");
    }
}

#[test]
fn plain_sentences_are_left_alone() {
    for sentence in PLAIN {
        assert!(found(sentence).is_empty(), "{sentence}: {:?}", found(sentence));
    }
}

#[test]
fn every_phrase_is_found_where_it_stands() {
    for retired in RETIRED {
        let sentence = format!("Here {} stands again.", retired.phrase.replace('#', "9,683"));
        let names = found(&sentence);
        assert!(names.iter().any(|it| it.contains(retired.phrase)), "{sentence}: {names:?}");
        assert!(!retired.plain.is_empty());
    }
}

#[test]
fn phrases_are_found_across_lines_and_marks() {
    assert!(!found("It fails in 12 of 100\nstorms, as told.").is_empty());
    assert!(!found("The (pre-flight) finds it.").is_empty());
    assert!(found("```\nreadiness\n```\n").is_empty());
}

#[test]
fn long_sentences_are_counted() {
    let twenty = ["word"; 20].join(" ");
    assert!(long_sentences(&format!("{twenty}. {twenty}."), 20).is_empty());
    assert_eq!(long_sentences(&format!("{twenty} more."), 20).len(), 1);
    assert!(
        long_sentences(&format!("- {twenty}\n- {twenty}\n\n| {twenty} | more |"), 20).is_empty()
    );
    assert!(long_sentences(&format!("## A heading\n{twenty}"), 20).is_empty());
    assert_eq!(long_sentences(&format!("- {twenty}\n  more\n"), 20).len(), 1);
}

/// What is run for every shipped scenario, behind its file. `size` is run once: it takes longest.
const RUNS: [&[&str]; 7] = [
    &["run"],
    &["odds", "--trials", "200"],
    &["compare", "--trials", "200"],
    &["without", "--trials", "50"],
    &["now", "--charge", "0.5"],
    &["check"],
    &["check", "--full"],
];

/// Maps of a scenario whose keys are names that its user gave.
const NAMED: [&str; 10] = [
    "arrays",
    "controllers",
    "loads",
    "outlet_groups",
    "strategies",
    "variants",
    "windows",
    "packs",
    "stations",
    "each",
];

/// Names that a user gave: keys of maps of things, names of tiers, titles, notes.
fn names_of(value: &Value, named: bool, into: &mut Vec<String>) {
    match value {
        Value::Object(fields) => {
            for (key, inner) in fields {
                if named {
                    into.push(key.clone());
                }
                if let ("name" | "title" | "notes" | "what", Value::String(text)) =
                    (key.as_str(), inner)
                {
                    into.push(text.clone());
                }
                names_of(inner, NAMED.contains(&key.as_str()), into);
            }
        }
        Value::Array(items) => items.iter().for_each(|inner| names_of(inner, false, into)),
        _ => {}
    }
}

/// Runs the program and gives what it printed, results and warnings. Any of its own exit codes but
/// those of a wrong command line will do.
fn printed(folder: &Path, arguments: &[&str]) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_longwatch"));
    command.current_dir(folder).args(arguments).env("COLUMNS", "200").stdin(Stdio::null());
    let output = command.output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let warned = String::from_utf8(output.stderr).unwrap();
    assert!(matches!(output.status.code(), Some(0 | 3)), "{arguments:?}: {warned}");
    assert!(text.len() > 100, "{arguments:?} printed: {text}");
    text + &warned
}

/// Every retired phrase that a run prints, with the command.
fn retired_in(arguments: &[&str], file: &Path) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let scenario: Value = serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    let mut names = Vec::new();
    names_of(&scenario, false, &mut names);
    names.sort_by_key(|name| std::cmp::Reverse(name.len()));
    let path = file.display().to_string();
    let choices = |key: &str| scenario[key].as_object().map_or(0, serde_json::Map::len);
    if arguments[0] == "compare" && choices("strategies") + choices("variants") < 2 {
        return Vec::new();
    }
    let mut all = vec![arguments[0], path.as_str()];
    all.extend(&arguments[1..]);
    if arguments[0] != "check" {
        all.push("--full");
    }
    if !matches!(arguments[0], "check" | "now") {
        all.push("--no-charts");
    }
    let mut text = printed(folder.path(), &all);
    text = text.replace(&path, "x");
    for name in names.iter().filter(|name| !name.is_empty()) {
        text = text.replace(name, "x");
    }
    let at = file.file_name().unwrap().to_string_lossy();
    found(&text).into_iter().map(|it| format!("{} of {at}: {it}", arguments.join(" "))).collect()
}

#[test]
fn printed_results_have_no_retired_phrase() {
    let folder = shipped::folder();
    let files: Vec<_> =
        shipped::shipped().iter().map(|it| folder.join(format!("{}.json", it.name))).collect();
    let mut all: Vec<(Vec<&str>, &Path)> = Vec::new();
    for file in &files {
        all.extend(RUNS.iter().map(|run| (run.to_vec(), file.as_path())));
    }
    let (hall, club) = (folder.join("hall-72h.json"), folder.join("club-weekend.json"));
    all.push((vec!["size", "--trials", "200", "--hours", "72"], &hall));
    all.push((vec!["exercise", "--trials", "50"], &club));
    let mut wrong = Vec::new();
    for (arguments, file) in all {
        wrong.extend(retired_in(&arguments, file));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn help_has_no_retired_phrase() {
    let mut wrong = Vec::new();
    let top = Cli::command();
    let names: Vec<String> = top.get_subcommands().map(|it| it.get_name().to_owned()).collect();
    assert!(names.len() > 10, "{names:?}");
    for name in std::iter::once(None).chain(names.iter().map(Some)) {
        let mut command = Cli::command();
        let text = match name {
            None => command.render_long_help(),
            Some(name) => command.find_subcommand_mut(name).unwrap().render_long_help(),
        };
        wrong.extend(found(&text.to_string()).into_iter().map(|it| format!("{name:?}: {it}")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Where retired words stand on purpose: the table of old names.
const OLD_NAMES: &[&str] = &["scenario/renamed.rs", "scenario/renamed/tests.rs"];

#[test]
fn comments_and_sentences_of_the_source_have_no_retired_phrase() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut open = vec![src.clone()];
    let (mut wrong, mut read) = (Vec::new(), 0);
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
                continue;
            }
            let name = path.strip_prefix(&src).unwrap().display().to_string();
            if !name.ends_with(".rs") || OLD_NAMES.contains(&name.as_str()) {
                continue;
            }
            for it in texts_of(&std::fs::read_to_string(&path).unwrap()) {
                read += 1;
                wrong.extend(
                    found(&it.text).iter().map(|said| format!("{name}:{}: {said}", it.line)),
                );
            }
        }
    }
    assert!(read > 5_000, "only {read} texts");
    wrong.sort();
    assert!(wrong.is_empty(), "{} retired phrases:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn documents_have_no_retired_phrase() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut wrong = Vec::new();
    for file in
        ["README.md", "DEVELOPERS.md", "scenarios/README.md", "output/README.md", "tests/README.md"]
    {
        let text = std::fs::read_to_string(root.join(file)).unwrap();
        wrong.extend(found(&text).iter().map(|said| format!("{file}: {said}")));
    }
    assert!(wrong.is_empty(), "{} retired phrases:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn texts_of_a_source_are_its_comments_and_sentences() {
    let source = "//! One.\n//! Two.\nfn a() { // three\n let b = \"a long \\\n   sentence\"; let c = '\"';\n \
                  let d: &'static str = r#\"raw \" text here\"#; \"two words\" }\n";
    let texts: Vec<(usize, String)> =
        texts_of(source).into_iter().map(|it| (it.line, it.text)).collect();
    assert_eq!(
        texts,
        [(1, " One.\n Two.\n three\n".to_owned()), (4, "a long sentence".to_owned())]
    );
}
