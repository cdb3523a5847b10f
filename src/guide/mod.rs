//! The manual that travels with the program: pages of text, and a page for every key of a scenario.
//!
//! Lives here: the pages (`*.md`, one topic each, in a small subset of Markdown), how they fit a
//! width, the page of a key made from the schema, and the search. README and rustdoc point to the
//! same pages.
//! Does not live here: how wide the terminal is (`commands::guide`).

pub mod find;
pub mod key_page;
pub mod keys;
pub mod layout;
pub mod topics;

use crate::error::Error;
use crate::scenario::problem::likely;
use topics::TOPICS;

/// The list of topics, at most `width` columns wide.
#[must_use]
pub fn contents(width: usize) -> String {
    let mut lines = layout::title("The guide, one page a topic", width);
    lines.push(String::new());
    for topic in &TOPICS {
        lines.extend(layout::row(topic.name, topic.title(), 12, width));
    }
    lines.push(String::new());
    for (command, gives) in [
        ("longwatch guide odds", "a page"),
        ("longwatch guide battery.lead_acid", "a key of a scenario"),
        ("longwatch guide club.packs", "a key of a club's file"),
        ("longwatch guide --find disconnect", "every place of a word"),
    ] {
        lines.extend(layout::row(command, gives, 36, width));
    }
    layout::text_of(&lines)
}

/// The page of a topic or of a key, at most `width` columns wide.
///
/// A topic comes before a key of the same name; `scenario.` in front of a key always means the key.
///
/// # Errors
/// When there is neither; the sentence names what was probably meant.
pub fn page(asked: &str, width: usize) -> Result<String, Error> {
    let asked = asked.trim();
    if let Some(topic) = topics::named(asked) {
        return Ok(topic_page(topic, width));
    }
    let trees = keys::trees();
    let found = trees.iter().find_map(|tree| Some((tree, tree.look_up(asked)?)));
    if let Some((tree, entry)) = found {
        return Ok(key_page::page(tree, &entry, width));
    }
    for tree in &trees {
        let ends = tree.ending_with(asked);
        if !ends.is_empty() {
            return Ok(key_page::page_of_ending(tree, asked, &ends, width));
        }
    }
    Err(Error::CommandLine(unknown(asked, &trees)))
}

/// Every place of a word in pages and keys, at most `width` columns wide.
///
/// # Errors
/// When the word is nowhere; the sentence names what was probably meant.
pub fn places_of(word: &str, width: usize) -> Result<String, Error> {
    find::places_of(word, width)
}

fn topic_page(topic: &topics::Topic, width: usize) -> String {
    let mut lines = layout::fitted(&layout::blocks(topic.text), width);
    let same_name = keys::trees().iter().any(|tree| tree.look_up(topic.name).is_some());
    if same_name {
        let name = topic.name;
        let text = format!("The key `{name}` of a scenario: `longwatch guide scenario.{name}`.");
        lines.push(String::new());
        lines.extend(layout::paragraph(&text, width));
    }
    layout::text_of(&lines)
}

fn unknown(asked: &str, trees: &[keys::Tree]) -> String {
    let short = |path: &str| path.replace("[]", "").replace(".*", "");
    let paths: Vec<String> =
        trees.iter().flat_map(keys::Tree::paths).map(|path| short(&path)).collect();
    let last = |path: &str| path.rsplit('.').next().unwrap_or_default().to_owned();
    let lasts: Vec<String> = paths.iter().map(|path| last(path)).collect();
    let topics =
        TOPICS.iter().flat_map(|topic| [topic.name].into_iter().chain(topic.also.iter().copied()));
    let names =
        topics.chain(paths.iter().map(String::as_str)).chain(lasts.iter().map(String::as_str));
    let meant = likely(&short(asked), names)
        .map_or(String::new(), |name| format!(" Did you mean `longwatch guide {name}`?"));
    format!(
        "`{asked}` is no topic of the guide and no key of a scenario or club.{meant} \
         `longwatch guide` lists the topics; `longwatch guide --find WORD` searches all of them."
    )
}
