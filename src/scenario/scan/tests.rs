use super::{Scanned, scan};
use crate::scenario::spans::NodeKind;

fn titles(text: &str) -> Vec<String> {
    scan(text).problems.into_iter().map(|problem| problem.text).collect()
}

#[test]
fn good_json_has_no_problem() {
    for text in [
        "{}",
        " {\"a\": [1, -2.5e-3, true, false, null, \"x\\u00e9\\n\"], \"b\": {\"c\": {}}}\r\n",
        "{\"a\":0,\"b\":10E+2}",
    ] {
        assert_eq!(titles(text), Vec::<String>::new(), "{text}");
        assert!(serde_json::from_str::<serde_json::Value>(text).is_ok());
    }
}

/// Each slip has its own words, and one slip brings one problem.
#[test]
fn slips_are_named() {
    for (text, title) in [
        ("", "the file is empty"),
        ("[1]", "a scenario is one JSON object"),
        ("{\"a\": 1,}", "JSON has no trailing commas"),
        ("{\"a\": [1, 2,]}", "JSON has no trailing commas"),
        ("{\"a\": 1 \"b\": 2}", "a comma is missing"),
        ("{\"a\": [1 2]}", "a comma is missing"),
        ("{\"a\": 1,, \"b\": 2}", "one comma too many"),
        ("{, \"a\": 1}", "one comma too many"),
        ("{\"a\": 1; \"b\": 2}", "values are parted by commas"),
        ("{\"a\" 1}", "a colon is missing after this key"),
        ("{\"a\" = 1}", "a colon is missing after this key"),
        ("{a: 1}", "a key stands in double quotes"),
        ("{'a': 1}", "text stands in straight double quotes"),
        ("{\u{201c}a\u{201d}: 1}", "text stands in straight double quotes"),
        ("{\"a\": 1 // x\n}", "JSON has no comments"),
        ("{\"a\": /* x */ 1}", "JSON has no comments"),
        ("{\"a\": 1 # x\n}", "JSON has no comments"),
        ("{\"a\": 1,5}", "decimals follow a point, not a comma"),
        ("{\"a\": 100 W}", "a number stands without a unit"),
        ("{\"a\": 5%}", "a number stands without a unit"),
        ("{\"a\": 07:30}", "times and dates stand in double quotes"),
        ("{\"a\": 2027-01-18}", "times and dates stand in double quotes"),
        ("{\"a\": 2027-01-18T18:00}", "times and dates stand in double quotes"),
        ("{\"a\": +5}", "JSON writes numbers otherwise"),
        ("{\"a\": .5}", "JSON writes numbers otherwise"),
        ("{\"a\": 5.}", "JSON writes numbers otherwise"),
        ("{\"a\": 007}", "JSON writes numbers otherwise"),
        ("{\"a\": 1_000}", "JSON writes numbers otherwise"),
        ("{\"a\": 0x1F}", "this is not a number to JSON"),
        ("{\"a\": -Infinity}", "this is not a number to JSON"),
        ("{\"a\": 1.2.3}", "this is not a number to JSON"),
        ("{\"a\": NaN}", "a bare word is not a JSON value"),
        ("{\"a\": True}", "a bare word is not a JSON value"),
        ("{\"a\": never}", "a bare word is not a JSON value"),
        ("{\"a\": }", "a value is missing here"),
        ("{\"a\": \"x}\n", "the closing quote of this text is missing"),
        ("{\"a\": \"x, \"b\": 1}", "a quote is missing"),
        ("{\"a\": \"C:\\data\"}", "a backslash in this text means nothing to JSON"),
        ("{\"a\": \"\\ud800\"}", "a backslash in this text means nothing to JSON"),
        ("{\"a\": \"x\ty\"}", "a control character stands in this text"),
        ("{\"a\": [1}", "`[` is closed by the wrong bracket"),
        ("{\"a\": 1]", "`{` is closed by the wrong bracket"),
        ("{\"a\": 1", "the file ends too early"),
        ("{\"a\":", "the file ends too early"),
        ("{\"a\"", "the file ends too early"),
        ("{", "the file ends too early"),
        ("{\"a\": 1}}", "the file goes on after its end"),
        ("{} {}", "the file goes on after its end"),
    ] {
        let said = titles(text);
        assert_eq!(said.first().map(String::as_str), Some(title), "{text}");
        assert!(said.len() == 1 || text.ends_with('\n'), "{text}: {said:?}");
        assert!(serde_json::from_str::<serde_json::Value>(text).map_or(true, |v| !v.is_object()));
    }
}

#[test]
fn what_was_meant_is_kept_so_that_reading_can_go_on() {
    let Scanned { root, problems } = scan("{'a': 1,5, b: 100 W, \"c\": [1, 2,], \"d\": True}");
    assert_eq!(problems.len(), 6, "{problems:?}");
    let NodeKind::Object(members) = root.expect("a tree").kind else { panic!("no object") };
    let keys: Vec<&str> = members.iter().map(|member| member.key.as_str()).collect();
    assert_eq!(keys, ["a", "b", "c", "d"]);
    assert_eq!(members[0].value.kind, NodeKind::Number(1.5));
    assert_eq!(members[3].value.kind, NodeKind::Bool(true));
}

#[test]
fn nesting_without_end_is_refused() {
    let text = format!("{{\"a\": {}", "[".repeat(100_000));
    assert_eq!(titles(&text), ["brackets are nested too deep"]);
}

#[test]
fn a_lost_bracket_is_looked_for_by_the_indentation() {
    let text = "{\n  \"a\": {\n    \"b\": 1,\n  \"c\": {\n  }\n}\n";
    let problems = scan(text).problems;
    let last = problems.last().expect("a problem");
    assert_eq!(last.text, "the file ends too early");
    let hint = last.hint.as_deref().expect("a hint");
    assert!(hint.contains("between lines 2 and 6"), "{hint}");
}
