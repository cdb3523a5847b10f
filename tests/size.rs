//! Sizing: exact smallest stations, the worksheet of the trade, the rules of the search, the program.
//!
//! Checks by sampling have their seed fixed beforehand and allow 4.5 standard errors: of 150,000
//! right draws one lies further out.

use crate::support;

mod exact;
mod invented;
#[cfg(feature = "png")]
use crate::support::measure;
mod programs;
mod rules;
#[cfg(feature = "png")]
mod sheets;
mod worksheet;
