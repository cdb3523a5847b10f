//! `run`.

use crate::cli::RunArgs;
use crate::error::Error;

/// Runs the command.
///
/// # Errors
/// None yet.
pub fn run(_args: &RunArgs) -> Result<(), Error> {
    Ok(())
}
