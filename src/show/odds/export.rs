//! Results of trials for other programs: `bands.csv`. Writing files is the caller's.

use crate::decide::odds::Odds;

/// The bands as comma-separated values, one row an instant.
///
/// # Errors
/// Those of the writer; in memory there are none but a lack of memory.
pub fn bands_csv(odds: &Odds) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for band in &odds.bands {
        writer.serialize(band)?;
    }
    writer
        .into_inner()
        .map_err(|failed| csv::Error::from(std::io::Error::from(failed.into_error().kind())))
}
