//! The first screen of `check`: the counts, every serious finding, and of the rest as much as fits.
//!
//! Serious findings are printed whole however many they are; everything else yields to the screen, and a
//! line says how much was left out and how to see it.

use super::table::{folded, to_mend, unstated, word};
use crate::decide::preflight::{Finding, Severity};
use crate::show::page_text::{room, screen_lines};
use crate::show::text::{clean, lines};

/// Columns of a line.
const WIDTH: usize = 80;

/// What stands on the screen besides findings.
#[derive(Debug, Clone, Default)]
pub struct Beside {
    /// Columns of the screen.
    pub columns: usize,
    /// The first line, with its counts.
    pub head: String,
    /// Lines that each warning takes when printed.
    pub warning_lines: Vec<usize>,
    /// The table of variants; empty without any.
    pub variants: String,
    /// The same in one line.
    pub variants_short: String,
}

/// A screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Screen {
    /// The text of the result.
    pub text: String,
    /// Which warnings to print.
    pub warnings: Vec<bool>,
    /// What to say of the other warnings; empty when there are none.
    pub more_warnings: String,
}

/// What of the rest is printed whole.
#[derive(Clone)]
struct Choice {
    cautions: Vec<bool>,
    /// Cautions that are named at least.
    named: usize,
    /// Notes on what is not stated, from the first.
    unstated: usize,
    warnings: Vec<bool>,
    variants: bool,
}

/// Something more that the screen could show.
type More = Box<dyn Fn(&mut Choice)>;

/// The first screen: at most [`room`] lines, unless serious findings need more.
#[must_use]
pub fn first_screen(findings: &[Finding], beside: &Beside) -> Screen {
    let cautions = findings.iter().filter(|it| it.severity == Severity::Caution).count();
    let notes = unstated(findings).count();
    let mut best = Choice {
        cautions: vec![false; cautions],
        named: 0,
        unstated: 0,
        warnings: vec![false; beside.warning_lines.len()],
        variants: false,
    };
    let mut options: Vec<More> = Vec::new();
    for count in 1..=cautions {
        options.push(Box::new(move |it| it.named = it.named.max(count)));
    }
    for at in 0..cautions {
        options.push(Box::new(move |it| it.cautions[at] = true));
    }
    // The shortest warnings first: a list of guesses may be long.
    let mut order: Vec<usize> = (0..beside.warning_lines.len()).collect();
    order.sort_by_key(|at| beside.warning_lines[*at]);
    for at in order {
        options.push(Box::new(move |it| it.warnings[at] = true));
    }
    for count in 1..=notes {
        options.push(Box::new(move |it| it.unstated = it.unstated.max(count)));
    }
    options.push(Box::new(|it| it.variants = true));
    for option in options {
        let mut tried = best.clone();
        option(&mut tried);
        if printed_lines(findings, beside, &tried) <= room(beside.columns) {
            best = tried;
        }
    }
    Screen {
        text: text_of(findings, beside, &best),
        more_warnings: more_warnings(&best),
        warnings: best.warnings,
    }
}

fn printed_lines(findings: &[Finding], beside: &Beside, choice: &Choice) -> usize {
    let warned = beside.warning_lines.iter().zip(&choice.warnings).filter(|it| *it.1);
    screen_lines(&text_of(findings, beside, choice), beside.columns)
        + screen_lines(&more_warnings(choice), beside.columns)
        + warned.map(|(lines, _)| lines).sum::<usize>()
}

fn more_warnings(choice: &Choice) -> String {
    let shown = choice.warnings.iter().filter(|it| **it).count();
    let more = if shown > 0 { " more" } else { "" };
    match choice.warnings.len() - shown {
        0 => String::new(),
        1 => format!("1{more} warning: `check --full` shows it.\n"),
        count => format!("{count}{more} warnings: `check --full` shows them.\n"),
    }
}

fn text_of(findings: &[Finding], beside: &Beside, choice: &Choice) -> String {
    let mut text = format!("{}\n\n", folded(&beside.head, 0, 2));
    for finding in findings.iter().filter(|it| it.severity == Severity::Serious) {
        text += &format!("{}\n\n", to_mend(finding));
    }
    let cautions = || findings.iter().filter(|it| it.severity == Severity::Caution);
    for (finding, _) in cautions().zip(&choice.cautions).filter(|it| *it.1) {
        text += &format!("{}\n\n", to_mend(finding));
    }
    let short: Vec<&Finding> =
        cautions().zip(&choice.cautions).filter(|it| !*it.1).map(|(it, _)| it).collect();
    let whole = choice.cautions.len() - short.len();
    let named = choice.named.saturating_sub(whole).min(short.len());
    for finding in &short[..named] {
        text += &format!("{}\n", one_line(finding));
    }
    let unnamed = short.len() - named;
    if unnamed > 0 {
        text += &format!("{unnamed} more of caution: `check --full` shows them.\n");
    }
    if !short.is_empty() {
        text.push('\n');
    }
    for finding in unstated(findings).take(choice.unstated) {
        text += &format!("{}\n", folded(&finding.sentence, 0, 2));
    }
    let points: usize = unstated(findings).skip(choice.unstated).map(|it| it.points).sum();
    if points > 0 {
        let more = if choice.unstated > 0 { " more" } else { "" };
        text +=
            &format!("{points}{more} not stated, so not examined: `check --full` lists them.\n");
    }
    if choice.variants && !beside.variants.is_empty() {
        text += &format!("\n{}\n", beside.variants.trim_end());
    } else if !beside.variants_short.is_empty() {
        text += &format!("{}\n", folded(&beside.variants_short, 0, 2));
    }
    text += &format!("{}\n", folded(CLOSING, 0, 2));
    text
}

/// What the counts do not say.
const CLOSING: &str = "What is in order, and what the limits rest on: `check --full`. Whether the \
                       battery lasts is not examined here: `run` and `odds` show it.";

/// A finding in one line of the screen.
fn one_line(finding: &Finding) -> String {
    let said = format!("{}: {}, {}", word(finding.severity), clean(&finding.item), finding.what);
    lines(&said, WIDTH, (0, 2)).into_iter().next().unwrap_or_default()
}
