//! What is shown of a run: pictures are well formed, honest and legible; sentence, tables and files
//! say what the book holds. Pictures are left in `target/pictures` for eyes.

mod files;
#[cfg_attr(not(feature = "png"), allow(dead_code))]
mod invented;
mod looks;
#[cfg(feature = "png")]
use crate::support::measure;
#[cfg(feature = "png")]
mod sheets;
mod words;
