//! Random numbers, laws, intervals, sums and outages against published values.
//!
//! The tolerance of every check stands beside it with its reason. `target/figures/chance.csv`
//! holds the worst difference of each. Checks by sampling have their seed fixed beforehand and
//! allow 4.5 standard errors: of 150,000 right draws one lies further out.

#[path = "published/chance/mod.rs"]
mod chance;
#[path = "published/figures.rs"]
mod figures;
