//! What README.md and DEVELOPERS.md say, held against what the program does.
//!
//! Parts of both are made: what stands between `<!-- made: NAME -->` and `<!-- made end -->`, and the
//! pictures of `output/gallery/`. After a change of output or keys, `BLESS=1 cargo test docs::`
//! makes them anew. The figures reached by the published checks come from `target/figures/`, so run
//! `cargo test` first when a check has changed.

mod claims;
mod commands;
mod figures;
mod gallery;
mod keys;
mod made;
mod outputs;
use crate::support::shipped;
mod units;
