//! `schema`.

use crate::error::Error;

/// Runs the command.
///
/// # Errors
/// None yet.
pub fn run() -> Result<(), Error> {
    Ok(())
}
