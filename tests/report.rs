//! The page of `report`: nothing of the user's becomes markup, nothing is fetched, all can be read.
//! What only a browser can tell is asked in `tests/browser.rs`.

#[path = "report/common.rs"]
mod common;
#[path = "report/escapes.rs"]
mod escapes;
#[path = "report/evidence.rs"]
mod evidence;
#[path = "report/looks.rs"]
mod looks;
#[path = "report/models.rs"]
mod models;
#[path = "report/shape.rs"]
mod shape;
