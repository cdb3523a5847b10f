//! What a user types stays text, wherever it stands.

use std::collections::BTreeSet;

use roxmltree::Document;
use serde_json::{Value, json};

use super::common::{as_xml, hall_page, light_hall, only, page_of_value, text_of};

const HOSTILE: &str =
    "<script>alert(1)</script>\"'`]]>-->&amp;&#60;</title></style><img src=x onerror=alert(2)>";

/// Every name and every free text of the hall made hostile.
fn hostile_hall() -> Value {
    let mut value = light_hall();
    value["title"] = json!(HOSTILE);
    value["notes"] = json!(HOSTILE);
    let text = value.to_string();
    let mut renamed = text;
    for name in [
        "roof tracker",
        "roof",
        "voice set",
        "hf set",
        "computer",
        "lamps",
        "hf bench",
        "desk",
        "full traffic",
        "listen",
        "charger on",
        "evening net",
    ] {
        let hostile = format!("{name}{HOSTILE}");
        let quoted = Value::String(hostile).to_string();
        renamed = renamed.replace(&format!("\"{name}\""), &quoted);
    }
    let mut value: Value = serde_json::from_str(&renamed).unwrap();
    value["field_tests"] = json!([{
        "on": "2026-10-03",
        "what": HOSTILE,
        "measured": {"battery_alone_h": 55},
    }]);
    value
}

#[test]
fn hostile_text_stays_text() {
    let page = page_of_value(&hostile_hall());
    let xml = as_xml(&page);
    let document = Document::parse(&xml).unwrap();
    // The parser has read the page as a tree: markup out of a text would be an element in it.
    let allowed: BTreeSet<&str> = [
        "html", "head", "meta", "title", "link", "style", "body", "a", "div", "header", "h1", "p",
        "nav", "ul", "li", "main", "section", "h2", "h3", "strong", "figure", "table", "caption",
        "thead", "tbody", "tr", "th", "td", "pre", "code", "details", "summary", "footer", "wbr",
        "svg", "desc", "rect", "polyline", "polygon", "line", "circle", "text", "path",
    ]
    .into();
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        let name = node.tag_name().name();
        assert!(allowed.contains(name), "<{name}> stands in the page");
        for attribute in node.attributes() {
            assert!(!attribute.name().starts_with("on"), "{} in <{name}>", attribute.name());
        }
    }
    assert_eq!(text_of(only(&document, "h1")), HOSTILE);
    let head = document.descendants().find(|node| node.has_tag_name("title")).unwrap();
    assert_eq!(text_of(head), format!("{HOSTILE}: report"));
    let whole = text_of(document.root_element());
    for name in ["voice set", "roof", "charger on", "desk", "full traffic"] {
        assert!(whole.contains(&format!("{name}<script>alert(1)</script>")), "{name} is lost");
    }
    assert!(whole.contains("Last test, 3 October 2026: <script>"));
    assert!(!page.contains("<script") && !page.contains("<img"), "markup out of a text");
}

#[test]
fn nothing_is_fetched_and_nothing_runs() {
    let page = hall_page();
    let xml = as_xml(page);
    let document = Document::parse(&xml).unwrap();
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        for attribute in node.attributes() {
            let (name, value) = (attribute.name(), attribute.value());
            assert!(name != "src" && name != "srcset" && name != "action", "{name}={value}");
            if name == "href" {
                assert!(value.starts_with('#') || value == "data:,", "href={value}");
            }
            if name != "content" {
                assert!(!value.contains("url("), "{name}={value}");
            }
        }
    }
    for word in ["http:", "https:", "@import", "url(", "javascript:", "src="] {
        assert!(!page.contains(word), "`{word}` stands in the page");
    }
    assert!(page.contains("default-src 'none'"), "no policy");
}
