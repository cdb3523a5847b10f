//! `check`.

use crate::cli::CheckArgs;
use crate::error::Error;

/// Runs the command.
///
/// # Errors
/// None yet.
pub fn run(_args: &CheckArgs) -> Result<(), Error> {
    Ok(())
}
