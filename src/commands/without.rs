//! x
use crate::cli::WithoutArgs;
use crate::error::Error;
/// x
/// # Errors
/// x
pub fn run(_args: &WithoutArgs) -> Result<(), Error> {
    Ok(())
}
