//! The parts of the documents that are made.

use std::path::{Path, PathBuf};
use std::sync::Mutex;

use super::{commands, figures, keys, outputs};

/// Document, name of the part, what makes it.
type Part = (&'static str, &'static str, fn() -> String);

const PARTS: &[Part] = &[
    ("README.md", "run", outputs::terminal),
    ("scenarios/README.md", "scenarios", outputs::scenarios),
    ("scenarios/README.md", "keys", keys::table),
    ("output/README.md", "commands", commands::table),
    ("output/README.md", "columns", outputs::columns),
    ("output/README.md", "summary", outputs::summary_keys),
    ("output/README.md", "odds", outputs::odds),
    ("output/README.md", "odds keys", outputs::odds_keys),
    ("output/README.md", "compare", outputs::compare),
    ("output/README.md", "without", outputs::without),
    ("output/README.md", "decision keys", outputs::decision_keys),
    ("output/README.md", "exercise", outputs::exercise),
    ("scenarios/README.md", "club keys", keys::club_table),
    ("output/README.md", "calendar", outputs::calendar),
    ("output/README.md", "calendar keys", outputs::calendar_keys),
    ("output/README.md", "check", outputs::check),
    ("output/README.md", "now", outputs::now),
    ("output/README.md", "card", outputs::card),
    ("output/README.md", "size", outputs::size),
    ("tests/README.md", "trust", outputs::trust),
    ("tests/README.md", "figures", figures::table),
];

/// Every document that people read.
pub const DOCUMENTS: [&str; 5] =
    ["README.md", "DEVELOPERS.md", "scenarios/README.md", "output/README.md", "tests/README.md"];

const END: &str = "<!-- made end -->";

pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

pub fn path(document: &str) -> PathBuf {
    root().join(document)
}

pub fn text(document: &str) -> String {
    std::fs::read_to_string(path(document)).unwrap_or_else(|e| panic!("{document}: {e}"))
}

/// Whether to write what would otherwise be compared.
pub fn blessing() -> bool {
    std::env::var_os("BLESS").is_some_and(|value| value == "1")
}

/// Where a made part begins and ends in its document.
fn bounds(document: &str, text: &str, name: &str) -> (usize, usize) {
    let mark = format!("<!-- made: {name} -->\n");
    let from = text.find(&mark).unwrap_or_else(|| panic!("{document} has no part `{name}`"));
    let from = from + mark.len();
    let length = text[from..].find(END).unwrap_or_else(|| panic!("`{name}` has no end"));
    (from, from + length)
}

/// A made part as it stands.
pub fn part(document: &str, name: &str) -> String {
    let text = text(document);
    let (from, to) = bounds(document, &text, name);
    text[from..to].to_owned()
}

/// Documents are written by one test at a time.
static WRITING: Mutex<()> = Mutex::new(());

#[test]
fn made_parts_are_what_the_program_says_now() {
    let _writing = WRITING.lock().unwrap();
    let mut stale = Vec::new();
    for (document, name, make) in PARTS {
        let fresh = make();
        let whole = text(document);
        let (from, to) = bounds(document, &whole, name);
        if whole[from..to] == fresh {
            continue;
        }
        if blessing() {
            let renewed = format!("{}{fresh}{}", &whole[..from], &whole[to..]);
            std::fs::write(path(document), renewed).unwrap();
        } else {
            stale.push(format!("{document}, `{name}`; now:\n{fresh}"));
        }
    }
    assert!(
        stale.is_empty(),
        "these parts are out of date (`BLESS=1 cargo test docs::` makes them anew):\n{}",
        stale.join("\n")
    );
}

#[test]
fn every_made_part_is_known() {
    for document in DOCUMENTS {
        for piece in text(document).split("<!-- made: ").skip(1) {
            let name = piece.split(" -->").next().unwrap_or_default();
            let known = PARTS.iter().any(|(of, part, _)| *of == document && *part == name);
            assert!(known, "{document}: nothing makes `{name}`");
        }
    }
}

/// A table in Markdown; a bar in a cell is escaped.
pub fn markdown(heads: &[&str], rows: &[Vec<String>]) -> String {
    let line = |cells: &[String]| {
        let cells: Vec<String> = cells.iter().map(|cell| cell.replace('|', "\\|")).collect();
        format!("| {} |\n", cells.join(" | "))
    };
    let owned: Vec<String> = heads.iter().map(|head| (*head).to_owned()).collect();
    let mut table = line(&owned);
    table += &format!("|{}\n", "---|".repeat(heads.len()));
    for row in rows {
        assert_eq!(row.len(), heads.len(), "{row:?}");
        table += &line(row);
    }
    table
}
