//! What a section is made of: plain text, tables, pictures.

use super::super::canvas::Picture;
use super::super::tables::Table;
use super::super::text::clean;

/// A section of the page.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Its name within the page: a word, unique.
    pub id: &'static str,
    /// Its heading.
    pub heading: String,
    /// What stands below it.
    pub blocks: Vec<Block>,
}

/// A part of a section. All text is plain: the page escapes it.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// The sentence that matters most.
    Lead(String),
    /// A paragraph.
    Prose(String),
    /// A heading within the section.
    Heading(String),
    /// A list; the words before the first colon-and-tab stand out.
    Points(Vec<Point>),
    /// A table.
    Table(Listing),
    /// A picture.
    Picture(Picture),
    /// A command or a number to be copied.
    Code(String),
    /// A long text that opens on request and is not printed.
    Folded {
        /// What stands on the fold.
        title: String,
        /// The text.
        text: String,
    },
}

/// An entry of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Point {
    /// Words that stand out; may be empty.
    pub strong: String,
    /// What follows.
    pub text: String,
}

/// A table with what it shows, and whether it is a form to be filled in by hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Listing {
    /// What the table shows.
    pub caption: String,
    /// The table.
    pub table: Table,
    /// Whether empty cells are for the pen.
    pub form: bool,
}

impl Section {
    /// An empty section.
    #[must_use]
    pub fn new(id: &'static str, heading: &str) -> Self {
        Self { id, heading: clean(heading), blocks: Vec::new() }
    }

    /// Adds a paragraph.
    pub fn prose(&mut self, text: impl Into<String>) -> &mut Self {
        self.push(Block::Prose(text.into()))
    }

    /// Adds a heading within the section.
    pub fn heading(&mut self, text: impl Into<String>) -> &mut Self {
        self.push(Block::Heading(text.into()))
    }

    /// Adds a list, unless it is empty.
    pub fn points(&mut self, points: Vec<Point>) -> &mut Self {
        if points.is_empty() { self } else { self.push(Block::Points(points)) }
    }

    /// Adds a table, unless it is empty.
    pub fn table(&mut self, caption: impl Into<String>, table: Table) -> &mut Self {
        self.listing(caption, table, false)
    }

    /// Adds a table to be filled in by hand.
    pub fn form(&mut self, caption: impl Into<String>, table: Table) -> &mut Self {
        self.listing(caption, table, true)
    }

    fn listing(&mut self, caption: impl Into<String>, table: Table, form: bool) -> &mut Self {
        if table.is_empty() {
            return self;
        }
        self.push(Block::Table(Listing { caption: caption.into(), table, form }))
    }

    /// Adds a picture.
    pub fn picture(&mut self, picture: Picture) -> &mut Self {
        self.push(Block::Picture(picture))
    }

    /// Adds any part.
    pub fn push(&mut self, block: Block) -> &mut Self {
        self.blocks.push(block);
        self
    }
}

impl Point {
    /// An entry with words that stand out.
    #[must_use]
    pub fn new(strong: impl Into<String>, text: impl Into<String>) -> Self {
        Self { strong: strong.into(), text: text.into() }
    }

    /// An entry of plain words.
    #[must_use]
    pub fn plain(text: impl Into<String>) -> Self {
        Self::new("", text)
    }
}
