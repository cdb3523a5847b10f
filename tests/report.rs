//! The page of `report`: nothing of the user's becomes markup, nothing is fetched, all can be read.
//! What only a browser can tell is asked in `tests/browser.rs`.

mod common;
mod escapes;
mod evidence;
mod looks;
mod models;
mod shape;
