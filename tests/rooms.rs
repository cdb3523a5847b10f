//! The way the data goes: a room uses only rooms to its left, so there are no circles.
//!
//! Every path of the source that leaves its own room counts, `crate::room::...` as well as
//! `super::super::room::...`, in tests too. Comments and texts do not.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// The rooms from left to right. A room may use itself and whatever stands before it.
const ROOMS: [&str; 16] = [
    "error", "numbers", "warning", "scenario", "clock", "chance", "sky", "station", "plan",
    "simulate", "decide", "show", "guide", "cli", "commands", "main",
];

#[test]
fn a_room_uses_only_rooms_to_its_left() {
    let mut wrong = Vec::new();
    for (room, used) in uses() {
        let place = place_of(&room);
        for (other, files) in used {
            if place_of(&other) > place {
                let files: Vec<String> = files.into_iter().collect();
                wrong.push(format!("{room} uses {other}: {}", files.join(", ")));
            }
        }
    }
    assert!(wrong.is_empty(), "rooms that use rooms to their right:\n{}", wrong.join("\n"));
}

#[test]
fn every_room_has_a_place_in_the_order() {
    for room in uses().keys() {
        assert!(ROOMS.contains(&room.as_str()), "`{room}` has no place among {ROOMS:?}");
    }
}

/// The reader of paths must see what is there, or the tests above could not fail.
#[test]
fn the_reader_of_paths_sees_every_way_to_name_a_room() {
    let found = |text: &str, at: &[&str]| {
        let at: Vec<String> = at.iter().map(|it| (*it).to_owned()).collect();
        rooms_in(&code_of(text), &at).into_iter().collect::<Vec<_>>()
    };
    let text = "use crate::{sky::Sky, plan};\nlet a = crate::show::tables::x(); // crate::cli\n\
        let b = \"crate::main\"; use super::super::clock::window; use super::look; /* crate::error */\n\
        use crate::{\n    numbers::{lane::Lane, elementary},\n    warning::Warning,\n};\n\
        fn f(c: char) -> bool { c == '\"' || c == '\\'' } use crate::station::wire; let s: &'static str = r#\"crate::chance \" \"#;";
    assert_eq!(
        found(text, &["simulate", "step"]),
        ["clock", "numbers", "plan", "show", "sky", "station", "warning"]
    );
    assert_eq!(found("use longwatch::commands;", &["main"]), ["commands"]);
    // `super` beyond the room's own top is the top of the crate; within the room it is nothing.
    assert_eq!(found("use super::error::Error;", &["plan"]), ["error"]);
    assert!(found("use super::error::Error;", &["plan", "check"]).is_empty());
}

fn place_of(room: &str) -> usize {
    ROOMS.iter().position(|it| *it == room).unwrap_or(usize::MAX)
}

/// Room to the rooms it uses, each with the files that do.
fn uses() -> BTreeMap<String, BTreeMap<String, BTreeSet<String>>> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    gather(&src, &mut files);
    assert!(files.len() > 50, "only {} files", files.len());
    let mut found: BTreeMap<String, BTreeMap<String, BTreeSet<String>>> = BTreeMap::new();
    for file in files {
        let below = file.strip_prefix(&src).unwrap();
        let mut at: Vec<String> = below
            .with_extension("")
            .components()
            .map(|part| part.as_os_str().to_string_lossy().into_owned())
            .collect();
        if at.len() > 1 && at.last().is_some_and(|last| last == "mod") {
            at.pop();
        }
        if at == ["lib"] {
            continue;
        }
        let text = std::fs::read_to_string(&file).unwrap();
        let used = found.entry(at[0].clone()).or_default();
        for other in rooms_in(&code_of(&text), &at) {
            if other != at[0] {
                used.entry(other).or_default().insert(format!("src/{}", below.display()));
            }
        }
    }
    found
}

fn gather(folder: &Path, files: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            gather(&path, files);
        } else if path.extension().is_some_and(|it| it == "rs") {
            files.push(path);
        }
    }
}

/// First names after `crate::`, `longwatch::` and chains of `super::` that reach the top.
fn rooms_in(code: &str, at: &[String]) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for top in ["crate::", "longwatch::"] {
        for (begin, _) in code.match_indices(top) {
            if starts_a_path(code, begin) {
                names_after(&code[begin + top.len()..], &mut found);
            }
        }
    }
    for (begin, _) in code.match_indices("super::") {
        if !starts_a_path(code, begin) {
            continue;
        }
        let mut rest = &code[begin..];
        let mut up = 0;
        while let Some(shorter) = rest.strip_prefix("super::") {
            rest = shorter;
            up += 1;
        }
        // One more step up than the file is deep: from a module written inside the file.
        if up >= at.len() {
            let mut names = BTreeSet::new();
            names_after(rest, &mut names);
            found.extend(names.into_iter().filter(|name| ROOMS.contains(&name.as_str())));
        }
    }
    found
}

fn starts_a_path(code: &str, begin: usize) -> bool {
    let before = code[..begin].chars().next_back();
    !before.is_some_and(|it| it.is_alphanumeric() || it == '_' || it == ':')
}

/// The name, or the first names of every branch of `{...}`, at the beginning of a text.
fn names_after(text: &str, found: &mut BTreeSet<String>) {
    let name = |text: &str| -> String {
        text.chars().take_while(|it| it.is_alphanumeric() || *it == '_').collect()
    };
    if !text.starts_with('{') {
        found.extend(Some(name(text)).filter(|it| !it.is_empty()));
        return;
    }
    let mut depth = 0;
    let mut begins = false;
    for (place, letter) in text.char_indices() {
        match letter {
            '{' => {
                depth += 1;
                begins = depth == 1;
            }
            '}' => depth -= 1,
            ',' => begins = depth == 1,
            _ if begins && depth == 1 && !letter.is_whitespace() => {
                found.insert(name(&text[place..]));
                begins = false;
            }
            _ => {}
        }
        if depth == 0 {
            break;
        }
    }
}

/// The text without comments, without what stands in quotes.
fn code_of(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let mut code = String::new();
    let mut at = 0;
    while at < letters.len() {
        let here = letters[at];
        let next = letters.get(at + 1).copied().unwrap_or(' ');
        if here == '/' && next == '/' {
            while at < letters.len() && letters[at] != '\n' {
                at += 1;
            }
        } else if here == '/' && next == '*' {
            at += 2;
            while at + 1 < letters.len() && !(letters[at] == '*' && letters[at + 1] == '/') {
                at += 1;
            }
            at += 2;
        } else if here == 'r' && (next == '"' || next == '#') && raw_quote(&letters[at + 1..]) {
            let marks = letters[at + 1..].iter().take_while(|it| **it == '#').count();
            at += marks + 2;
            let ends = |at: usize| {
                letters[at] == '"'
                    && letters[at + 1..].iter().take(marks).filter(|it| **it == '#').count()
                        == marks
            };
            while at < letters.len() && !ends(at) {
                at += 1;
            }
            at += marks + 1;
        } else if here == '"' {
            at += 1;
            while at < letters.len() && letters[at] != '"' {
                at += if letters[at] == '\\' { 2 } else { 1 };
            }
            at += 1;
        } else if here == '\'' && (next == '\\' || letters.get(at + 2) == Some(&'\'')) {
            // A letter in quotes, not a lifetime.
            at += if next == '\\' { 3 } else { 2 };
            while at < letters.len() && letters[at] != '\'' {
                at += 1;
            }
            at += 1;
        } else {
            code.push(here);
            at += 1;
        }
    }
    code
}

fn raw_quote(after_r: &[char]) -> bool {
    after_r.iter().find(|it| **it != '#') == Some(&'"')
}
