//! stub
use crate::cli::card::CardArgs;
use crate::error::Error;
/// Runs
/// # Errors
/// x
pub fn run(_args: &CardArgs) -> Result<(), Error> { Ok(()) }
