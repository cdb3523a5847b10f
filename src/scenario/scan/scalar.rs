//! Numbers, texts and words of a scenario, and the slips people make in them.

use std::ops::Range;

use super::super::problem::{Problem, ProblemKind};
use super::super::spans::{Member, Node, NodeKind};
use super::Scanner;

/// Whether a text begins with this character: the double quote, or one that people take for it.
pub(super) fn opens_text(c: char) -> bool {
    matches!(
        c,
        '"' | '\''
            | '`'
            | '\u{201c}'
            | '\u{201d}'
            | '\u{201e}'
            | '\u{2018}'
            | '\u{2019}'
            | '\u{ab}'
    )
}

/// What may close a text opened by `open`.
fn closes_text(open: char, c: char) -> bool {
    match open {
        '"' | '\'' | '`' => c == open,
        '\u{ab}' => c == '\u{bb}',
        '\u{2018}' | '\u{2019}' => matches!(c, '\u{2018}' | '\u{2019}'),
        _ => matches!(c, '\u{201c}' | '\u{201d}' | '"'),
    }
}

impl Scanner<'_> {
    /// A text in quotes, decoded; none if it could not be (the problem is noted).
    pub(super) fn text_in_quotes(&mut self) -> (Option<String>, Range<usize>) {
        let start = self.at;
        let open = self.peek().unwrap_or('"');
        self.step();
        let mut escaped = false;
        let mut raw_control = None;
        let inside = loop {
            let Some(c) = self.peek().filter(|&c| c != '\n') else { return self.unclosed(start) };
            if escaped {
                escaped = false;
            } else if c == '\\' {
                escaped = true;
            } else if closes_text(open, c) {
                let inside = start + open.len_utf8()..self.at;
                self.step();
                break inside;
            }
            if c.is_control() && c != '\r' && raw_control.is_none() {
                raw_control = Some(self.at..self.at + c.len_utf8());
            }
            self.step();
        };
        let span = start..self.at;
        let inside = &self.text[inside];
        if open != '"' {
            let mut hint = format!("Write {inside:?}.");
            if !open.is_ascii() {
                hint.push_str(
                    " Word processors put other quotes in; a plain-text editor does not.",
                );
            }
            self.problem(
                span.clone(),
                "text stands in straight double quotes",
                "other quotes",
                &hint,
            );
            return (Some(inside.to_owned()), span);
        }
        if let Some(at) = raw_control {
            self.problem(
                at,
                "a control character stands in this text",
                "a tabulator or the like",
                "Write a space instead, or `\\t` for a tabulator.",
            );
            return (None, span);
        }
        match serde_json::from_str::<String>(&self.text[span.clone()]) {
            Ok(text) => (Some(text), span),
            Err(_) => {
                self.problem(
                    span.clone(),
                    "a backslash in this text means nothing to JSON",
                    "look at the backslashes",
                    "Write `/` in file names; a backslash itself is written twice: `\\\\`.",
                );
                (None, span)
            }
        }
    }

    /// A text without its closing quote: take the rest of the line, less what ends an entry.
    fn unclosed(&mut self, start: usize) -> (Option<String>, Range<usize>) {
        let line = self.text[start..self.at].trim_end();
        let kept = line.trim_end_matches([',', '}', ']', ' ']);
        self.at = start + kept.len().max(1);
        let span = start..self.at;
        self.problem(
            span.clone(),
            "the closing quote of this text is missing",
            "text begins here and does not end on its line",
            "",
        );
        (None, span)
    }

    /// A number, with the slips people make in numbers.
    pub(super) fn number(&mut self) -> Node {
        let start = self.at;
        if matches!(self.peek(), Some('-' | '+')) {
            self.at += 1;
        }
        let digits_at = self.at;
        let mut exponent = false;
        while let Some(c) = self.peek() {
            let sign_of_exponent =
                exponent && matches!(c, '-' | '+') && self.text[..self.at].ends_with(['e', 'E']);
            let begins_exponent = matches!(c, 'e' | 'E')
                && !exponent
                && self.text[self.at + 1..]
                    .starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '+');
            if !(c.is_ascii_digit()
                || matches!(c, '.' | '_')
                || sign_of_exponent
                || begins_exponent)
            {
                break;
            }
            exponent |= begins_exponent;
            self.at += 1;
        }
        let span = start..self.at;
        let written = &self.text[span.clone()];
        let digits = &self.text[digits_at..self.at];
        let hex = digits == "0" && matches!(self.peek(), Some('x' | 'X'));
        if digits.is_empty() || hex {
            // `-Infinity`, `0x1F` and the like.
            self.skip_while(|c| c.is_alphanumeric());
            let span = start..self.at.max(start + 1);
            self.at = span.end;
            self.problem(span.clone(), "this is not a number to JSON", "found this", "");
            return Node { span, kind: NodeKind::Broken };
        }
        if self.sticks_to(&span) {
            return Node { span: start..self.at, kind: NodeKind::Broken };
        }
        let value: Option<f64> = written.replace('_', "").parse().ok();
        // A number beyond all limits is JSON; its limit is for the structural check to name.
        let plain = serde_json::from_str::<serde_json::Number>(written).is_ok()
            || value.is_some_and(f64::is_infinite);
        let kind = match value {
            Some(value) if plain => NodeKind::Number(value),
            Some(value) => {
                let hint = format!("Write {value}.");
                self.problem(span.clone(), "JSON writes numbers otherwise", "found this", &hint);
                NodeKind::Number(value)
            }
            None => {
                self.problem(
                    span.clone(),
                    "this is not a number to JSON",
                    "found this",
                    "Times, dates and offsets stand in double quotes: \"07:30\".",
                );
                NodeKind::Broken
            }
        };
        Node { span, kind }
    }

    /// `100 W` or `07:30`: something sticks to the number. True if it did.
    fn sticks_to(&mut self, number: &Range<usize>) -> bool {
        let rest = self.rest();
        let word = rest.trim_start_matches(' ');
        let gap = rest.len() - word.len();
        let ends_value = |c: char| matches!(c, ',' | '}' | ']' | '\n' | '\r' | '"' | '/' | '#');
        let begins =
            word.chars().next().is_some_and(|c| c.is_alphabetic() || matches!(c, '%' | '\u{b0}'));
        let time = gap == 0
            && word.starts_with([':', '-', '/'])
            && !word.starts_with("//")
            && !word.starts_with("/*");
        if !begins && !time {
            return false;
        }
        let end = word.find(ends_value).unwrap_or(word.len());
        let stuck = word[..end].trim_end();
        let written = &self.text[number.clone()];
        self.at += gap + stuck.len();
        if stuck.contains(':') || (time && stuck.contains('-')) {
            let hint = format!("Write \"{written}{stuck}\".");
            self.problem(
                number.start..self.at,
                "times and dates stand in double quotes",
                "no quotes",
                &hint,
            );
        } else {
            let hint = format!("The key says the unit: write {written}.");
            let at = number.end + gap..self.at;
            self.problem(at, "a number stands without a unit", "take this away", &hint);
        }
        true
    }

    /// A bare word.
    pub(super) fn word(&mut self) -> Node {
        let start = self.at;
        self.skip_while(|c| c.is_alphanumeric() || c == '_');
        let span = start..self.at;
        let word = &self.text[span.clone()];
        let kind = match word {
            "true" => NodeKind::Bool(true),
            "false" => NodeKind::Bool(false),
            "null" => NodeKind::Null,
            _ => {
                let lower = word.to_lowercase();
                let (hint, kind) = match lower.as_str() {
                    "true" | "yes" | "on" => ("Write true.".to_owned(), NodeKind::Bool(true)),
                    "false" | "no" | "off" => ("Write false.".to_owned(), NodeKind::Bool(false)),
                    "nan" | "inf" | "infinity" => {
                        ("Every number must be known and finite.".to_owned(), NodeKind::Broken)
                    }
                    "none" | "nil" | "undefined" => {
                        ("Leave the whole key out.".to_owned(), NodeKind::Broken)
                    }
                    _ => (format!("Write \"{word}\"."), NodeKind::Text(word.to_owned())),
                };
                self.problem(span.clone(), "a bare word is not a JSON value", "found this", &hint);
                kind
            }
        };
        Node { span, kind }
    }

    /// `1,5` in an object: the comma was meant as a decimal point. True if it was.
    pub(super) fn decimal_comma(&mut self, last: Option<&mut Member>) -> bool {
        let Some(Member { value: Node { span, kind: kind @ NodeKind::Number(_) }, .. }) = last
        else {
            return false;
        };
        if !self.text[span.end..self.at].starts_with(',') || self.at != span.end + 1 {
            return false;
        }
        let decimals_at = self.at;
        self.skip_while(|c| c.is_ascii_digit());
        let decimals = &self.text[decimals_at..self.at];
        let written = format!("{}.{decimals}", &self.text[span.clone()]);
        *kind = written.parse().map_or(NodeKind::Broken, NodeKind::Number);
        *span = span.start..self.at;
        let hint = format!("Write {written}.");
        let problem = Problem::new(ProblemKind::Syntax, "decimals follow a point, not a comma")
            .mark(span.clone(), "found a comma")
            .hint(&hint);
        self.problems.push(problem);
        true
    }
}
