//! What a run prints and writes, as the README shows it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock};

use longwatch::show::{columns, first_sentence};
use longwatch::simulate::single;
use longwatch::simulate::summary::summarise;

use super::made::{markdown, root};
use super::shipped::shipped;

/// What the README's command prints, in a block.
pub fn terminal() -> String {
    printed(&["run", "scenarios/hall-72h.json"])
}

/// What its command for odds prints.
pub fn odds() -> String {
    printed(&["odds", "scenarios/hall-72h.json", "--trials", "10000"])
}

/// The README's command that compares.
pub const COMPARE: [&str; 14] = [
    "compare",
    "scenarios/hall-72h.json",
    "--trials",
    "10000",
    "--strategy",
    "charger on",
    "--strategy",
    "solar only",
    "--variant",
    "one more panel",
    "--variant",
    "half the keying",
    "--variant",
    "shed sooner",
];

/// Its command that takes parts away.
pub const WITHOUT: [&str; 4] = ["without", "scenarios/hall-72h.json", "--trials", "2000"];

/// What its command that compares prints.
pub fn compare() -> String {
    printed(&COMPARE)
}

/// What its command that takes parts away prints.
pub fn without() -> String {
    printed(&WITHOUT)
}

/// The keys of `compare.json` and of `without.json`, from the comments in their sources.
pub fn decision_keys() -> String {
    let of = |file: &str, name: &str| {
        let text = std::fs::read_to_string(root().join(file)).unwrap();
        fields(&text, name)
    };
    let result = "src/decide/compare/result.rs";
    let without = "src/decide/without/mod.rs";
    let mut rows = Vec::new();
    for (key, meaning) in of(result, "Comparison") {
        // Nights are drawn, not written.
        if key == "nights_h" {
            continue;
        }
        rows.push(vec![format!("`{key}`"), meaning]);
        let inner = match key.as_str() {
            "stations" => of(result, "OfContender"),
            "pairs" => of("src/decide/contest/pairs.rs", "Pair"),
            _ => continue,
        };
        for (field, meaning) in inner {
            rows.push(vec![format!("`{key}[].{field}`"), meaning]);
            let inmost = match field.as_str() {
                "start_charge_share" => of(result, "ChargeSpread"),
                "in_span" => of(result, "InSpan"),
                "normal_month" => of("src/decide/contest/month.rs", "Month"),
                _ => continue,
            };
            let row = |(inner, meaning)| vec![format!("`{key}[].{field}.{inner}`"), meaning];
            rows.extend(inmost.into_iter().map(row));
        }
    }
    for (key, meaning) in of(without, "Without") {
        let inner = match key.as_str() {
            "whole" => of(without, "Carried"),
            "lost" => of(without, "Lost"),
            "swings" => of(without, "Swing"),
            "measure_sentence" | "not_moved" | "strategy" | "by_charge" => Vec::new(),
            _ => continue,
        };
        let mark = if key == "whole" || inner.is_empty() { "" } else { "[]" };
        rows.push(vec![format!("`{key}`"), meaning]);
        let inner = inner.into_iter().filter(|(field, _)| field != "carried");
        rows.extend(inner.map(|(field, said)| vec![format!("`{key}{mark}.{field}`"), said]));
    }
    markdown(&["key", "meaning"], &rows)
}

/// Every key of both files stands in the table.
#[test]
fn the_table_of_decision_keys_is_complete() {
    let folder = tempfile::tempdir().unwrap();
    let table = decision_keys();
    let mut seen = 0;
    for command in [&COMPARE[..], &WITHOUT[..]] {
        let few =
            command.iter().map(|it| if it.len() > 3 && it.ends_with("000") { "20" } else { it });
        let output = Command::new(env!("CARGO_BIN_EXE_longwatch"))
            .current_dir(root())
            .args(few)
            .args(["--no-charts", "--json", "--out"])
            .arg(folder.path())
            .output()
            .unwrap();
        let value: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        for (key, inner) in value.as_object().unwrap() {
            assert!(table.contains(&format!("| `{key}` |")), "`{key}` is not in the table");
            let first = inner.get(0).unwrap_or(inner);
            for (field, inner) in first.as_object().into_iter().flatten() {
                seen += 1;
                // What a loss carries has the keys of the whole station.
                let carried = key == "lost" && table.contains(&format!("| `whole.{field}` |"));
                let there = table.contains(&format!("`{key}[].{field}` |"))
                    || table.contains(&format!("`{key}.{field}` |"));
                assert!(there || carried, "`{key}.{field}` is not in the table");
                if matches!(field.as_str(), "in_span" | "normal_month") {
                    for inmost in inner.as_object().unwrap().keys() {
                        let row = format!("| `{key}[].{field}.{inmost}` |");
                        assert!(table.contains(&row), "{row}");
                    }
                }
            }
        }
    }
    assert!(seen > 30, "only {seen} keys");
}

/// What its command for a club prints.
pub fn exercise() -> String {
    printed(&["exercise", "scenarios/club-weekend.json"])
}

/// The command of the README for a calendar: few years, so that it may be made often.
pub const CALENDAR: [&str; 10] = [
    "calendar",
    "scenarios/hall-72h.json",
    "--hours",
    "72",
    "--trials",
    "310",
    "--strategy",
    "charger on",
    "--strategy",
    "solar only",
];

/// What its command for a calendar prints.
pub fn calendar() -> String {
    printed(&CALENDAR)
}

/// The keys of `calendar.json`, from the comments in its source.
pub fn calendar_keys() -> String {
    let of = |file: &str, name: &str| {
        let text = std::fs::read_to_string(root().join(file)).unwrap();
        fields(&text, name)
    };
    let result = "src/decide/calendar/result.rs";
    let mut rows = Vec::new();
    let mut add = |before: &str, found: Vec<(String, String)>| {
        rows.extend(found.into_iter().map(|(key, it)| vec![format!("`{before}{key}`"), it]));
    };
    add("", of(result, "Calendar"));
    add("strategies[].", of(result, "StrategyCalendar"));
    add("strategies[].months[].", of(result, "Month"));
    add("strategies[].points[].", of(result, "Point"));
    add("warnings[].", of("src/warning.rs", "Warning"));
    markdown(&["key", "meaning"], &rows)
}

/// Every key of `calendar.json` stands in the table.
#[test]
fn the_table_of_calendar_keys_is_complete() {
    let folder = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .current_dir(root())
        .args(["calendar", "scenarios/ridge-relay.json", "--hours", "24", "--trials", "2"])
        .args(["--no-charts", "--json", "--out"])
        .arg(folder.path())
        .output()
        .unwrap();
    let value: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let table = calendar_keys();
    let mut open = vec![(String::new(), &value)];
    let mut seen = 0;
    while let Some((before, value)) = open.pop() {
        for (key, inner) in value.as_object().unwrap() {
            assert!(table.contains(&format!("| `{before}{key}` |")), "`{before}{key}`");
            seen += 1;
            if let Some(first) = inner.get(0).filter(|first| first.is_object()) {
                open.push((format!("{before}{key}[]."), first));
            }
        }
    }
    assert!(seen > 30, "only {seen} keys");
}

/// What its command for sizes prints.
pub fn size() -> String {
    printed(&["size", "scenarios/hall-72h.json", "--hours", "72", "--target", "0.95"])
}

/// What its command for the pre-flight prints.
pub fn check() -> String {
    block(&["check", "scenarios/hall-72h.json"])
}

/// What its command for the station from now on prints.
pub fn now() -> String {
    let hall = "scenarios/hall-72h.json";
    let sky = ["--outlook", "overcast, partly, clear"];
    let times = ["--at", "2027-01-19T14:00", "--until", "2027-01-21T20:00"];
    block(&[&["now", hall, "--charge", "55%"], &times[..], &sky[..]].concat())
}

/// The README's command for a card.
pub const CARD: [&str; 8] = [
    "card",
    "scenarios/hall-72h.json",
    "--charge",
    "85..100%",
    "--at",
    "2027-01-18T18:00",
    "--until",
    "2027-01-21T18:00",
];

/// What its command for a card prints.
pub fn card() -> String {
    printed(&CARD)
}

/// What a command of the README came to.
pub struct Played {
    stdout: String,
    /// Where its files are.
    pub folder: PathBuf,
}

/// Plays a command, once for all tests that ask for it.
pub fn played(command: &[&str]) -> Arc<Played> {
    static ALL: Mutex<BTreeMap<String, Arc<OnceLock<Played>>>> = Mutex::new(BTreeMap::new());
    static FOLDERS: AtomicUsize = AtomicUsize::new(0);
    let place = ALL.lock().unwrap().entry(command.join("\n")).or_default().clone();
    let play = || {
        let number = FOLDERS.fetch_add(1, Ordering::Relaxed);
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("docs-{number}"));
        let stdout = said(&[command, &["--out", folder.to_str().unwrap()]].concat());
        Played { stdout, folder }
    };
    let Played { stdout, folder } = place.get_or_init(play);
    Arc::new(Played { stdout: stdout.clone(), folder: folder.clone() })
}

fn printed(command: &[&str]) -> String {
    in_a_block(&played(command).stdout)
}

/// What a command prints that leaves nothing, in a block.
fn block(command: &[&str]) -> String {
    in_a_block(&said(command))
}

fn in_a_block(text: &str) -> String {
    format!("```text\n{}\n```\n", text.trim_end())
}

fn said(command: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .current_dir(root())
        .args(command)
        .args(["--color", "never"])
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The first sentence of every shipped scenario under each of its strategies.
pub fn scenarios() -> String {
    let mut rows = Vec::new();
    for shipped in shipped() {
        for strategy in shipped.strategies() {
            let plan = shipped.plan(&strategy);
            let ledger = single::run(&plan);
            let summary = summarise(&plan, &ledger);
            rows.push(vec![
                format!("`{}`", shipped.name),
                strategy,
                first_sentence(&ledger, &summary),
            ]);
        }
    }
    markdown(&["scenario", "strategy", "result"], &rows)
}

/// The columns of the ledger.
pub fn columns() -> String {
    let rows: Vec<Vec<String>> = columns::columns()
        .into_iter()
        .map(|(name, unit, meaning)| vec![format!("`{name}`"), unit.to_owned(), meaning.to_owned()])
        .collect();
    markdown(&["column", "unit", "meaning"], &rows)
}

/// The keys of the summary, from the comments in its source.
pub fn summary_keys() -> String {
    let of = |file: &str, name: &str| {
        let text = std::fs::read_to_string(root().join(file)).unwrap();
        fields(&text, name)
    };
    let mut rows = Vec::new();
    for (key, meaning) in of("src/simulate/summary.rs", "Summary") {
        rows.push(vec![format!("`{key}`"), meaning]);
        let inner = match key.as_str() {
            "losses_wh" => of("src/simulate/ledger.rs", "Losses"),
            "origin_wh" => of("src/simulate/ledger.rs", "OriginWh"),
            "warnings" => of("src/warning.rs", "Warning"),
            _ => continue,
        };
        let mark = if key == "warnings" { "[]" } else { "" };
        rows.extend(
            inner
                .into_iter()
                .map(|(field, meaning)| vec![format!("`{key}{mark}.{field}`"), meaning]),
        );
    }
    markdown(&["key", "meaning"], &rows)
}

/// The keys of `odds.json`, from the comments in its source.
pub fn odds_keys() -> String {
    let of = |file: &str, name: &str| {
        let text = std::fs::read_to_string(root().join(file)).unwrap();
        fields(&text, name)
    };
    let (result, named) = ("src/decide/odds/result.rs", "src/decide/odds/named.rs");
    let mut rows = Vec::new();
    for (key, meaning) in of(result, "Odds") {
        rows.push(vec![format!("`{key}`"), meaning]);
        let (inner, mark) = match key.as_str() {
            "stopping" => (of("src/decide/odds/stopping.rs", "Stopping"), ""),
            "on_air_within" => (of(result, "Within"), "[]"),
            "origin_wh" => (of("src/simulate/ledger.rs", "OriginWh"), ""),
            "lowest_charge_share" => (of("src/decide/odds/quantiles.rs", "Quantiles"), ""),
            "causes" => (of("src/decide/odds/answers.rs", "Causes"), ""),
            "named_trials" => (of(named, "NamedTrials"), ""),
            "bands" => (of(result, "Band"), "[]"),
            "warnings" => (of("src/warning.rs", "Warning"), "[]"),
            _ => continue,
        };
        for (field, meaning) in inner {
            rows.push(vec![format!("`{key}{mark}.{field}`"), meaning]);
            if key == "named_trials" && field == "worst" {
                for (field, meaning) in of(named, "NamedTrial") {
                    rows.push(vec![format!("`{key}.*.{field}`"), meaning]);
                }
            }
        }
    }
    markdown(&["key", "meaning"], &rows)
}

/// Public fields of a struct with their comments, each on one line.
fn fields(text: &str, name: &str) -> Vec<(String, String)> {
    let from = text.find(&format!("pub struct {name} {{")).unwrap_or_else(|| panic!("no {name}"));
    let body = &text[from..from + text[from..].find("\n}").unwrap()];
    let mut found = Vec::new();
    let mut comment: Vec<&str> = Vec::new();
    for line in body.lines().skip(1).map(str::trim) {
        if let Some(said) = line.strip_prefix("///") {
            comment.push(said.trim());
        } else if let Some(field) = line.strip_prefix("pub ") {
            let key = field.split(':').next().unwrap_or_default().to_owned();
            found.push((key, without_links(&comment.join(" "))));
            comment.clear();
        }
    }
    assert!(!found.is_empty(), "{name} has no fields");
    found
}

fn without_links(text: &str) -> String {
    text.replace("[`", "`").replace("`]", "`")
}

/// Every key that a run of any shipped scenario writes stands in the table.
#[test]
fn the_table_of_summary_keys_is_complete() {
    let table = summary_keys();
    let mut seen = 0;
    for shipped in shipped() {
        let plan = shipped.plan(&shipped.scenario.strategy);
        let summary = summarise(&plan, &single::run(&plan));
        let value = serde_json::to_value(&summary).unwrap();
        let mut keys: Vec<String> = value.as_object().unwrap().keys().cloned().collect();
        for outer in ["losses_wh", "origin_wh"] {
            keys.extend(
                value[outer].as_object().unwrap().keys().map(|key| format!("{outer}.{key}")),
            );
        }
        for key in &keys {
            assert!(table.contains(&format!("| `{key}` |")), "`{key}` is not in the table");
        }
        seen = seen.max(keys.len());
    }
    assert!(seen > 45, "only {seen} keys");
}

/// Every key of `odds.json` stands in the table; what has the keys of another stands there once.
#[test]
fn the_table_of_odds_keys_is_complete() {
    let folder = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .current_dir(root())
        .args(["odds", "scenarios/hall-72h.json", "--until-half-width", "0.1", "--trials", "16"])
        .args(["--no-charts", "--json", "--out"])
        .arg(folder.path())
        .output()
        .unwrap();
    let value: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let table = odds_keys();
    let mut seen = 0;
    let mut look = |key: &str| {
        assert!(table.contains(&format!("| `{key}` |")), "`{key}` is not in the table");
        seen += 1;
    };
    for (key, inner) in value.as_object().unwrap() {
        look(key);
        let (inner, mark) = match inner.get(0) {
            Some(first) => (first, "[]"),
            None => (inner, ""),
        };
        let told_elsewhere = ["tier_h", "basis", "origin_sd_wh", "first_off_air_h", "recharge_h"];
        if !told_elsewhere.contains(&key.as_str()) {
            for field in inner.as_object().into_iter().flat_map(serde_json::Map::keys) {
                look(&format!("{key}{mark}.{field}"));
            }
        }
    }
    assert!(seen > 80, "only {seen} keys");
}

/// Trust of each model, as its module head states it.
pub fn trust() -> String {
    let mut rows = Vec::new();
    for (file, head) in module_heads() {
        let Some(at) = head.find("Trust:") else { continue };
        let said = head[at + "Trust:".len()..].split(". ").next().unwrap_or_default();
        let title = head.split(['.', ':']).next().unwrap_or_default().trim();
        rows.push(vec![
            format!("`{file}`"),
            title.to_owned(),
            said.trim().trim_end_matches('.').to_owned(),
        ]);
    }
    assert!(rows.len() > 8, "only {} modules state their trust", rows.len());
    markdown(&["module", "what it models", "trust"], &rows)
}

/// Every source file with the text of its head on one line.
fn module_heads() -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut open = vec![root().join("src")];
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|it| it == "rs") {
                let text = std::fs::read_to_string(&path).unwrap();
                let head: Vec<&str> = text
                    .lines()
                    .map_while(|line| line.strip_prefix("//!"))
                    .map(str::trim)
                    .collect();
                let name = path.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/");
                found.push((name, without_links(&head.join(" "))));
            }
        }
    }
    found.sort();
    found
}
