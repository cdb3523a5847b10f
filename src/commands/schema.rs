//! `schema`: the JSON Schema of a scenario or of a club, with the range and unit of every number.

use super::files;
use crate::cli::SchemaArgs;
use crate::error::Error;
use crate::scenario::schema::{club_printed, printed};

/// Prints the schema (draft 2020-12).
///
/// # Errors
/// When standard output cannot be written.
pub fn run(args: &SchemaArgs) -> Result<(), Error> {
    let schema = if args.club { club_printed() } else { printed() };
    files::print(&format!("{schema:#}\n"))
}
