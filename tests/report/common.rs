//! Pages made by the program, and a strict reader of them.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use roxmltree::{Document, Node};
use serde_json::Value;

pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

pub fn scenario(name: &str) -> PathBuf {
    root().join(format!("scenarios/{name}.json"))
}

/// The shipped hall, to be changed.
pub fn hall() -> Value {
    serde_json::from_str(&std::fs::read_to_string(scenario("hall-72h")).unwrap()).unwrap()
}

/// The same with few ways to go: what is decided beside the odds takes a moment.
pub fn light_hall() -> Value {
    let mut value = hall();
    let whole = value.as_object_mut().unwrap();
    for key in ["sizing", "variants", "warning"] {
        whole.remove(key);
    }
    let strategies = whole["strategies"].as_object_mut().unwrap();
    strategies.retain(|name, _| name == "charger on" || name == "solar only");
    value
}

/// The page of a scenario file.
pub fn page_of(path: &Path, arguments: &[&str]) -> String {
    let out = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_longwatch"))
        .current_dir(root())
        .arg("report")
        .arg(path)
        .args(arguments)
        .arg("--out")
        .arg(out.path())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    std::fs::read_to_string(out.path().join("report.html")).unwrap()
}

/// The page of a scenario that stands in no file.
pub fn page_of_value(value: &Value) -> String {
    page_of_value_with(value, &["--trials", "40"])
}

/// The same with other arguments.
pub fn page_of_value_with(value: &Value, arguments: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("station.json");
    std::fs::write(&path, value.to_string()).unwrap();
    page_of(&path, arguments)
}

/// The page of the hall, made once.
pub fn hall_page() -> &'static str {
    static PAGE: OnceLock<String> = OnceLock::new();
    PAGE.get_or_init(|| page_of(&scenario("hall-72h"), &["--trials", "200"]))
}

/// Elements of HTML that have no end tag.
const VOID: [&str; 3] = ["meta", "link", "wbr"];

/// The page as XML: its void elements closed, its declaration left out. A parser of XML is stricter
/// than a browser, so what it reads is what every browser reads.
pub fn as_xml(page: &str) -> String {
    let body = page.strip_prefix("<!DOCTYPE html>").expect("a declaration first");
    let mut xml = String::new();
    for piece in body.split_inclusive('>') {
        let tag = piece.rfind('<').map_or("", |at| &piece[at + 1..]);
        let name = tag.split([' ', '>']).next().unwrap_or_default();
        if VOID.contains(&name) {
            xml.push_str(&piece[..piece.len() - 1]);
            xml.push_str("/>");
        } else {
            xml.push_str(piece);
        }
    }
    xml
}

/// All text below a node.
pub fn text_of(node: Node) -> String {
    node.descendants().filter_map(|it| if it.is_text() { it.text() } else { None }).collect()
}

/// The only element of a name.
pub fn only<'a>(document: &'a Document, name: &str) -> Node<'a, 'a> {
    let mut found = document.descendants().filter(|node| node.has_tag_name(name));
    let first = found.next().unwrap_or_else(|| panic!("no <{name}>"));
    assert!(found.next().is_none(), "more than one <{name}>");
    first
}
