//! Longwatch against figures from outside the project: battery, lead-acid, chance, sun.
//!
//! Source and tolerance of every check stand beside it, with the reason for the tolerance;
//! `target/figures/` holds the worst difference of each. Checks by sampling have their seed fixed
//! beforehand and allow 4.5 standard errors: of 150,000 right draws one lies further out.

mod acid;
mod battery;
mod chance;
mod solar;
