//! The table of the figures reached by the checks against published values.
//!
//! Each check leaves its row in `target/figures/ROOM-TEST.csv`. The table gathers them. What the sources of
//! the tests name is held against the table always; what the checks have left, whenever they have.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use super::made::{blessing, markdown, part, root};

/// One check: room, source, quantity.
type Key = (String, String, String);

/// The rest of its row: cases, worst difference, tolerance, unit.
type Reached = [String; 4];

fn folders() -> BTreeSet<PathBuf> {
    let exe = std::env::current_exe().unwrap();
    // .../target/<profile>/deps/<binary>
    let beside = exe.ancestors().nth(3).map(|target| target.join("figures"));
    beside.into_iter().chain([root().join("target/figures")]).collect()
}

/// What the checks have left since they last ran.
fn left() -> BTreeMap<Key, Reached> {
    let mut found = BTreeMap::new();
    for folder in folders() {
        let Ok(entries) = std::fs::read_dir(&folder) else { continue };
        for entry in entries {
            let path = entry.unwrap().path();
            let mut reader = csv::ReaderBuilder::new().flexible(true).from_path(&path).unwrap();
            for record in reader.records() {
                // A file that is being written by another test run.
                let Ok(record) = record else { continue };
                let cell = |at: usize| record.get(at).unwrap_or_default().to_owned();
                let number = |at: usize| cell(at).parse::<f64>().unwrap_or(f64::NAN);
                // A unit may hold commas: "V, Ah or Wh".
                let unit: Vec<&str> = record.iter().skip(6).collect();
                found.insert(
                    (cell(0), cell(1), cell(2)),
                    [cell(3), short(number(4)), short(number(5)), unit.join(",").trim().to_owned()],
                );
            }
        }
    }
    found
}

/// Two figures: enough to judge, and the same wherever it was computed.
fn short(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    if (0.001..1000.0).contains(&value) {
        let bounds = [10.0, 1.0, 0.1, 0.01];
        let places = bounds.iter().position(|bound| value >= *bound).unwrap_or(bounds.len());
        return format!("{value:.places$}");
    }
    format!("{value:.1e}")
}

fn row(key: &Key, reached: &Reached) -> Vec<String> {
    let [cases, worst, tolerance, unit] = reached;
    vec![
        key.0.clone(),
        key.1.clone(),
        key.2.clone(),
        cases.clone(),
        worst.clone(),
        tolerance.clone(),
        unit.clone(),
    ]
}

const HEADS: [&str; 7] =
    ["room", "source", "quantity", "cases", "worst difference", "allowed", "unit"];

/// The table: made from what the checks have left, or as it stands when they have not run. Checks
/// that did not run this time keep their row.
pub fn table() -> String {
    let standing = part("tests/README.md", "figures");
    if !blessing() {
        return standing;
    }
    let left = left();
    assert!(!left.is_empty(), "run `cargo test` first: the checks leave their figures then");
    let rows: Vec<Vec<String>> = left.iter().map(|(key, reached)| row(key, reached)).collect();
    markdown(&HEADS, &rows)
}

/// Rows of the table as they stand: room, source and quantity.
fn standing() -> BTreeMap<Key, Vec<String>> {
    part("tests/README.md", "figures")
        .lines()
        .skip(2)
        .map(|line| {
            let cells: Vec<String> = line
                .replace("\\|", "\u{1}")
                .trim_matches('|')
                .split('|')
                .map(|cell| cell.trim().replace('\u{1}', "|"))
                .collect();
            ((cells[0].clone(), cells[1].clone(), cells[2].clone()), cells)
        })
        .collect()
}

/// Whatever the checks have left stands in the table, with the figure that they reached.
#[test]
fn the_table_holds_what_the_checks_have_left() {
    if blessing() {
        return;
    }
    let standing = standing();
    for (key, reached) in left() {
        let fresh: Vec<String> =
            row(&key, &reached).iter().map(|it| it.trim().to_owned()).collect();
        assert_eq!(
            standing.get(&key),
            Some(&fresh),
            "the table of figures is out of date (`cargo test`, then `BLESS=1 cargo test \
             docs::`; a figure of a check that is gone: delete target/figures)"
        );
    }
}

/// Sources and quantities that the tests name stand in the table, whether they have run or not.
#[test]
fn the_table_names_what_the_tests_name() {
    if blessing() {
        return;
    }
    let standing = standing();
    let known = |text: &str| standing.keys().any(|key| key.1 == text || key.2 == text);
    let mut named = 0;
    let mut missing = Vec::new();
    for (file, text) in test_sources() {
        for name in names_in(&text) {
            named += 1;
            if !known(&name) {
                missing.push(format!("{file}: {name}"));
            }
        }
    }
    assert!(named > 40, "only {named} sources and quantities found in the tests");
    assert!(missing.is_empty(), "not in the table of figures:\n{}", missing.join("\n"));
}

fn test_sources() -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut open = vec![root().join("tests")];
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let below = path.strip_prefix(root().join("tests")).unwrap().to_path_buf();
            let published = below.to_string_lossy().starts_with("published");
            if path.is_dir() && published {
                open.push(path);
            } else if published && path.extension().is_some_and(|it| it == "rs") {
                let file: &Path = &below;
                found.push((file.display().to_string(), std::fs::read_to_string(&path).unwrap()));
            }
        }
    }
    found
}

/// Texts handed to the functions that write figures down: sources and quantities. Names of
/// constants are looked up in the same file; what is put together while running is left out.
fn names_in(text: &str) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    // Function, and which of its arguments are source and quantity.
    let calls: [(&str, &[usize]); 3] =
        [("reached(", &[1, 2]), ("check(", &[0, 1]), ("sampled(", &[0, 1])];
    for (call, places) in calls {
        for (at, _) in text.match_indices(call) {
            let before = text[..at].chars().next_back().unwrap_or(' ');
            if before.is_alphanumeric()
                || before == '_'
                || before == '.'
                || text[..at].ends_with("fn ")
            {
                continue;
            }
            let arguments = arguments(&text[at + call.len()..]);
            for place in places {
                let Some(argument) = arguments.get(*place) else { continue };
                names.extend(literal(argument).or_else(|| constant(text, argument)));
            }
        }
    }
    names
}

/// Arguments up to the bracket that closes the call.
fn arguments(text: &str) -> Vec<String> {
    let mut found = vec![String::new()];
    let (mut depth, mut quoted, mut escaped) = (0, false, false);
    for letter in text.chars() {
        let last = found.len() - 1;
        if quoted {
            found[last].push(letter);
            quoted = letter != '"' || escaped;
            escaped = letter == '\\' && !escaped;
            continue;
        }
        match letter {
            '"' => quoted = true,
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' if depth == 0 => break,
            ')' | ']' | '}' => depth -= 1,
            ',' if depth == 0 => {
                found.push(String::new());
                continue;
            }
            _ => {}
        }
        found[last].push(letter);
    }
    found.into_iter().map(|it| it.trim().to_owned()).collect()
}

/// The text of a string literal; a backslash at the end of a line joins lines.
fn literal(argument: &str) -> Option<String> {
    let inner = argument.strip_prefix('"')?.strip_suffix('"')?;
    let mut joined = String::new();
    let mut rest = inner;
    while let Some(at) = rest.find("\\\n") {
        joined += &rest[..at];
        rest = rest[at + 2..].trim_start();
    }
    Some((joined + rest).replace("\\\"", "\""))
}

/// The text of a constant, or of the last `let`, of that name.
fn constant(text: &str, name: &str) -> Option<String> {
    let bare = name.trim_start_matches('&');
    if !bare.chars().all(|it| it.is_alphanumeric() || it == '_') {
        return None;
    }
    let head = format!("const {bare}: &str =");
    let from = text.find(&head)? + head.len();
    let value = text[from..].split(";\n").next()?;
    literal(value.trim())
}
