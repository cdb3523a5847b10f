//! The page of a key: what it means, its unit, range and default, and the keys below it.

use super::keys::{Entry, Tree, bounds};
use super::layout;
use super::topics;

/// The page of a key.
#[must_use]
pub fn page(tree: &Tree, entry: &Entry, width: usize) -> String {
    let of_club = if tree.prefix == "club" { " (a club's file)" } else { "" };
    let mut lines = layout::title(&format!("{}{of_club}", entry.path), width);
    lines.extend(layout::paragraph(&entry.meaning, width));
    let limit = tree.limit(&entry.path);
    let unit = match limit.map_or("", |limit| limit.unit) {
        "share" => "share of a whole",
        "1" => "a plain number",
        unit => unit,
    };
    let needed = match entry.required {
        Some(true) => "yes",
        Some(false) => "no",
        None => "",
    };
    let rows = [
        ("unit", unit.to_owned()),
        ("range", limit.map_or(String::new(), bounds)),
        ("needed", needed.to_owned()),
        ("default", entry.default.clone().unwrap_or_default()),
        ("note", limit.map_or("", |limit| limit.hint).to_owned()),
    ];
    for (name, what) in rows.iter().filter(|(_, what)| !what.is_empty()) {
        lines.extend(layout::row(name, what, 9, width));
    }
    let below = tree.below(entry);
    if !below.is_empty() {
        lines.push(String::new());
        let words = below.iter().all(is_word);
        let head = if words { "One of these words" } else { "Keys below it" };
        lines.extend(layout::title(head, width));
        for key in &below {
            lines.extend(short(tree, key, &entry.path, width));
        }
    }
    let top = entry.path.split(['.', ':', '[']).next().unwrap_or_default();
    if let Some(topic) = topics::of_key(top) {
        lines.push(String::new());
        let name = topic.name;
        lines.extend(layout::paragraph(&format!("Read on: `longwatch guide {name}`."), width));
    }
    layout::text_of(&lines)
}

/// The page of several keys that end alike.
#[must_use]
pub fn page_of_ending(tree: &Tree, asked: &str, entries: &[Entry], width: usize) -> String {
    if let [only] = entries {
        return page(tree, only, width);
    }
    let mut lines = layout::title(&format!("Keys that end in {asked}"), width);
    for entry in entries {
        lines.extend(short(tree, entry, "", width));
    }
    layout::text_of(&lines)
}

/// A key in short: its name and facts, below them its meaning.
fn short(tree: &Tree, entry: &Entry, above: &str, width: usize) -> Vec<String> {
    let name = entry.path.strip_prefix(above).unwrap_or(&entry.path);
    let name = name.trim_start_matches(".*").trim_start_matches("[]");
    let name = name.trim_start_matches(['.', ':', ' ']);
    let facts = whole_facts(entry);
    let head = if facts.is_empty() { name.to_owned() } else { format!("{name}  ({facts})") };
    let below = tree.below(entry);
    let words: Vec<&str> = below.iter().filter_map(word_of).collect();
    let more = match (below.is_empty(), words.is_empty()) {
        (true, _) => String::new(),
        (false, true) => " Has keys of its own.".to_owned(),
        (false, false) if words.len() < below.len() => {
            format!(" One of {}, or keys of its own.", words.join(", "))
        }
        (false, false) => format!(" One of {}.", words.join(", ")),
    };
    let mut lines = layout::row(&head, "", width, width);
    lines.retain(|line| !line.trim().is_empty());
    lines.extend(layout::row("", &format!("{}{more}", entry.meaning), 4, width));
    lines
}

/// The word that an entry is, with its quotes; nothing for a key.
fn word_of(entry: &Entry) -> Option<&str> {
    entry.path.split_once(": ").map(|(_, word)| word)
}

fn is_word(entry: &Entry) -> bool {
    word_of(entry).is_some()
}

/// Facts, and whether the key must be given where the facts do not say what happens without it.
fn whole_facts(entry: &Entry) -> String {
    let facts = &entry.facts;
    let need = match entry.required {
        Some(true) => "must be given",
        Some(false) if !facts.contains("if left out") => "may be left out",
        _ => "",
    };
    let parts = [facts.as_str(), need];
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("; ")
}
