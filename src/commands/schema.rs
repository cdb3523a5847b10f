//! `schema`: the JSON Schema of a scenario, with the range and unit of every number.

use super::files;
use crate::error::Error;
use crate::scenario::schema::printed;

/// Prints the schema (draft 2020-12).
///
/// # Errors
/// When standard output cannot be written.
pub fn run() -> Result<(), Error> {
    files::print(&format!("{:#}\n", printed()))
}
