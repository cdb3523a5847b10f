//! Lead-acid, switching controllers, engine and supply against figures from outside the project.
//!
//! The source and the tolerance of every check stand beside it; `target/figures/` holds the worst
//! difference of each.

mod support;
#[path = "published/acid/mod.rs"]
mod acid;
