//! Problems drawn under the reader's own text.

use std::ops::Range;

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use super::{Problem, Problems};

/// Columns to which a long line of the scenario is cut around what is marked.
pub(super) const WIDTH: usize = 100;

/// More problems than this are counted, not drawn: the first ones explain the rest.
const MOST_DRAWN: usize = 40;

impl Problems {
    /// The problems in the order of the file, each under the text it is about, and their count.
    /// Ends with a line break.
    #[must_use]
    pub fn render(&self, colour: bool) -> String {
        let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
        let renderer = renderer.term_width(WIDTH);
        let mut out = String::new();
        for problem in self.list.iter().take(MOST_DRAWN) {
            out.push_str(&self.draw(problem, &renderer));
            out.push_str("\n\n");
        }
        if self.list.len() > MOST_DRAWN {
            out.push_str(&format!("... and {} more.\n", self.list.len() - MOST_DRAWN));
        }
        out.push_str(&self.count());
        out
    }

    /// How many problems there are, as a line.
    #[must_use]
    pub fn count(&self) -> String {
        let count = match self.list.len() {
            1 => "1 problem".to_owned(),
            count => format!("{count} problems"),
        };
        format!("{count} in {}\n", clean(&self.file))
    }

    fn draw(&self, problem: &Problem, renderer: &Renderer) -> String {
        let text = clean(&problem.text);
        let mut title = Level::ERROR.primary_title(text);
        if !problem.path.is_empty() {
            title = title.id(clean(&problem.path));
        }
        let mut group = Group::with_title(title);
        if !self.text.is_empty() && !problem.marks.is_empty() {
            let mut snippet = Snippet::source(self.text.as_str()).path(self.file.as_str());
            for (place, mark) in problem.marks.iter().enumerate() {
                let kind = first_is_primary(place);
                snippet = snippet
                    .annotation(kind.span(within(&self.text, &mark.span)).label(&mark.label));
            }
            group = group.element(snippet);
        } else if problem.table.is_none() {
            group = group.element(Origin::path(self.file.as_str()));
        }
        if let Some(table) = &problem.table {
            let text = table.text.as_deref().filter(|text| !text.is_empty());
            group = match (text, table.line) {
                (Some(text), Some(line)) => {
                    let span = table.span.clone().unwrap_or(0..text.len());
                    let kind = first_is_primary(problem.marks.len());
                    let mark = kind.span(within(text, &span)).label(&table.label);
                    let snippet = Snippet::source(text).path(table.file.as_str());
                    group.element(snippet.line_start(line).annotation(mark))
                }
                (_, line) => {
                    let origin = Origin::path(table.file.as_str());
                    group.element(match line {
                        Some(line) => origin.line(line),
                        None => origin,
                    })
                }
            };
        }
        let footers = [
            (Level::INFO.with_name("meaning"), &problem.meaning),
            (Level::NOTE.with_name("allowed"), &problem.allowed),
            (Level::HELP.with_name("hint"), &problem.hint),
        ];
        for (level, text) in footers {
            if let Some(text) = text {
                group = group.element(level.message(clean(text)));
            }
        }
        renderer.render(&[group])
    }
}

/// The first mark is the fault, the others explain it.
fn first_is_primary(place: usize) -> AnnotationKind {
    if place == 0 { AnnotationKind::Primary } else { AnnotationKind::Context }
}

/// A span that the renderer can take: inside the text, on character borders, not empty.
fn within(text: &str, span: &Range<usize>) -> Range<usize> {
    let mut start = span.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = span.end.clamp(start, text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end
}

/// Text without anything that could move the cursor of a terminal.
pub(super) fn clean(text: &str) -> String {
    text.chars().map(|c| if c.is_control() && c != '\n' { '\u{fffd}' } else { c }).collect()
}
