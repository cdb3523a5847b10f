//! The report in a real browser: what no reading of the page can tell.
//!
//! Needs Chromium and the tools of Poppler (`pdftotext`), which `.ci/run` installs; `cargo test` leaves
//! these out. `cargo test --test browser -- --ignored` runs them. Chromium is driven by its DevTools
//! protocol over two pipes: no port, no other program.

#[path = "browser/devtools.rs"]
mod devtools;
#[path = "browser/page.rs"]
mod page;
#[path = "browser/paper.rs"]
mod paper;
