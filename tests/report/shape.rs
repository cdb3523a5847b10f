//! The shape of the page: landmarks, headings in order, tables with heads, pictures with words.

use std::collections::BTreeSet;

use roxmltree::{Document, Node};

use super::common::{
    as_xml, hall_page, light_hall, only, page_of, page_of_value_with, root, scenario, text_of,
};

fn elements<'a>(document: &'a Document, name: &'a str) -> impl Iterator<Item = Node<'a, 'a>> {
    document.descendants().filter(move |node| node.has_tag_name(name))
}

fn check(page: &str) {
    let xml = as_xml(page);
    let document = Document::parse(&xml).unwrap();
    assert_eq!(document.root_element().attribute("lang"), Some("en"));

    // Landmarks, one of each; a way past the navigation first.
    for name in ["header", "nav", "main", "footer", "h1"] {
        only(&document, name);
    }
    assert!(only(&document, "nav").attribute("aria-label").is_some());
    let body = only(&document, "body");
    let first = body.children().find(Node::is_element).unwrap();
    assert_eq!((first.tag_name().name(), first.attribute("href")), ("a", Some("#content")));
    assert_eq!(only(&document, "main").attribute("id"), Some("content"));

    // Names are unique, and what refers to one finds it.
    let mut ids = BTreeSet::new();
    for id in document.descendants().filter_map(|node| node.attribute("id")) {
        assert!(ids.insert(id), "`{id}` stands twice");
    }
    for node in document.descendants() {
        let labels = node.attribute("aria-labelledby").into_iter().flat_map(|it| it.split(' '));
        let target = node.attribute("href").and_then(|it| it.strip_prefix('#'));
        for id in labels.chain(target) {
            assert!(ids.contains(id), "nothing is called `{id}`");
        }
    }

    // Headings go down one level at a time, and none is empty.
    let mut level = 0;
    for node in document.descendants() {
        let Some(digit) = node.tag_name().name().strip_prefix('h').and_then(|it| it.parse().ok())
        else {
            continue;
        };
        assert!(digit <= level + 1, "h{digit} after h{level}");
        assert!(!text_of(node).trim().is_empty());
        level = digit;
    }
    for section in elements(&document, "section") {
        assert!(section.attribute("aria-labelledby").is_some());
    }

    // Every picture says what it shows.
    let mut pictures = 0;
    for svg in elements(&document, "svg") {
        pictures += 1;
        assert_eq!(svg.attribute("role"), Some("img"));
        let labels: Vec<&str> = svg.attribute("aria-labelledby").unwrap().split(' ').collect();
        for (name, label) in ["title", "desc"].iter().zip(&labels) {
            let told = svg.children().find(|it| it.has_tag_name(*name)).unwrap();
            assert_eq!(told.attribute("id"), Some(*label));
            assert!(text_of(told).len() > 10, "{}", text_of(told));
        }
    }
    assert!(pictures >= 7, "only {pictures} pictures");
    assert_eq!(elements(&document, "img").count(), 0);

    // Every table says what it holds and which cells are heads.
    let mut tables = 0;
    for table in elements(&document, "table") {
        tables += 1;
        let caption = table.children().find(Node::is_element).unwrap();
        assert!(caption.has_tag_name("caption") && !text_of(caption).is_empty());
        let heads = table.descendants().find(|it| it.has_tag_name("tr")).unwrap();
        let columns: Vec<Node> = heads.children().filter(Node::is_element).collect();
        assert_eq!(columns[0].attribute("scope"), Some("col"));
        // No head is empty: a column without one has an empty cell there.
        assert!(columns.iter().all(|it| it.has_tag_name("th") != text_of(*it).is_empty()));
        for row in table.descendants().filter(|it| it.has_tag_name("tr")).skip(1) {
            let cells: Vec<Node> = row.children().filter(Node::is_element).collect();
            assert_eq!(cells.len(), columns.len(), "{}", text_of(row));
            assert_eq!(cells[0].attribute("scope"), Some("row"));
        }
    }
    assert!(tables >= 8, "only {tables} tables");
    // A table that a telephone has no room for says that it can be scrolled; a small one does not.
    let classes = |name: &str| {
        let of = |it: &Node| it.attribute("class").is_some_and(|it| it.contains(name));
        document.descendants().filter(of).count()
    };
    let broad = classes("listing broad") + classes("listing middling");
    assert!(broad > 0 && broad < classes("listing"), "{broad} of {}", classes("listing"));
    assert!(page.contains("Scroll the table sideways"));
    // What can be scrolled can be reached by keys.
    for node in document.descendants().filter(|it| it.attribute("class") == Some("wide")) {
        assert_eq!(node.attribute("tabindex"), Some("0"));
        assert!(node.attribute("aria-label").is_some_and(|label| !label.is_empty()));
    }
}

#[test]
fn every_shipped_station_has_a_page_that_can_be_read() {
    check(hall_page());
    let names = ["field-weekend", "harbour-south", "cold-node", "ridge-relay"];
    for name in names {
        let page = page_of(&scenario(name), &["--trials", "24"]);
        check(&page);
    }
    let files = std::fs::read_dir(root().join("scenarios")).unwrap();
    let stations = files.filter(|it| {
        let path = it.as_ref().unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap_or_default();
        path.extension().is_some_and(|it| it == "json") && text.contains("\"battery\"")
    });
    assert!(stations.count() >= names.len());
}

/// A station without a grid, without panels, with one tier: every section says what there is.
#[test]
fn a_station_without_parts_has_a_page_too() {
    for arguments in [
        &["--no-mains", "--panels-w", "0"][..],
        &["--no-mains"],
        &["--panels-w", "0"],
        &["--hours", "200", "--cells", "1"],
    ] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("small.json");
        let made = std::process::Command::new(env!("CARGO_BIN_EXE_longwatch"))
            .arg("new")
            .arg(&path)
            .args(arguments)
            .output()
            .unwrap();
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        check(&page_of(&path, &["--trials", "24"]));
    }
}

#[test]
fn the_page_is_small() {
    // A page is kept, mailed and opened on old machines: at most 1.5 MB.
    let bytes = hall_page().len();
    assert!(bytes < 1_500_000, "{bytes} bytes");
}

#[test]
fn the_same_page_on_any_number_of_threads() {
    let hall = light_hall();
    let of = |more: [&str; 2]| {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("hall.json");
        std::fs::write(&path, hall.to_string()).unwrap();
        let page = page_of(&path, &[&["--trials", "300"], &more[..]].concat());
        page.replace("<wbr>", "").replace(&path.display().to_string(), "FILE")
    };
    let one = of(["--threads", "1"]);
    assert!(one.contains("FILE"));
    assert!(one == of(["--threads", "2"]) && one == of(["--threads", "7"]), "pages differ");
    assert!(one != of(["--seed", "2"]), "the seed does not matter");
}

/// The scenario is in the page, as it was understood: the page can be made from the page.
#[test]
fn the_page_says_how_to_make_it_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("hall.json");
    std::fs::write(&path, light_hall().to_string()).unwrap();
    let page = page_of(&path, &["--strategy", "solar only", "--trials", "50", "--seed", "9"]);
    let xml = as_xml(&page);
    let document = Document::parse(&xml).unwrap();
    let codes: Vec<String> = elements(&document, "code").map(text_of).collect();
    let file = path.display().to_string();
    let command = format!("longwatch report {file} --strategy \"solar only\" --trials 50 --seed 9");
    assert!(codes.contains(&command), "{codes:?}");

    let text = codes.iter().find(|it| it.starts_with('{')).unwrap();
    let copy = serde_json::from_str(text).unwrap();
    let again = page_of_value_with(&copy, &["--trials", "50", "--seed", "9"]);
    // All but the names of files and the last section, which tells of them.
    let told = |page: &str| {
        let main = page.split("<main").nth(1).unwrap().split("id=\"remake\"").next().unwrap();
        let lines = main.replace("<wbr>", "").replace("</tr>", "</tr>\n");
        lines.lines().filter(|it| !it.contains("longwatch run ")).collect::<Vec<_>>().join("\n")
    };
    assert!(told(&again) == told(&page), "another page comes of the copy");
}

/// The pre-flight stands in the page with the sentences of its notes, the rank of what is always on,
/// and what each limit rests on.
#[test]
fn notes_ranks_and_bases_stand_in_the_page() {
    let xml = as_xml(hall_page());
    let document = Document::parse(&xml).unwrap();
    let section = elements(&document, "section")
        .find(|it| it.attribute("id") == Some("distribution"))
        .expect("a section of the distribution");
    let told = text_of(section).split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "`short_circuit_a` of the battery is not stated",
        "What the limits rest on",
        "33 CFR 183.425 table 5",
        "NEC 210.20 and 215.3: 125 % of what flows for hours.",
    ] {
        assert!(told.contains(words), "no `{words}` in {told}");
    }
    let at = |words: &str| told.find(words).unwrap_or_else(|| panic!("no `{words}` in {told}"));
    assert!(at("1. load “hf set”") < at("2. load “voice set”"));
    assert!(at("2. load “voice set”") < at("3. load “computer”"));
}
