//! The pre-flight of `check`: published values of what it measures by, every fault of a bad station,
//! no fault of good ones, what its user sees, and the one-line diagram.

#[path = "preflight/bad.rs"]
mod bad;
#[path = "preflight/common.rs"]
mod common;
#[cfg(feature = "png")]
#[path = "preflight/diagrams.rs"]
mod diagrams;
#[path = "preflight/good.rs"]
mod good;
#[path = "preflight/mended.rs"]
mod mended;
#[path = "preflight/programs.rs"]
mod programs;
#[path = "preflight/published.rs"]
mod published;
#[path = "support/shipped.rs"]
mod shipped;
mod support;

#[cfg(feature = "png")]
#[path = "pictures/measure.rs"]
#[allow(dead_code)]
mod measure;
