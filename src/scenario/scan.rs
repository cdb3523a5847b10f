//! A forgiving scanner over JSON text.
//!
//! It finds the place of every value, and it explains what is not JSON in the words of somebody
//! who wrote the file by hand. After a slip whose meaning is plain (a comment, a trailing comma, a
//! decimal comma) it reads on, so that one reading names all slips. What it lets pass is still
//! given to `serde_json`, which alone decides what a scenario is.

mod brackets;
mod scalar;

use std::ops::Range;

use super::problem::{Problem, ProblemKind};
use super::spans::{Member, Node, NodeKind};

/// What the scanner found.
pub(super) struct Scanned {
    /// The tree; none if the text could not be followed to its end.
    pub root: Option<Node>,
    /// What is not JSON.
    pub problems: Vec<Problem>,
}

/// Scans a whole text.
pub(super) fn scan(text: &str) -> Scanned {
    let mut scanner =
        Scanner { text, at: 0, open: Vec::new(), problems: Vec::new(), comments: 0, slanted: None };
    let root = scanner.whole().ok();
    if scanner.comments > 1 {
        let more = scanner.comments - 1;
        if let Some(problem) =
            scanner.problems.iter_mut().find(|problem| problem.text == COMMENT_TEXT)
        {
            problem.hint =
                Some(format!("{COMMENT_HINT} The file holds {more} more comment{}.", plural(more)));
        }
    }
    Scanned { root, problems: scanner.problems }
}

const COMMENT_TEXT: &str = "JSON has no comments";
const COMMENT_HINT: &str = "Put the words into a `notes` key of the part they speak of.";

fn plural(count: usize) -> &'static str {
    if count == 1 { "" } else { "s" }
}

/// The text cannot be followed further; the problem is already noted.
struct Lost;

struct Scanner<'t> {
    text: &'t str,
    at: usize,
    open: Vec<usize>,
    problems: Vec<Problem>,
    comments: usize,
    /// The first bracket closed at another indentation than it was opened: `(opened, closed)`.
    slanted: Option<(usize, usize)>,
}

impl<'t> Scanner<'t> {
    fn peek(&self) -> Option<char> {
        self.text[self.at..].chars().next()
    }

    fn rest(&self) -> &'t str {
        &self.text[self.at..]
    }

    fn step(&mut self) {
        self.at += self.peek().map_or(0, char::len_utf8);
    }

    fn skip_while(&mut self, matches: impl Fn(char) -> bool) {
        let rest = self.rest();
        self.at += rest.find(|c| !matches(c)).unwrap_or(rest.len());
    }

    fn problem(&mut self, span: Range<usize>, text: &str, label: &str, hint: &str) {
        let mut problem = Problem::new(ProblemKind::Syntax, text).mark(span, label);
        if !hint.is_empty() {
            problem = problem.hint(hint);
        }
        self.problems.push(problem);
    }

    /// Skips blanks and comments.
    fn skip_blank(&mut self) {
        loop {
            self.skip_while(char::is_whitespace);
            let start = self.at;
            let rest = self.rest();
            if rest.starts_with("//") || rest.starts_with('#') {
                self.skip_while(|c| c != '\n');
            } else if rest.starts_with("/*") {
                self.at += rest.find("*/").map_or(rest.len(), |end| end + 2);
            } else {
                return;
            }
            self.comments += 1;
            if self.comments == 1 {
                let first_line = self.text[start..self.at].lines().next().unwrap_or_default();
                let end = start + first_line.len();
                self.problem(start..end, COMMENT_TEXT, "found a comment", COMMENT_HINT);
            }
        }
    }

    fn whole(&mut self) -> Result<Node, Lost> {
        self.skip_blank();
        if self.at == self.text.len() {
            self.problems.push(
                Problem::new(ProblemKind::Syntax, "the file is empty")
                    .hint("A scenario is one JSON object: `{ \"format\": 2, ... }`."),
            );
            return Err(Lost);
        }
        if self.peek() != Some('{') {
            let span = self.here();
            self.problem(
                span,
                "a scenario is one JSON object",
                "`{` belongs here",
                "It begins like this: `{ \"format\": 2, \"title\": \"...\", ... }`.",
            );
            return Err(Lost);
        }
        let root = self.value()?;
        self.skip_blank();
        if self.at < self.text.len() {
            let span = self.here();
            let mut problem = Problem::new(ProblemKind::Syntax, "the file goes on after its end")
                .mark(span, "what begins here belongs to nothing");
            problem = problem
                .mark(root.span.end - 1..root.span.end, "this bracket closed the scenario")
                .hint("Most likely one closing bracket too many stands here or before.");
            if let Some(hint) = self.slant_hint() {
                problem = problem.hint(&hint);
            }
            self.problems.push(problem);
            return Err(Lost);
        }
        Ok(root)
    }

    /// The character at hand as a span; the last of the file at its end.
    fn here(&self) -> Range<usize> {
        match self.peek() {
            Some(c) => self.at..self.at + c.len_utf8(),
            None => {
                let end = self.text.trim_end().len();
                let last = self.text[..end].chars().next_back().map_or(0, char::len_utf8);
                end - last..end
            }
        }
    }

    fn value(&mut self) -> Result<Node, Lost> {
        match self.peek() {
            None => Err(self.truncated()),
            Some('{') => self.object(),
            Some('[') => self.list(),
            Some(c) if scalar::opens_text(c) => {
                let (text, span) = self.text_in_quotes();
                Ok(Node { span, kind: text.map_or(NodeKind::Broken, NodeKind::Text) })
            }
            Some(c) if c.is_ascii_digit() || matches!(c, '-' | '+' | '.') => Ok(self.number()),
            Some(c) if c.is_alphabetic() || c == '_' => Ok(self.word()),
            Some(_) => {
                let span = self.here();
                self.problem(
                    span,
                    "a value is missing here",
                    "found this instead",
                    "A value is a number, text in double quotes, `true`, `false`, `[...]` or `{...}`.",
                );
                Err(Lost)
            }
        }
    }

    fn list(&mut self) -> Result<Node, Lost> {
        let start = self.enter()?;
        let mut items: Vec<Node> = Vec::new();
        loop {
            self.skip_blank();
            match self.peek() {
                Some(']') => break,
                Some('}') => return Err(self.wrong_bracket(start)),
                Some(',') => self.stray_comma(),
                _ => {
                    items.push(self.value()?);
                    self.after_value(start, ']')?;
                }
            }
        }
        let span = self.leave(start);
        Ok(Node { span, kind: NodeKind::List(items) })
    }

    fn object(&mut self) -> Result<Node, Lost> {
        let start = self.enter()?;
        let mut members: Vec<Member> = Vec::new();
        loop {
            self.skip_blank();
            match self.peek() {
                Some('}') => break,
                Some(']') => return Err(self.wrong_bracket(start)),
                Some(',') => self.stray_comma(),
                Some(c) if c.is_ascii_digit() && self.decimal_comma(members.last_mut()) => {
                    self.after_value(start, '}')?;
                }
                _ => {
                    let (key, key_span) = self.key()?;
                    self.colon(&key_span)?;
                    let value = self.value()?;
                    members.push(Member { key, key_span, value });
                    self.after_value(start, '}')?;
                }
            }
        }
        let span = self.leave(start);
        Ok(Node { span, kind: NodeKind::Object(members) })
    }

    fn key(&mut self) -> Result<(String, Range<usize>), Lost> {
        match self.peek() {
            None => Err(self.truncated()),
            Some(c) if scalar::opens_text(c) => {
                let (text, span) = self.text_in_quotes();
                Ok((text.unwrap_or_default(), span))
            }
            Some(c) if c.is_alphabetic() || c == '_' => {
                let start = self.at;
                self.skip_while(|c| c.is_alphanumeric() || c == '_');
                let key = self.text[start..self.at].to_owned();
                let hint = format!("Write \"{key}\".");
                self.problem(start..self.at, "a key stands in double quotes", "no quotes", &hint);
                Ok((key, start..self.at))
            }
            Some(_) => {
                let span = self.here();
                self.problem(
                    span,
                    "a key in double quotes is missing here",
                    "found this instead",
                    "",
                );
                Err(Lost)
            }
        }
    }

    fn colon(&mut self, key: &Range<usize>) -> Result<(), Lost> {
        self.skip_blank();
        match self.peek() {
            Some(':') => self.at += 1,
            None => return Err(self.truncated()),
            found => {
                self.problem(
                    key.clone(),
                    "a colon is missing after this key",
                    "key without a colon",
                    "Write a key and its value as `\"key\": value`.",
                );
                if found == Some('=') {
                    self.at += 1;
                } else if matches!(found, Some(',' | '}' | ']')) {
                    return Err(Lost);
                }
            }
        }
        self.skip_blank();
        Ok(())
    }

    /// What follows a value: a comma, the closing bracket, or a slip.
    fn after_value(&mut self, opened: usize, close: char) -> Result<(), Lost> {
        let value_end = self.at;
        self.skip_blank();
        match self.peek() {
            None => Err(self.truncated()),
            Some(c) if c == close => Ok(()),
            Some(',') => {
                let comma = self.at;
                self.at += 1;
                self.skip_blank();
                if self.peek() == Some(close) {
                    self.problem(
                        comma..comma + 1,
                        "JSON has no trailing commas",
                        "nothing follows this comma",
                        "Take this comma away.",
                    );
                }
                Ok(())
            }
            Some(';') => {
                let span = self.here();
                self.at += 1;
                self.problem(span, "values are parted by commas", "found a semicolon", "");
                Ok(())
            }
            Some('}' | ']') => Err(self.wrong_bracket(opened)),
            Some(c)
                if c.is_alphanumeric()
                    && self.at == value_end
                    && self.text[..value_end].ends_with('"') =>
            {
                // `"house, "draw": ...`: quotes open and close the wrong way round from here on.
                let start = self.text[..value_end - 1].rfind('"').unwrap_or(value_end - 1);
                self.problem(
                    start..value_end,
                    "a quote is missing",
                    "this text, or one before it, lacks its closing quote",
                    "Reading stopped here: mend this first.",
                );
                Err(Lost)
            }
            Some(c)
                if scalar::opens_text(c) || c.is_alphanumeric() || matches!(c, '{' | '[' | '-') =>
            {
                let last = self.text[..value_end].chars().next_back().map_or(0, char::len_utf8);
                self.problem(
                    value_end - last..value_end,
                    "a comma is missing",
                    "a comma belongs after this",
                    "",
                );
                Ok(())
            }
            Some(_) => {
                let span = self.here();
                let text = format!("a comma or `{close}` is missing here");
                self.problem(span, &text, "found this instead", "");
                Err(Lost)
            }
        }
    }

    fn stray_comma(&mut self) {
        let span = self.here();
        self.at += 1;
        self.problem(span, "one comma too many", "nothing stands before this comma", "");
    }
}

#[cfg(test)]
mod tests;
