//! Where every value of a scenario stands in its text.
//!
//! [`Spans`] answers: which bytes hold the value (or the key) at a JSON path, and which line and
//! column is that. It is built by the scanner (`scan`) before anything is understood, so that
//! every later step can underline what it speaks of.

use std::ops::Range;

use super::json_path::{JsonPath, Step};

/// A value with its place in the text.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// Bytes of the value.
    pub span: Range<usize>,
    /// What it is.
    pub kind: NodeKind,
}

/// What a [`Node`] is.
#[derive(Debug, Clone, PartialEq)]
pub enum NodeKind {
    /// `{...}` with its members in the order of the file, doubles included.
    Object(Vec<Member>),
    /// `[...]`
    List(Vec<Node>),
    /// Text in quotes, decoded.
    Text(String),
    /// A number.
    Number(f64),
    /// `true` or `false`.
    Bool(bool),
    /// `null`.
    Null,
    /// Something the scanner has already complained about.
    Broken,
}

/// A key and its value.
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// The key, decoded.
    pub key: String,
    /// Bytes of the key with its quotes.
    pub key_span: Range<usize>,
    /// The value.
    pub value: Node,
}

/// The place of one value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// Bytes of the key, with its quotes; none for list elements and the top.
    pub key: Option<Range<usize>>,
    /// Bytes of the value.
    pub value: Range<usize>,
}

/// A scenario text with the place of every value in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Spans {
    file: String,
    text: String,
    root: Node,
}

/// Values longer than this, or over several lines, are pointed at by their key.
const LONGEST_UNDERLINE: usize = 60;

impl Spans {
    pub(super) fn new(file: &str, text: &str, root: Node) -> Self {
        Self { file: file.to_owned(), text: text.to_owned(), root }
    }

    /// Name of the file, as its reader typed it.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.file
    }

    /// The whole text, without a byte-order mark.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The top of the file.
    #[must_use]
    pub fn root(&self) -> &Node {
        &self.root
    }

    /// The place of the value at `path`, if the file has it.
    #[must_use]
    pub fn place(&self, path: &JsonPath) -> Option<Place> {
        let (place, depth) = self.deepest(path);
        (depth == path.steps().len()).then_some(place)
    }

    /// Bytes to underline when speaking of the value at `path`: a short value itself, a long one
    /// by its key or opening bracket. A value that the file leaves to its default is pointed at
    /// by the nearest object around it that is there.
    #[must_use]
    pub fn underline(&self, path: &JsonPath) -> Range<usize> {
        let (place, _) = self.deepest(path);
        underline_of(&self.text, place.key.as_ref(), &place.value)
    }

    /// Bytes to underline when speaking of the key at `path`.
    #[must_use]
    pub fn underline_key(&self, path: &JsonPath) -> Range<usize> {
        let (place, depth) = self.deepest(path);
        match place.key {
            Some(key) if depth == path.steps().len() => key,
            key => underline_of(&self.text, key.as_ref(), &place.value),
        }
    }

    /// Line and column (in characters) of a byte, both from 1.
    #[must_use]
    pub fn line_col(&self, byte: usize) -> (usize, usize) {
        line_col(&self.text, byte)
    }

    /// The path that a text such as `loads.hf set.window_v[1]` means in this file, as far as the
    /// file has it. Names may stand with or without quotes.
    #[must_use]
    pub fn path_of(&self, text: &str) -> JsonPath {
        let (mut node, mut path, mut rest) = (&self.root, JsonPath::top(), text);
        loop {
            let next = match &node.kind {
                NodeKind::Object(members) => members
                    .iter()
                    .filter_map(|member| {
                        let quoted = format!("{:?}", member.key);
                        let after = rest.strip_prefix(&quoted).or(rest.strip_prefix(&member.key))?;
                        let ends = after.is_empty() || after.starts_with(['.', '[']);
                        ends.then(|| (path.key(&member.key), &member.value, after))
                    })
                    .min_by_key(|(_, _, after)| after.len()),
                NodeKind::List(items) => rest
                    .strip_prefix('[')
                    .and_then(|rest| rest.split_once(']'))
                    .and_then(|(index, after)| Some((index.parse::<usize>().ok()?, after)))
                    .and_then(|(index, after)| Some((path.index(index), items.get(index)?, after))),
                _ => None,
            };
            let Some((longer, value, after)) = next else { return path };
            (node, path, rest) = (value, longer, after.strip_prefix('.').unwrap_or(after));
        }
    }

    /// The deepest value on the way to `path` and how many steps lead to it. Of keys given twice
    /// the last counts.
    fn deepest(&self, path: &JsonPath) -> (Place, usize) {
        let mut node = &self.root;
        let mut place = Place { key: None, value: node.span.clone() };
        for (depth, step) in path.steps().iter().enumerate() {
            let next = match (step, &node.kind) {
                (Step::Key(key), NodeKind::Object(members)) => members
                    .iter()
                    .rev()
                    .find(|member| member.key == *key)
                    .map(|member| (Some(member.key_span.clone()), &member.value)),
                (Step::Index(index), NodeKind::List(items)) => {
                    items.get(*index).map(|item| (None, item))
                }
                _ => None,
            };
            let Some((key, value)) = next else { return (place, depth) };
            node = value;
            place = Place { key, value: value.span.clone() };
        }
        (place, path.steps().len())
    }
}

/// Bytes to underline for a value with this key: see [`Spans::underline`].
pub(super) fn underline_of(
    text: &str,
    key: Option<&Range<usize>>,
    value: &Range<usize>,
) -> Range<usize> {
    let shown = text.get(value.clone()).unwrap_or_default();
    if shown.len() <= LONGEST_UNDERLINE && !shown.contains('\n') {
        return value.clone();
    }
    key.cloned().unwrap_or(value.start..(value.start + 1).min(value.end))
}

/// Line and column (in characters) of a byte, both from 1.
pub(super) fn line_col(text: &str, byte: usize) -> (usize, usize) {
    let before = text.get(..byte.min(text.len())).unwrap_or(text);
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    (line, column)
}
