//! Many trials: lanes and replay, exact cases, outages, skies.
//!
//! Checks by sampling have their seed fixed beforehand and allow 4.5 standard errors: of 150,000
//! right draws one lies further out.

use crate::support;

mod common;
mod events;
mod exact;
mod lanes;
mod skies;
