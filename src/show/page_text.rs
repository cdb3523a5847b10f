//! A result as text: what must be read first, and blocks of which a screen shows the most important.
//!
//! The first screen holds at most [`LINES`] lines of 80 columns, warnings counted; on a narrower
//! terminal [`NARROW_LINES`]. It prints the lead whole, then the blocks by rank as far as they fit, in the
//! order of the full text. Its last line names what was left out, so that nothing is missing unseen.

use super::text::columns;

/// Lines of a screen of at least 80 columns.
pub const LINES: usize = 24;
/// Lines of a narrower screen.
pub const NARROW_LINES: usize = 40;
/// Columns from which a screen counts as wide.
pub const WIDE: usize = 80;

/// The text of a result.
#[derive(Debug, Clone, Default)]
pub struct Page {
    lead: String,
    blocks: Vec<Block>,
}

#[derive(Debug, Clone)]
struct Block {
    /// What the last line calls it when it is left out.
    name: &'static str,
    /// The lower, the sooner it is shown.
    rank: usize,
    text: String,
}

/// The screen that a page must fit.
#[derive(Debug, Clone, Copy)]
pub struct Screen {
    /// Columns of a line.
    pub columns: usize,
    /// Lines that other texts take: warnings, and where the files are.
    pub taken: usize,
}

impl Page {
    /// A page that begins with these lines, which every screen shows.
    #[must_use]
    pub fn new(lead: impl Into<String>) -> Self {
        let lead: String = lead.into();
        Self { lead: lead.trim_end().to_owned(), blocks: Vec::new() }
    }

    /// Adds a block; an empty one is left away. `rank` 0 is the table that decides: where it does not
    /// fit, its first lines are shown.
    #[must_use]
    pub fn block(mut self, rank: usize, name: &'static str, text: impl Into<String>) -> Self {
        let text: String = text.into();
        let text = text.trim_end().to_owned();
        if !text.trim().is_empty() {
            self.blocks.push(Block { name, rank, text });
        }
        self
    }

    /// All of it.
    #[must_use]
    pub fn full(&self) -> String {
        let texts = self.blocks.iter().map(|block| block.text.as_str());
        let all: Vec<&str> = std::iter::once(self.lead.as_str()).chain(texts).collect();
        all.join("\n\n") + "\n"
    }

    /// The first screen.
    #[must_use]
    pub fn first_screen(&self, screen: Screen) -> String {
        let room = room(screen.columns).saturating_sub(screen.taken);
        let mut shown = vec![Shown::Not; self.blocks.len()];
        let mut order: Vec<usize> = (0..self.blocks.len()).collect();
        order.sort_by_key(|at| self.blocks[*at].rank);
        for at in order {
            let before = std::mem::replace(&mut shown[at], Shown::Whole);
            if self.lines(&shown, screen) <= room {
                continue;
            }
            shown[at] = before;
            if self.blocks[at].rank == 0 {
                self.cut(&mut shown, at, screen, room);
            }
        }
        self.text(&shown)
    }

    /// Shows as many lines of a block as fit.
    fn cut(&self, shown: &mut [Shown], at: usize, screen: Screen, room: usize) {
        for kept in (2..self.blocks[at].text.lines().count()).rev() {
            shown[at] = Shown::First(kept);
            if self.lines(shown, screen) <= room {
                return;
            }
        }
        shown[at] = Shown::Not;
    }

    fn lines(&self, shown: &[Shown], screen: Screen) -> usize {
        screen_lines(&self.text(shown), screen.columns)
    }

    fn text(&self, shown: &[Shown]) -> String {
        let mut text = format!("{}\n", self.lead);
        for (block, shown) in self.blocks.iter().zip(shown) {
            match shown {
                Shown::Not => {}
                Shown::Whole => text += &format!("\n{}\n", block.text),
                Shown::First(kept) => {
                    let rest = block.text.lines().count() - kept;
                    let first: Vec<&str> = block.text.lines().take(*kept).collect();
                    text += &format!("\n{}\n  ... {rest} more: --full\n", first.join("\n"));
                }
            }
        }
        let left = self.blocks.iter().zip(shown).filter(|(_, shown)| **shown == Shown::Not);
        let mut names: Vec<&str> = Vec::new();
        for (block, _) in left {
            if !names.contains(&block.name) {
                names.push(block.name);
            }
        }
        if !names.is_empty() {
            text += &format!("\n{}\n", not_shown(&names));
        }
        text
    }
}

/// One line on what was left out.
fn not_shown(names: &[&str]) -> String {
    for told in (1..=names.len()).rev() {
        let more = match names.len() - told {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let line = format!("Not shown: {}{more}. `--full` shows all.", names[..told].join(", "));
        if columns(&line) <= WIDE || told == 1 {
            return line;
        }
    }
    String::new()
}

/// How much of a block is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shown {
    Not,
    Whole,
    First(usize),
}

/// Lines of a screen so wide.
#[must_use]
pub fn room(columns: usize) -> usize {
    if columns >= WIDE { LINES } else { NARROW_LINES }
}

/// Lines that a text takes on a screen so wide.
#[must_use]
pub fn screen_lines(text: &str, width: usize) -> usize {
    text.lines().map(|line| columns(line).div_ceil(width.max(1)).max(1)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(many: usize) -> String {
        (0..many).map(|row| format!("row {row}\n")).collect()
    }

    fn page() -> Page {
        Page::new("The answer.\n")
            .block(0, "counts", rows(6))
            .block(2, "energy", rows(14))
            .block(1, "hours", rows(4))
            .block(1, "nothing", "\n")
    }

    const WIDE_SCREEN: Screen = Screen { columns: 80, taken: 2 };

    #[test]
    fn the_full_text_holds_all_in_order() {
        let text = page().full();
        assert_eq!(text.lines().count(), 1 + 1 + 6 + 1 + 14 + 1 + 4);
        assert!(text.starts_with("The answer.\n\nrow 0\n"), "{text}");
    }

    #[test]
    fn a_screen_shows_what_ranks_first_and_names_the_rest() {
        let text = page().first_screen(WIDE_SCREEN);
        assert_eq!(text.lines().count(), 1 + 1 + 6 + 1 + 4 + 1 + 1);
        assert!(text.ends_with("\n\nNot shown: energy. `--full` shows all.\n"), "{text}");
    }

    #[test]
    fn everything_that_fits_is_shown_without_a_last_line() {
        let small = Page::new("A.").block(0, "b", rows(3));
        assert_eq!(small.first_screen(WIDE_SCREEN), small.full());
    }

    #[test]
    fn the_table_that_decides_is_cut_and_says_so() {
        let text = Page::new("A.").block(0, "counts", rows(60)).first_screen(WIDE_SCREEN);
        assert_eq!(text.lines().count(), 22);
        assert!(text.ends_with("row 18\n  ... 41 more: --full\n"), "{text}");
    }

    #[test]
    fn a_narrow_screen_counts_its_own_lines() {
        let long = "x".repeat(70) + "\n";
        let page = Page::new("A.").block(0, "long", long.repeat(18)).block(1, "rest", rows(9));
        let narrow = Screen { columns: 50, taken: 1 };
        let text = page.first_screen(narrow);
        assert!(screen_lines(&text, 50) < NARROW_LINES, "{text}");
        assert!(text.contains("Not shown: rest."), "{text}");
    }
}
