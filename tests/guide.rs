//! The manual: its pages are short and plain, what they say can be typed, and every topic and key
//! is reached.

use std::process::{Command, Output};

use clap::CommandFactory as _;
use longwatch::cli::{self, Cli};
use longwatch::guide::layout::{Block, blocks};
use longwatch::guide::topics::{TOPICS, named, of_key};
use longwatch::guide::{self, key_page, keys};
use longwatch::scenario::read;
use serde_json::Value;

use crate::support::{merge, retired, text};

/// Columns and results that the glossary names: not keys of a scenario.
const COLUMNS: [&str; 5] = ["no_power_h", "shed_w", "unserved_w", "clipped_wh", "curtailed_wh"];

/// Words of a command line, as a shell parts them.
fn shell_words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            _ => words.last_mut().unwrap().push(letter),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

/// What stands between backticks in the text of a page.
fn in_backticks(page: &str) -> Vec<String> {
    let mut found = Vec::new();
    for block in blocks(page) {
        if !matches!(block, Block::Code(_)) {
            let words = block.words();
            found.extend(words.split('`').skip(1).step_by(2).map(str::to_owned));
        }
    }
    found
}

/// Every command line of a page.
fn command_lines(page: &str) -> Vec<String> {
    let mut lines: Vec<String> =
        in_backticks(page).into_iter().filter(|it| it.starts_with("longwatch ")).collect();
    for block in blocks(page) {
        if let Block::Code(code) = block {
            lines.extend(code.into_iter().filter(|line| line.starts_with("longwatch ")));
        }
    }
    lines
}

#[test]
fn pages_are_short_narrow_and_plain_text() {
    for topic in &TOPICS {
        let (name, page) = (topic.name, topic.text);
        assert!(page.starts_with("# ") && !topic.title().is_empty(), "{name}");
        let count = page.lines().count();
        assert!((20..=120).contains(&count), "{name}: {count} lines");
        for line in page.lines() {
            assert!(line.len() <= 80, "{name}: {line}");
            assert!(line.is_ascii(), "{name}: {line}");
        }
        assert!(page.matches("```").count().is_multiple_of(2), "{name}: a code block stays open");
    }
}

#[test]
fn sentences_have_at_most_twenty_words() {
    for topic in &TOPICS {
        let long = retired::long_sentences(topic.text, 20);
        assert!(long.is_empty(), "{}: {long:#?}", topic.name);
    }
}

#[test]
fn no_page_uses_a_retired_phrase() {
    for topic in &TOPICS {
        let found = retired::found(topic.text);
        assert!(found.is_empty(), "{}: {found:#?}", topic.name);
    }
}

#[test]
fn every_command_of_the_pages_can_be_typed() {
    let mut count = 0;
    for topic in &TOPICS {
        for line in command_lines(topic.text) {
            let words = shell_words(&line);
            if words.len() == 2 && words[1] == "without" {
                continue; // the name of a command within a sentence
            }
            let named_only = Cli::command()
                .get_subcommands()
                .any(|it| words.len() == 2 && words[1] == it.get_name());
            if named_only {
                continue;
            }
            if let Err(error) = cli::parse(&words) {
                panic!("{}: `{line}`: {error}", topic.name);
            }
            let asked = words.get(2).filter(|_| words[1] == "guide");
            if let Some(asked) = asked.filter(|it| !it.starts_with("--") && *it != "KEY") {
                assert!(guide::page(asked, 80).is_ok(), "{}: `{line}`", topic.name);
            }
            count += 1;
        }
    }
    assert!(count > 50, "only {count} commands");
}

#[test]
fn every_json_of_the_pages_is_read_without_a_problem() {
    let hall: Value = serde_json::from_str(&text("scenarios/hall-72h.json")).unwrap();
    let club: Value = serde_json::from_str(&text("scenarios/club-weekend.json")).unwrap();
    let mut count = 0;
    for topic in &TOPICS {
        for block in blocks(topic.text) {
            let Block::Code(code) = block else { continue };
            let json = code.join("\n");
            if !json.trim_start().starts_with('{') {
                continue;
            }
            let patch: Value =
                serde_json::from_str(&json).unwrap_or_else(|e| panic!("{}: {e}", topic.name));
            let mut whole = if topic.name == "exercise" { club.clone() } else { hall.clone() };
            merge(&mut whole, &patch);
            let problems = if topic.name == "exercise" {
                read::attempt_club(&whole.to_string(), "page").problems
            } else {
                read::attempt(&whole.to_string(), "page").problems
            };
            assert!(problems.is_empty(), "{}: {json}\n{problems:#?}", topic.name);
            count += 1;
        }
    }
    assert!(count >= 10, "only {count} pieces of JSON");
}

#[test]
fn every_key_that_a_page_names_is_a_key() {
    let trees = keys::trees();
    let mut count = 0;
    for topic in &TOPICS {
        for code in in_backticks(topic.text) {
            let letters =
                |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || "_.*".contains(c);
            let ending = code.starts_with('_');
            let is_key = !ending && code.contains(['_', '.']) && code.chars().all(letters);
            let is_file = [".csv", ".json", ".svg", ".png", ".txt", ".html", ".md"]
                .iter()
                .any(|end| code.ends_with(end));
            if !is_key || is_file || COLUMNS.contains(&code.as_str()) {
                continue;
            }
            let known = trees
                .iter()
                .any(|it| it.look_up(&code).is_some() || !it.ending_with(&code).is_empty());
            assert!(known, "{}: `{code}` is no key", topic.name);
            count += 1;
        }
    }
    assert!(count > 60, "only {count} keys");
}

#[test]
fn every_topic_and_every_command_has_a_page() {
    let contents = guide::contents(80);
    let mut names = Vec::new();
    for topic in &TOPICS {
        assert!(contents.contains(&format!("  {}", topic.name)), "{contents}");
        names.push(topic.name);
        names.extend(topic.also);
        for name in [topic.name].iter().chain(topic.also) {
            assert_eq!(named(&name.to_uppercase()).unwrap().name, topic.name);
            let page = guide::page(name, 80).unwrap();
            assert!(page.contains(topic.title()), "{name}: {page}");
        }
    }
    for command in Cli::command().get_subcommands() {
        let name = command.get_name();
        assert!(named(name).is_some(), "no page for the command `{name}`");
    }
    let count = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), count, "a name leads to two pages");
}

#[test]
fn every_top_level_key_points_to_a_topic() {
    for tree in keys::trees() {
        for path in tree.paths().iter().filter(|path| !path.contains(['.', ':', '['])) {
            assert!(of_key(path).is_some(), "`{path}` belongs to no topic");
        }
    }
}

/// Every key of both files is found at its own place, and its page says what it means.
#[test]
fn every_key_has_a_page() {
    for tree in keys::trees() {
        let all = tree.all();
        assert!(all.len() > 30);
        for entry in &all {
            let (path, word) = match entry.path.split_once(": ") {
                Some((path, word)) => (path, format!(".{}", word.trim_matches('"'))),
                None => (entry.path.as_str(), String::new()),
            };
            let asked = format!("{}.{path}{word}", tree.prefix);
            let found = tree.look_up(&asked).unwrap_or_else(|| panic!("`{asked}` is not found"));
            assert_eq!(found.path, entry.path, "{asked}");
            assert!(!entry.meaning.is_empty(), "{asked} means nothing");
            let page = key_page::page(&tree, &found, 80);
            let begin: String = entry.meaning.chars().take(30).collect();
            assert!(page.contains(&begin), "{asked}: {page}");
        }
    }
}

#[test]
fn a_key_is_found_by_what_people_type() {
    let title = |asked: &str| {
        let page = guide::page(asked, 80).unwrap();
        anstream::adapter::strip_str(page.lines().next().unwrap()).to_string()
    };
    for (asked, path) in [
        ("battery.lead_acid", "battery.lead_acid"),
        ("arrays.roof.tilt_deg", "arrays.*.tilt_deg"),
        ("arrays.tilt_deg", "arrays.*.tilt_deg"),
        ("tilt_deg", "Keys that end in tilt_deg"),
        ("charger_only", "supply.joins: \"charger_only\""),
        ("tiers[0].name", "tiers[].name"),
        ("tiers.name", "tiers[].name"),
        ("scenario.start", "start"),
        ("supply.joins.bus", "supply.joins: \"bus\""),
        ("club.gear.mast.mass_kg", "gear.*.mass_kg (a club's file)"),
    ] {
        assert_eq!(title(asked), path, "{asked}");
    }
    let page = guide::page("battery.lead_acid.charge_efficiency_share", 80).unwrap();
    for part in ["share of a whole", "0.3 to 1", "0.97"] {
        assert!(page.contains(part), "{page}");
    }
    let page = guide::page("battery.lead_acid", 80).unwrap();
    for part in ["capacities", "must be given", "\"agm\"", "longwatch guide batteries"] {
        assert!(page.contains(part), "{page}");
    }
    // A topic of the same name comes first and says how to reach the key.
    let page = guide::page("tiers", 80).unwrap();
    assert!(page.contains("longwatch guide scenario.tiers"), "{page}");
}

#[test]
fn a_slip_brings_what_was_meant() {
    for (asked, meant) in [
        ("oods", "guide odds`"),
        ("baterries", "guide batteries`"),
        ("battery.laed_acid", "guide battery.lead_acid`"),
        ("exersise", "guide exercise`"),
    ] {
        let error = guide::page(asked, 80).unwrap_err();
        assert_eq!(error.exit_code(), 2);
        assert!(error.to_string().contains(meant), "{asked}: {error}");
    }
    let error = guide::page("qqqqqq", 80).unwrap_err().to_string();
    assert!(!error.contains("Did you mean") && error.contains("longwatch guide"), "{error}");
    let error = guide::places_of("hydrogn", 80).unwrap_err();
    assert_eq!(error.exit_code(), 2);
    assert!(error.to_string().contains("--find hydrogen"), "{error}");
    assert!(guide::places_of(" ", 80).is_err());
}

#[test]
fn find_names_pages_and_keys() {
    let found = guide::places_of("DISCONNECT", 80).unwrap();
    for part in ["longwatch guide batteries", "longwatch guide words", "Keys", "disconnect."] {
        assert!(found.contains(part), "{part}: {found}");
    }
    assert!(!found.contains("longwatch guide card"), "{found}");
    let found = guide::places_of("handover", 80).unwrap();
    assert!(found.contains("club.stations.*.swap.handover"), "{found}");
}

/// No line is wider than the terminal, but for a word, a name or a line of JSON that cannot be folded.
#[test]
fn pages_fit_a_narrow_terminal() {
    for width in [40, 80, 100] {
        for topic in &TOPICS {
            let page = guide::page(topic.name, width).unwrap();
            for line in anstream::adapter::strip_str(&page).to_string().lines() {
                let indent = line.len() - line.trim_start().len();
                let json = line.trim_start().starts_with(['{', '"', '}']);
                let one = line.trim().split(' ').count() <= 2 || line.matches('"').count() >= 2;
                assert!(line.len() <= width || json || one, "{width}, {indent}: {line}");
            }
        }
    }
}

/// Each caution that the work needs, by words that must stand on one line of the page.
#[test]
fn the_page_of_cautions_has_them_all() {
    let page = TOPICS.iter().find(|topic| topic.name == "cautions").unwrap().text;
    let items: Vec<String> = blocks(page).iter().map(Block::words).collect();
    for words in [
        &["tool", "ring", "poles", "burns", "welds", "Take off rings"][..],
        &["Disconnect the minus pole first"],
        &["mains wiring", "licensed person"],
        &["charge", "below freezing"],
        &["hydrogen", "air"],
        &["Deep discharge"],
        &["Exhaust kills", "carbon monoxide", "outdoors"],
        &["shock"],
        &["climbs", "storm", "dark", "ice"],
        &["side by side", "equal kind", "equal volts"],
        &["20 kg", "Two people"],
        &["medical device", "alarm", "this plan alone"],
        &["Fuse every plus lead", "battery"],
    ] {
        let there = items.iter().any(|item| words.iter().all(|word| item.contains(word)));
        assert!(there, "no caution with {words:?}");
    }
    assert!(page.contains("Local codes") && page.contains("60 V"));
}

/// An entry of the glossary: the word, its unit if it has one, a sentence, and where it is used.
#[test]
fn the_glossary_says_where_each_word_is_used() {
    let page = TOPICS.iter().find(|topic| topic.name == "words").unwrap().text;
    let mut count = 0;
    for block in blocks(page) {
        let Block::Item(item) = block else { continue };
        let (term, rest) = item.strip_prefix("**").unwrap().split_once("**").unwrap();
        assert!(!term.is_empty());
        let (unit, sentence) = rest.split_once(": ").unwrap();
        assert!(unit.is_empty() || unit.starts_with(" (") && unit.ends_with(')'), "{item}");
        assert!(sentence.trim_end().ends_with("`."), "no place: {item}");
        count += 1;
    }
    assert!(count > 50, "only {count} words");
}

fn longwatch(columns: &str, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_longwatch"));
    command.args(arguments).env("COLUMNS", columns).env_remove("CLICOLOR_FORCE");
    command.output().unwrap()
}

#[test]
fn the_program_prints_the_manual_into_a_pipe() {
    for arguments in [
        &["guide"][..],
        &["guide", "odds"],
        &["guide", "battery.lead_acid"],
        &["guide", "--find", "disconnect"],
    ] {
        let output = longwatch("40", arguments);
        let text = String::from_utf8(output.stdout).unwrap();
        assert_eq!(output.status.code(), Some(0), "{arguments:?}");
        assert!(output.stderr.is_empty() && !text.contains('\u{1b}'), "{arguments:?}");
        let wide = text.lines().filter(|line| line.len() > 40).count();
        assert!(text.lines().count() > 10 && wide < text.lines().count() / 4, "{text}");
    }
    for arguments in [&["guide", "oods"][..], &["guide", "--find", "qqqq"]] {
        let output = longwatch("80", arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(output.stdout.is_empty());
        assert!(String::from_utf8(output.stderr).unwrap().contains("longwatch guide"));
    }
}
