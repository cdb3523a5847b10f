//! Stations side by side, and without one of their parts.
//!
//! Checks by sampling have their seed fixed beforehand and allow 4.5 standard errors: of 150,000
//! right draws one lies further out. Pictures are left in `target/pictures` for eyes.

use crate::support;
use crate::support::stations;

mod common;
mod contenders;
mod exact;
mod guesses;
#[cfg(feature = "png")]
use crate::support::measure;
mod monotone;
mod programs;
#[cfg(feature = "png")]
mod sheets;
mod variants;
mod without;
mod worked;
