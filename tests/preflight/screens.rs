//! What `check` shows first: counts, serious findings whole, and the rest as far as a screen holds it.

use std::process::Output;

use longwatch::decide::preflight::{Finding, Severity};
use longwatch::show::page_text::{LINES, WIDE};
use longwatch::show::preflight::{Beside, first_screen};
use serde_json::json;

use super::common::{findings, with};
use super::programs::{check, out};
use super::support::text;

fn screen_lines(text: &str) -> usize {
    longwatch::show::page_text::screen_lines(text, WIDE)
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

const SHIPPED: [&str; 5] = [
    "scenarios/cold-node.json",
    "scenarios/field-weekend.json",
    "scenarios/hall-72h.json",
    "scenarios/harbour-south.json",
    "scenarios/ridge-relay.json",
];

#[test]
fn the_first_line_counts_and_never_says_fine() {
    for file in SHIPPED.iter().chain(&["tests/preflight/bad.json", "tests/bad/good.json"]) {
        let said = out(&check(&[file]));
        let value: serde_json::Value =
            serde_json::from_slice(&check(&[file, "--json"]).stdout).unwrap();
        let counts = &value["counts"];
        let flat = said.split("\n\n").next().unwrap().replace("\n  ", " ");
        let start = format!(
            "{file}: {} points examined, {} not stated, {} caution",
            counts["examined"], counts["not_stated"], counts["caution"]
        );
        assert!(flat.starts_with(&start), "no `{start}`: {flat}");
        assert!(flat.contains(&format!("{} serious", counts["serious"])), "{flat}");
        assert!(!said.contains("fine"), "{said}");
        let findings = value["findings"].as_array().unwrap();
        let unstated = findings.iter().filter(|it| it["what"] == "not stated");
        let points: u64 = unstated.map(|it| it["points"].as_u64().unwrap()).sum();
        assert!(counts["not_stated"].as_u64().unwrap() >= points);
    }
}

#[test]
fn a_screen_holds_what_is_not_serious_with_its_warnings() {
    for file in SHIPPED {
        let output = check(&[file]);
        let lines = screen_lines(&out(&output)) + screen_lines(&err(&output));
        assert!(lines <= LINES, "{file}: {lines}\n{}{}", err(&output), out(&output));
        let widest = out(&output).lines().map(|line| line.chars().count()).max();
        assert!(widest <= Some(80), "{widest:?}");
        // What is in order comes with `--full`.
        assert!(!out(&output).contains("What the limits rest on\n"));
        assert!(out(&check(&[file, "--full"])).contains("What the limits rest on\n"));
    }
}

#[test]
fn every_serious_finding_is_on_the_screen_however_many() {
    let bad = serde_json::from_str(&text("tests/preflight/bad.json")).unwrap();
    let found = findings(&bad);
    let screen =
        first_screen(&found, &Beside { columns: WIDE, head: "head".into(), ..Beside::default() });
    let flat = screen.text.split_whitespace().collect::<Vec<_>>().join(" ");
    let serious: Vec<&Finding> =
        found.iter().filter(|it| it.severity == Severity::Serious).collect();
    assert!(serious.len() > 20 && screen_lines(&screen.text) > LINES);
    for it in serious {
        assert!(flat.contains(&it.sentence), "{it:#?}");
        assert!(flat.contains(it.mend.as_deref().unwrap_or_default()), "{it:#?}");
    }
    assert!(flat.contains("more of caution: `check --full` shows them."), "{flat}");
}

/// What does not fit is counted, so that nothing goes without a word.
#[test]
fn what_is_left_out_is_counted() {
    let found = findings(&with(&json!({})));
    let caution = found.iter().find(|it| it.severity == Severity::Fine).unwrap();
    let caution = Finding { severity: Severity::Caution, ..caution.clone() };
    for (cautions, warnings) in [(0, 0), (1, 3), (9, 4), (40, 2), (3, 50)] {
        let beside = Beside {
            columns: WIDE,
            head: "head".into(),
            warning_lines: vec![3; warnings],
            ..Beside::default()
        };
        let screen = first_screen(&vec![caution.clone(); cautions], &beside);
        let shown = screen.warnings.iter().filter(|it| **it).count();
        let lines = screen_lines(&screen.text) + screen_lines(&screen.more_warnings) + 3 * shown;
        assert!(lines <= LINES, "{cautions} {warnings}: {lines}");
        let named = screen.text.lines().filter(|it| it.starts_with("caution: ")).count();
        let suffix = " more of caution: `check --full` shows them.";
        let rest = screen.text.lines().find_map(|it| it.strip_suffix(suffix));
        let rest: usize = rest.map_or(0, |it| it.parse().unwrap());
        assert_eq!(named + rest, cautions, "{}", screen.text);
        let more = screen.more_warnings.split(' ').next().unwrap().parse().unwrap_or(0);
        assert_eq!(shown + more, warnings, "{}", screen.more_warnings);
    }
}

#[test]
fn strict_makes_a_caution_exit_with_3() {
    let ridge = "scenarios/ridge-relay.json";
    assert_eq!(check(&[ridge]).status.code(), Some(0));
    let strict = check(&[ridge, "--strict"]);
    assert_eq!(strict.status.code(), Some(3));
    assert!(err(&strict).contains("1 caution, 0 serious"), "{}", err(&strict));
    assert_eq!(check(&["scenarios/hall-72h.json", "--strict"]).status.code(), Some(0));
    let starter = check(&["tests/preflight/agm-starter.json"]);
    assert_eq!(starter.status.code(), Some(3));
    assert!(out(&starter).contains("serious: disconnect, charge left"), "{}", out(&starter));
}
