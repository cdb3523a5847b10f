//! Sizing: exact smallest stations, the worksheet of the trade, the rules of the search, the program.
//!
//! Checks by sampling have their seed fixed beforehand and allow 4.5 standard errors: of 150,000
//! right draws one lies further out.

#[path = "support/mod.rs"]
mod support;

#[path = "size/exact.rs"]
mod exact;
#[path = "size/invented.rs"]
mod invented;
#[cfg(feature = "png")]
#[path = "pictures/measure.rs"]
#[allow(dead_code)]
mod measure;
#[path = "size/programs.rs"]
mod programs;
#[path = "size/rules.rs"]
mod rules;
#[cfg(feature = "png")]
#[path = "size/sheets.rs"]
mod sheets;
#[path = "size/worksheet.rs"]
mod worksheet;
