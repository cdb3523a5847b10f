//! Stations side by side, and without one of their parts.
//!
//! Checks by sampling have their seed fixed beforehand and allow 4.5 standard errors: of 150,000
//! right draws one lies further out. Pictures are left in `target/pictures` for eyes.

#[path = "support/stations.rs"]
mod stations;
#[path = "support/mod.rs"]
mod support;

#[path = "compare/common.rs"]
mod common;
#[path = "compare/contenders.rs"]
mod contenders;
#[path = "compare/exact.rs"]
mod exact;
#[cfg(feature = "png")]
#[path = "pictures/measure.rs"]
#[allow(dead_code)]
mod measure;
#[path = "compare/monotone.rs"]
mod monotone;
#[path = "compare/programs.rs"]
mod programs;
#[cfg(feature = "png")]
#[path = "compare/sheets.rs"]
mod sheets;
#[path = "compare/variants.rs"]
mod variants;
#[path = "compare/without.rs"]
mod without;
#[path = "compare/worked.rs"]
mod worked;
