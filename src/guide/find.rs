//! The search: sentences of pages and meanings of keys that hold a word.

use super::keys::{once_each, trees};
use super::layout::{self, Block, blocks};
use super::topics::TOPICS;
use crate::error::Error;
use crate::scenario::problem::likely;

/// Every place of a word, without regard to case.
///
/// # Errors
/// When it is nowhere; the sentence names a near word.
pub fn places_of(word: &str, width: usize) -> Result<String, Error> {
    let wanted = word.trim().to_lowercase();
    if wanted.is_empty() {
        return Err(Error::CommandLine("`--find` needs a word, such as `--find fuse`".to_owned()));
    }
    let has = |text: &str| text.to_lowercase().contains(&wanted);
    let mut lines = Vec::new();
    for topic in &TOPICS {
        let found: Vec<String> =
            blocks(topic.text).iter().flat_map(sentences).filter(|it| has(it)).collect();
        if !found.is_empty() {
            part(&mut lines);
            lines.extend(layout::title(&format!("longwatch guide {}", topic.name), width));
            lines.extend(found.iter().flat_map(|it| layout::item(it, width)));
        }
    }
    let mut keys = Vec::new();
    for tree in trees() {
        let entries = tree.all().into_iter();
        let found = entries.filter(|it| has(&it.path) || has(&it.meaning)).collect();
        keys.extend(once_each(found).into_iter().map(|it| (tree.prefix, it)));
    }
    if !keys.is_empty() {
        part(&mut lines);
        lines.extend(layout::title("Keys", width));
        for (prefix, entry) in &keys {
            let name =
                if *prefix == "club" { format!("club.{}", entry.path) } else { entry.path.clone() };
            lines.extend(layout::row(&name, &entry.meaning, 36, width));
        }
    }
    if lines.is_empty() {
        return Err(Error::CommandLine(nowhere(word.trim())));
    }
    Ok(layout::text_of(&lines))
}

/// A blank line between two parts.
fn part(lines: &mut Vec<String>) {
    if !lines.is_empty() {
        lines.push(String::new());
    }
}

/// The sentences of a piece of a page; an item of a list stays whole, and so does a line of code.
#[must_use]
pub fn sentences(block: &Block) -> Vec<String> {
    let words = block.words();
    if matches!(block, Block::Code(_)) {
        return words.lines().map(|line| line.trim().to_owned()).collect();
    }
    if matches!(block, Block::Item(_)) {
        return vec![words];
    }
    let mut sentences = vec![String::new()];
    for word in words.split_whitespace() {
        let Some(last) = sentences.last_mut() else { break };
        if !last.is_empty() {
            last.push(' ');
        }
        last.push_str(word);
        let end = word.trim_end_matches(['"', ')', '`', '*']);
        if end.ends_with(['.', '!', '?']) {
            sentences.push(String::new());
        }
    }
    sentences.retain(|sentence| !sentence.is_empty());
    sentences
}

fn nowhere(word: &str) -> String {
    let text: String = TOPICS.iter().map(|topic| topic.text).collect();
    let mut words: Vec<String> = text
        .split(|c: char| !c.is_alphanumeric())
        .filter(|it| it.len() > 3)
        .map(str::to_lowercase)
        .collect();
    words.sort();
    words.dedup();
    let meant = likely(word, words.iter().map(String::as_str))
        .map_or(String::new(), |near| format!(" Did you mean `longwatch guide --find {near}`?"));
    format!("`{word}` is nowhere in the guide.{meant} `longwatch guide` lists the topics.")
}
