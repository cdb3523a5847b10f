//! What a source file says to people: its comments, and the sentences in its string literals.

/// A text and the line that it begins in.
pub struct Text {
    pub line: usize,
    pub text: String,
}

/// Comments of neighbouring lines joined, and each string literal of at least three words.
pub fn texts_of(source: &str) -> Vec<Text> {
    let letters: Vec<char> = source.chars().collect();
    let mut found: Vec<Text> = Vec::new();
    let (mut at, mut line) = (0, 1);
    let mut comment_ended_at = 0;
    while at < letters.len() {
        let here = letters[at];
        let next = letters.get(at + 1).copied();
        match here {
            '\n' => {
                line += 1;
                at += 1;
            }
            '/' if next == Some('/') => {
                let end =
                    (at..letters.len()).find(|k| letters[*k] == '\n').unwrap_or(letters.len());
                let text: String = letters[at..end].iter().collect();
                let text = text.trim_start_matches(['/', '!']).to_owned() + "\n";
                match found.last_mut().filter(|_| comment_ended_at + 1 == line) {
                    Some(last) => last.text += &text,
                    None => found.push(Text { line, text }),
                }
                comment_ended_at = line;
                at = end;
            }
            '"' => {
                let (text, end) = literal(&letters, at + 1);
                let begins = line;
                line += letters[at..end].iter().filter(|it| **it == '\n').count();
                if text.split_whitespace().count() >= 3 {
                    found.push(Text { line: begins, text });
                    comment_ended_at = 0;
                }
                at = end;
            }
            'r' if matches!(next, Some('"' | '#')) && !before_is_word(&letters, at) => {
                let marks = letters[at + 1..].iter().take_while(|it| **it == '#').count();
                if letters.get(at + 1 + marks) != Some(&'"') {
                    at += 1;
                    continue;
                }
                let begin = at + 2 + marks;
                let close = |k: &usize| {
                    letters[*k] == '"' && (0..marks).all(|m| letters.get(k + 1 + m) == Some(&'#'))
                };
                let end = (begin..letters.len()).find(close).unwrap_or(letters.len());
                line += letters[at..end].iter().filter(|it| **it == '\n').count();
                at = end + 1 + marks;
            }
            // A character, so that the quotation mark in it begins no text; a lifetime otherwise.
            '\'' if next == Some('\\') => {
                let end = (at + 3..letters.len()).find(|k| letters[*k] == '\'');
                at = end.map_or(letters.len(), |end| end + 1);
            }
            '\'' if letters.get(at + 2) == Some(&'\'') => at += 3,
            _ => at += 1,
        }
    }
    found
}

fn before_is_word(letters: &[char], at: usize) -> bool {
    at > 0 && (letters[at - 1].is_alphanumeric() || letters[at - 1] == '_')
}

/// A literal from behind its mark: its text, a line that goes on joined, and where it ends.
fn literal(letters: &[char], begin: usize) -> (String, usize) {
    let mut text = String::new();
    let mut at = begin;
    while at < letters.len() {
        match letters[at] {
            '"' => return (text, at + 1),
            '\\' => {
                match letters.get(at + 1) {
                    Some('\n') => {
                        at += 2;
                        while letters.get(at).is_some_and(|it| it.is_whitespace()) {
                            at += 1;
                        }
                        continue;
                    }
                    Some('n') => text.push('\n'),
                    Some('"') => text.push('"'),
                    _ => text.push(' '),
                }
                at += 2;
            }
            other => {
                text.push(other);
                at += 1;
            }
        }
    }
    (text, at)
}
