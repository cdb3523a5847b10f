//! How a page fits a width: titles, paragraphs, items and code, folded at spaces.
//!
//! The pages use a small part of Markdown: `# ` title, `## ` heading, `- ` item, a code block
//! between lines of three backticks, and paragraphs. Titles are bold; whoever prints takes the bold
//! away where it does not belong.

use clap::builder::styling::Style;

use crate::show::text::{columns, lines};

/// One piece of a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// The title of the page.
    Title(String),
    /// The heading of a part.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// An item of a list.
    Item(String),
    /// Lines that stay as they are.
    Code(Vec<String>),
}

impl Block {
    /// Its words, without marks.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Title(text) | Self::Heading(text) | Self::Text(text) | Self::Item(text) => {
                text.replace("**", "")
            }
            Self::Code(lines) => lines.join("\n"),
        }
    }
}

/// The pieces of a page.
#[must_use]
pub fn blocks(text: &str) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    let mut open = false;
    let mut code: Option<Vec<String>> = None;
    for line in text.lines() {
        if line.starts_with("```") {
            match code.take() {
                Some(lines) => blocks.push(Block::Code(lines)),
                None => code = Some(Vec::new()),
            }
            open = false;
        } else if let Some(lines) = &mut code {
            // A command over two lines is one: it is folded anew.
            match lines.last_mut() {
                Some(last) if last.ends_with(" \\") => {
                    last.truncate(last.len() - 1);
                    last.push_str(line.trim());
                }
                _ => lines.push(line.to_owned()),
            }
        } else if line.trim().is_empty() {
            open = false;
        } else if let Some(title) = line.strip_prefix("# ") {
            blocks.push(Block::Title(title.to_owned()));
            open = false;
        } else if let Some(heading) = line.strip_prefix("## ") {
            blocks.push(Block::Heading(heading.to_owned()));
            open = false;
        } else if let Some(item) = line.strip_prefix("- ") {
            blocks.push(Block::Item(item.to_owned()));
            open = true;
        } else if let (true, Some(Block::Text(text) | Block::Item(text))) =
            (open, blocks.last_mut())
        {
            text.push(' ');
            text.push_str(line.trim());
        } else {
            blocks.push(Block::Text(line.trim().to_owned()));
            open = true;
        }
    }
    blocks
}

/// The lines of a page.
#[must_use]
pub fn fitted(blocks: &[Block], width: usize) -> Vec<String> {
    let mut fitted = Vec::new();
    let mut before: Option<&Block> = None;
    for block in blocks {
        let list = matches!((before, block), (Some(Block::Item(_)), Block::Item(_)));
        let under = matches!(before, Some(Block::Heading(_)));
        if before.is_some() && !list && !under {
            fitted.push(String::new());
        }
        let words = block.words();
        match block {
            Block::Title(_) | Block::Heading(_) => fitted.extend(title(&words, width)),
            Block::Text(_) => fitted.extend(paragraph(&words, width)),
            Block::Item(_) => fitted.extend(item(&words, width)),
            Block::Code(code) => {
                fitted.extend(code.iter().flat_map(|line| code_line(line, width)));
            }
        }
        before = Some(block);
    }
    fitted
}

/// A title or heading, bold.
#[must_use]
pub fn title(text: &str, width: usize) -> Vec<String> {
    let bold = Style::new().bold();
    lines(text, width, (0, 0)).iter().map(|line| format!("{bold}{line}{bold:#}")).collect()
}

/// A paragraph.
#[must_use]
pub fn paragraph(text: &str, width: usize) -> Vec<String> {
    lines(text, width, (0, 0))
}

/// An item of a list.
#[must_use]
pub fn item(text: &str, width: usize) -> Vec<String> {
    lines(&format!("- {text}"), width, (0, 2))
}

/// A name and what it is: side by side where there is room, else one below the other.
#[must_use]
pub fn row(name: &str, what: &str, name_columns: usize, width: usize) -> Vec<String> {
    const LEAST_ROOM: usize = 24;
    let beside = 2 + name_columns + LEAST_ROOM <= width && columns(name) < name_columns;
    if !beside {
        let mut below = lines(name, width, (2, 2));
        below.extend(lines(what, width, (6, 6)));
        return below;
    }
    let indent = 2 + name_columns;
    let mut folded = lines(what, width, (indent, indent));
    if let Some(first) = folded.first_mut() {
        let gap = " ".repeat(name_columns - columns(name));
        *first = format!("  {name}{gap}{}", first.trim_start());
    }
    folded
}

/// Lines as one text.
#[must_use]
pub fn text_of(lines: &[String]) -> String {
    lines.iter().map(|line| format!("{}\n", line.trim_end())).collect()
}

/// A line of code, set in by two. A command that is too wide goes on in the next line behind a
/// backslash, as a shell reads it; what stands in quotes stays whole.
fn code_line(line: &str, width: usize) -> Vec<String> {
    let whole = format!("  {line}");
    if columns(&whole) <= width || !line.starts_with("longwatch ") {
        return vec![whole];
    }
    let mut folded: Vec<String> = vec![String::from(" ")];
    for word in shell_words(line) {
        let Some(last) = folded.last_mut() else { break };
        if last.trim().is_empty() || columns(last) + columns(&word) + 3 <= width {
            last.push(' ');
            last.push_str(&word);
        } else {
            last.push_str(" \\");
            folded.push(format!("      {word}"));
        }
    }
    folded
}

/// Words parted at spaces outside double quotes.
fn shell_words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        quoted ^= letter == '"';
        match words.last_mut() {
            Some(word) if letter != ' ' || quoted => word.push(letter),
            _ => words.push(String::new()),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_of_a_page_are_told_apart() {
        let text = "# Title\n\nOne\ntwo.\n\n## Part\n- a\n  b\n- c\n\n```\n  x  y\n```\nEnd.\n";
        let wanted = [
            Block::Title("Title".into()),
            Block::Text("One two.".into()),
            Block::Heading("Part".into()),
            Block::Item("a b".into()),
            Block::Item("c".into()),
            Block::Code(vec!["  x  y".into()]),
            Block::Text("End.".into()),
        ];
        assert_eq!(blocks(text), wanted);
    }

    #[test]
    fn a_wide_command_goes_on_behind_a_backslash() {
        let line = "longwatch odds hall.json --strategy \"charger on\" --trials 500";
        assert_eq!(
            code_line(line, 40),
            ["  longwatch odds hall.json --strategy \\", "      \"charger on\" --trials 500"]
        );
        assert_eq!(code_line(line, 80), [format!("  {line}")]);
    }

    #[test]
    fn a_row_stands_below_its_name_where_there_is_no_room() {
        assert_eq!(row("odds", "the chance", 12, 80), ["  odds        the chance"]);
        assert_eq!(row("odds", "the chance", 12, 30), ["  odds", "      the chance"]);
    }
}
