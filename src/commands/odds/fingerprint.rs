//! Which scenario trials are trials of: one number for the scenario and the files that it names.
//!
//! SHA-256 (FIPS 180-4) over the scenario as understood, written as JSON, and the bytes of each file
//! that it names, each with its length before it. White space and the order of a file's own keys do
//! not count; a changed number does, wherever it stands.

use std::fmt::Write as _;
use std::path::Path;

use sha2::{Digest as _, Sha256};

use crate::error::Error;
use crate::scenario::Scenario;
use crate::scenario::sun::Sun;

/// The number, as 64 hexadecimal digits.
///
/// # Errors
/// When a file that the scenario names cannot be read.
pub fn of(scenario: &Scenario, base_dir: &Path) -> Result<String, Error> {
    let text = serde_json::to_vec(scenario).map_err(|it| Error::Output(it.into()))?;
    let mut hash = Sha256::new();
    let mut add = |bytes: &[u8]| {
        hash.update((bytes.len() as u64).to_le_bytes());
        hash.update(bytes);
    };
    add(&text);
    if let Sun::Measured(measured) = &scenario.sun {
        let path = base_dir.join(&measured.file);
        let bytes = std::fs::read(&path);
        add(&bytes.map_err(|source| Error::File { action: "read", path, source })?);
    }
    let mut digits = String::new();
    for byte in hash.finalize() {
        let _ = write!(digits, "{byte:02x}");
    }
    Ok(digits)
}
