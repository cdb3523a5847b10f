//! What README.md and DEVELOPERS.md say, held against what the program does.
//!
//! Parts of both are made: what stands between `<!-- made: NAME -->` and `<!-- made end -->`, and the
//! pictures of `output/gallery/`. After a change of output or keys, `BLESS=1 cargo test --test docs`
//! makes them anew. The figures reached by the published checks come from `target/figures/`, so run
//! `cargo test` first when a check has changed.

#[path = "docs/claims.rs"]
mod claims;
#[path = "docs/commands.rs"]
mod commands;
#[path = "docs/figures.rs"]
mod figures;
#[path = "docs/gallery.rs"]
mod gallery;
#[path = "docs/keys.rs"]
mod keys;
#[path = "docs/made.rs"]
mod made;
#[path = "docs/outputs.rs"]
mod outputs;
#[path = "support/shipped.rs"]
mod shipped;
#[path = "docs/units.rs"]
mod units;
