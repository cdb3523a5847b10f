//! The page: the one place that writes HTML.
//!
//! `maud` escapes every text where it is put in. Two things go in as they are: the rules of the page,
//! which hold nothing of the user's, and pictures, whose canvas has escaped what they say.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::super::canvas::Picture;
use super::super::tables::Side;
use super::super::text::clean;
use super::super::words::period;
use super::looks::rules;
use super::material::Material;
use super::section::{Block, Listing, Section};

/// Nothing may be fetched, nothing may run, whatever a text holds.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'";
/// Tables of at most so many rows are not broken over two printed pages.
const SHORT_ROWS: usize = 12;
/// Units that do not leave their number.
const UNITS: [&str; 14] =
    ["%", "h", "hours", "hour", "days", "W", "Wh", "kWh", "A", "Ah", "V", "deg", "l", "kg"];
/// Characters of a table that a screen of 704 px, or one of 480 px, has room for beside each other.
const BROAD_COLUMNS: [usize; 2] = [87, 42];
/// Spaces by which a table sets a row in.
const SET_IN: usize = 2;
/// Entries of at most so many characters stand on one line.
const ONE_LINE: usize = 20;
/// Words of more characters may be broken after a dot, a bar or a slash.
const LONG_WORD: usize = 18;

/// The whole page.
#[must_use]
pub fn page(material: &Material, sections: &[Section]) -> String {
    let title = clean(&material.scenario.title);
    let whole = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content={ "longwatch " (env!("CARGO_PKG_VERSION")) };
                title { (title) ": report" }
                link rel="icon" href="data:,";
                style { (PreEscaped(rules())) }
            }
            body {
                a.skip href="#content" { "Skip to the report" }
                div.sheet {
                    header {
                        h1 { (set(&title)) }
                        p.about { (about(material)) }
                        nav aria-label="Sections" {
                            ul {
                                @for section in sections {
                                    li { a href={ "#" (section.id) } { (section.heading) } }
                                }
                            }
                        }
                    }
                    main #content tabindex="-1" {
                        @for section in sections { (section_of(section)) }
                    }
                    footer { p { (foot(material)) } }
                }
            }
        }
    };
    whole.into_string() + "\n"
}

/// When, under which strategy.
fn about(it: &Material) -> String {
    let strategy = clean(&it.trials.odds.strategy);
    let first = it.ledger.rows.first().map(|row| row.start);
    let end =
        first.map(|start| start + chrono::Duration::minutes((it.summary.hours * 60.0) as i64));
    let when =
        first.zip(end).map_or(String::new(), |(from, to)| format!("{}, ", period(&from, &to)));
    format!("{when}strategy \"{strategy}\"")
}

fn foot(it: &Material) -> String {
    format!(
        "Made by longwatch {} from \"{}\", seed {}. This page fetches nothing and can be kept.",
        it.trials.odds.version,
        clean(&it.trials.subject.name),
        it.trials.odds.seed
    )
}

fn section_of(section: &Section) -> Markup {
    let heading = format!("{}-heading", section.id);
    html! {
        section id=(section.id) aria-labelledby=(heading) {
            h2 id=(heading) { (section.heading) }
            @for block in &section.blocks { (block_of(block, section.id)) }
        }
    }
}

fn block_of(block: &Block, id: &str) -> Markup {
    match block {
        Block::Lead(text) => html! { p.lead { (set(text)) } },
        Block::Prose(text) => html! { p { (set(text)) } },
        Block::Heading(text) => html! { h3 { (set(text)) } },
        Block::Points(points) => html! {
            ul {
                @for point in points {
                    li {
                        @if !point.strong.is_empty() { strong { (set(&point.strong)) } }
                        @if needs_space(&point.strong, &point.text) { " " }
                        (set(&point.text))
                    }
                }
            }
        },
        Block::Table(listing) => table_of(listing),
        Block::Picture(picture) => html! {
            figure {
                div.wide tabindex="0" role="group" aria-label=(picture.title) {
                    (PreEscaped(placed(picture, id)))
                }
            }
        },
        Block::Code(text) => html! { pre { code { (text) } } },
        Block::Folded { title, text } => html! {
            details { summary { (title) } pre { code { (text) } } }
        },
    }
}

fn needs_space(strong: &str, text: &str) -> bool {
    !strong.is_empty() && !text.starts_with([',', '.', ';'])
}

fn table_of(listing: &Listing) -> Markup {
    let table = &listing.table;
    let kind = match (listing.form, table.rows().len() <= SHORT_ROWS) {
        (true, _) => "form short",
        (false, true) => "short",
        (false, false) => "long",
    };
    let side = |at: usize| match table.heads().get(at) {
        Some((_, Side::Right)) => Some("n"),
        _ => None,
    };
    html! {
        div class={ "listing" (breadth(listing)) } { div.wide tabindex="0" role="group" aria-label=(listing.caption) {
            table class=(kind) {
                caption { (set(&listing.caption)) }
                thead {
                    tr {
                        @for (at, (head, _)) in table.heads().iter().enumerate() {
                            @if head.is_empty() { td {} } @else {
                                th scope="col" class=[side(at)] { (head) }
                            }
                        }
                    }
                }
                tbody {
                    @for row in table.rows() {
                        tr {
                            @for (at, cell) in row.iter().enumerate() {
                                @if at == 0 {
                                    th scope="row" class=[head_class(row, listing.form)] { (set(cell.trim_start())) }
                                } @else {
                                    td class=[side(at).or(Some(breaks(cell)))] { (set(cell)) }
                                }
                            }
                        }
                    }
                }
            }
        } }
    }
}

/// Whether a table is broader than a telephone's screen, or than a small tablet's, by what its columns
/// do not break.
fn breadth(listing: &Listing) -> &'static str {
    const GAP: usize = 2;
    let longest_word = |text: &str| text.split(' ').map(|it| it.chars().count()).max().unwrap_or(0);
    let rows = listing.table.rows();
    let heads = listing.table.heads().iter().enumerate();
    let columns: usize = heads
        .map(|(at, (head, _))| {
            let cells = rows.iter().filter_map(|row| row.get(at));
            let widest = cells.map(|cell| cell.trim().chars().count()).max().unwrap_or(0);
            let kept = if at == 0 { widest.min(LONG_WORD) } else { widest.min(ONE_LINE) };
            kept.max(longest_word(head)) + GAP
        })
        .sum();
    match columns {
        it if it > BROAD_COLUMNS[0] => " broad",
        it if it > BROAD_COLUMNS[1] => " middling",
        _ => "",
    }
}

/// A short entry stays on one line, a text has room.
fn breaks(cell: &str) -> &'static str {
    if cell.chars().count() <= ONE_LINE { "k" } else { "t" }
}

/// A text as it is set: a number keeps its unit beside it, and long words, such as paths, may be broken
/// where their parts end.
fn set(text: &str) -> Markup {
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ') {
        let is_unit = UNITS.contains(&word.trim_end_matches(['.', ',', ';', ':', ')']));
        match words.last_mut() {
            Some(number) if is_unit && number.ends_with(|c: char| c.is_ascii_digit()) => {
                number.push('\u{a0}');
                number.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    html! {
        @for (at, word) in words.iter().enumerate() {
            @if at > 0 { " " }
            @if word.chars().count() <= LONG_WORD { (word) } @else {
                @for piece in word.split_inclusive(['.', '_', '/']) { (piece) wbr; }
            }
        }
    }
}

/// How the head of a row is set: in, or strong where it stands over the rows that follow.
fn head_class(row: &[String], form: bool) -> Option<&'static str> {
    let (cell, rest) = row.split_first()?;
    if !form && rest.iter().all(String::is_empty) {
        return Some("g");
    }
    match (cell.len() - cell.trim_start_matches(' ').len()) / SET_IN {
        0 => None,
        1 => Some("in1"),
        _ => Some("in2"),
    }
}

/// The drawing of a picture as part of the page: without the name of its language, which a page does
/// not need, and with names that no other picture of the page has.
#[must_use]
pub fn placed(picture: &Picture, id: &str) -> String {
    let mut placed = String::with_capacity(picture.svg.len() + 64);
    for piece in picture.svg.split_inclusive('>') {
        let (text, tag) = piece.split_at(piece.find('<').unwrap_or(0));
        placed.push_str(text);
        let mut tag = tag.replace(" xmlns=\"http://www.w3.org/2000/svg\"", "");
        for before in [" id=\"", " href=\"#", "url(#"] {
            tag = tag.replace(before, &format!("{before}{id}-"));
        }
        placed.push_str(&labelled(&tag, id));
    }
    placed
}

/// A tag whose label names carry the section's too.
fn labelled(tag: &str, id: &str) -> String {
    const LABEL: &str = " aria-labelledby=\"";
    let Some((before, rest)) = tag.split_once(LABEL) else { return tag.to_owned() };
    let Some((names, after)) = rest.split_once('"') else { return tag.to_owned() };
    let names: Vec<String> = names.split(' ').map(|name| format!("{id}-{name}")).collect();
    format!("{before}{LABEL}{}\"{after}", names.join(" "))
}
