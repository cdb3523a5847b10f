//! Warnings drawn for people: the sentence and the line it is about.

use annotate_snippets::{Group, Level, Origin, Renderer};

use super::render::{WIDTH, clean};
use crate::scenario::spans::Spans;
use crate::warning::Warning;

/// The warnings, each with its line. A blank line follows each.
#[must_use]
pub fn render_warnings(warnings: &[Warning], spans: &Spans, colour: bool) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let renderer = renderer.term_width(WIDTH);
    let mut out = String::new();
    for warning in warnings {
        let mut title = Level::WARNING.primary_title(clean(&warning.text));
        if !warning.path.is_empty() {
            title = title.id(clean(&warning.path));
        }
        let mut group = Group::with_title(title);
        if !warning.path.is_empty() {
            let (line, column) =
                spans.line_col(spans.underline(&spans.path_of(&warning.path)).start);
            group = group.element(Origin::path(spans.file()).line(line).char_column(column));
        }
        out.push_str(&renderer.render(&[group]));
        out.push_str("\n\n");
    }
    out
}
