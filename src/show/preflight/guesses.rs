//! The numbers of a scenario that nobody measured, with their lines.

use super::table::folded;
use crate::show::compare::table::cut;
use crate::show::shell;
use crate::show::tables::{Side, Table};
use crate::show::text::clean;

/// Columns of a path.
const PATH: usize = 52;
/// Columns of a value.
const VALUE: usize = 12;

/// A number that nobody measured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unsure {
    /// Where it stands: `arrays.roof.loss_share`.
    pub path: String,
    /// Its line in the file; 0 where the file leaves it to its default.
    pub line: usize,
    /// What stands there.
    pub value: String,
    /// Whether it is that of the label; otherwise a guess.
    pub rated: bool,
}

/// The list of `check --guesses`.
#[must_use]
pub fn guesses_text(file: &str, unsure: &[Unsure]) -> String {
    let rated = unsure.iter().filter(|it| it.rated).count();
    let count = |count: usize, one: &str, many: &str| match count {
        1 => format!("1 {one}"),
        count => format!("{count} {many}"),
    };
    let head = format!(
        "{}: {}, {}.",
        clean(file),
        count(unsure.len() - rated, "guess", "guesses"),
        count(rated, "rated value", "rated values")
    );
    let mut text = format!("{}\n", folded(&head, 0, 2));
    if unsure.is_empty() {
        return text;
    }
    let mut table = Table::new(&[
        ("Line", Side::Right),
        ("Number", Side::Left),
        ("value", Side::Right),
        ("basis", Side::Left),
    ]);
    for it in unsure {
        table.row(&[
            if it.line > 0 { it.line.to_string() } else { "-".to_owned() },
            cut(&it.path, PATH),
            cut(&it.value, VALUE),
            if it.rated { "rated" } else { "guess" }.to_owned(),
        ]);
    }
    let word = shell::path(std::path::Path::new(file));
    text += &format!("\n{table}\n");
    let next = format!("Which of them to measure first: `longwatch without {word}`.");
    text + &format!("{}\n", folded(&next, 0, 2))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn guesses_and_rated_values_are_counted_apart() {
        let one = |path: &str, line, rated| Unsure {
            path: path.to_owned(),
            line,
            value: "0.15".to_owned(),
            rated,
        };
        let text = guesses_text("a b.json", &[one("loads.x", 7, false), one("battery.y", 0, true)]);
        assert_eq!(
            text,
            "a b.json: 1 guess, 1 rated value.\n\nLine  Number     value  basis\n   7  loads.x     0.15  guess\n   -  \
             battery.y   0.15  rated\n\nWhich of them to measure first: `longwatch without \"a b.json\"`.\n"
        );
        assert_eq!(guesses_text("a.json", &[]), "a.json: 0 guesses, 0 rated values.\n");
    }
}
