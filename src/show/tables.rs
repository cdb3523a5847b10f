//! Plain-text tables: columns aligned by what people see, not by bytes.

use std::fmt;

use super::text::{clean, columns};

/// On which side a column's entries stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A table of words and numbers with one line of heads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    heads: Vec<(String, Side)>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// A table with the given heads, units included: `("Energy, kWh", Side::Right)`.
    #[must_use]
    pub fn new(heads: &[(&str, Side)]) -> Self {
        Self { heads: heads.iter().map(|(h, s)| ((*h).to_owned(), *s)).collect(), rows: Vec::new() }
    }

    /// Adds a row; entries missing at its end are empty, entries too many are dropped. Leading
    /// spaces are kept: they set a row in.
    pub fn row<S: AsRef<str>>(&mut self, entries: &[S]) -> &mut Self {
        let mut row: Vec<String> = entries.iter().map(|e| entry(e.as_ref())).collect();
        row.resize(self.heads.len(), String::new());
        self.rows.push(row);
        self
    }

    /// Whether it has no rows.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Heads by column.
    #[must_use]
    pub fn heads(&self) -> &[(String, Side)] {
        &self.heads
    }

    /// Rows as entered.
    #[must_use]
    pub fn rows(&self) -> &[Vec<String>] {
        &self.rows
    }
}

/// An entry as it may be printed, its setting-in kept.
fn entry(text: &str) -> String {
    let set_in = text.len() - text.trim_start_matches(' ').len();
    if text.trim().is_empty() {
        String::new()
    } else {
        format!("{}{}", " ".repeat(set_in), clean(text))
    }
}

impl fmt::Display for Table {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let widths: Vec<usize> = (0..self.heads.len())
            .map(|i| {
                let cells = self.rows.iter().map(|row| columns(&row[i]));
                cells.chain([columns(&self.heads[i].0)]).max().unwrap_or(0)
            })
            .collect();
        let heads: Vec<String> = self.heads.iter().map(|(head, _)| head.clone()).collect();
        for row in std::iter::once(&heads).chain(&self.rows) {
            let mut line = String::new();
            for ((cell, width), (_, side)) in row.iter().zip(&widths).zip(&self.heads) {
                if !line.is_empty() || *width == 0 {
                    line.push_str("  ");
                }
                let gap = " ".repeat(width.saturating_sub(columns(cell)));
                match side {
                    Side::Left => line.extend([cell.as_str(), &gap]),
                    Side::Right => line.extend([gap.as_str(), cell]),
                }
            }
            writeln!(f, "{}", line.trim_end())?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_right_and_wide_letters_count_twice() {
        let mut table =
            Table::new(&[("What", Side::Left), ("Wh", Side::Right), ("Note", Side::Left)]);
        table
            .row(&["  sun", "1,204"])
            .row(&["海", "7", "late"])
            .row(&["a\u{7}b", "12", "", "dropped"]);
        assert_eq!(
            table.to_string(),
            "What      Wh  Note\n  sun  1,204\n海         7  late\nab        12\n"
        );
    }

    #[test]
    fn a_table_without_rows_is_its_head() {
        let table = Table::new(&[("Tier", Side::Left), ("h", Side::Right)]);
        assert!(table.is_empty());
        assert_eq!(table.to_string(), "Tier  h\n");
    }
}
