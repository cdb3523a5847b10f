//! What is shown of a run: pictures are well formed, honest and legible; sentence, tables and files
//! say what the book holds. Pictures are left in `target/pictures` for eyes.

#[path = "pictures/files.rs"]
mod files;
#[path = "pictures/invented.rs"]
#[cfg_attr(not(feature = "png"), allow(dead_code))]
mod invented;
#[path = "pictures/looks.rs"]
mod looks;
#[cfg(feature = "png")]
#[path = "pictures/measure.rs"]
mod measure;
#[cfg(feature = "png")]
#[path = "pictures/sheets.rs"]
mod sheets;
#[path = "pictures/words.rs"]
mod words;
