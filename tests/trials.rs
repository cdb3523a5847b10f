//! Many trials: lanes and replay, exact cases, outages, skies.
//!
//! Checks by sampling have their seed fixed beforehand and allow 4.5 standard errors: of 150,000
//! right draws one lies further out.

#[path = "support/mod.rs"]
mod support;

#[path = "trials/common.rs"]
mod common;
#[path = "trials/exact.rs"]
mod exact;
#[path = "trials/lanes.rs"]
mod lanes;
