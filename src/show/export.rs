//! Results for other programs: `ledger.csv` and `summary.json`. Writing files is the caller's.

use super::columns::columns_of;
use crate::simulate::ledger::Ledger;
use crate::simulate::summary::Summary;

/// The ledger as comma-separated values, one row a step; `columns::columns` says what is in it.
///
/// # Errors
/// Those of the writer; in memory there are none but a lack of memory.
pub fn ledger_csv(ledger: &Ledger) -> Result<Vec<u8>, csv::Error> {
    let columns = columns_of(ledger);
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(columns.iter().map(|column| column.name.as_str()))?;
    for row in &ledger.rows {
        writer.write_record(columns.iter().map(|column| column.cell(row, ledger)))?;
    }
    writer
        .into_inner()
        .map_err(|failed| csv::Error::from(std::io::Error::from(failed.into_error().kind())))
}

/// The summary as JSON, set in and with a newline at its end.
///
/// # Errors
/// Those of the writer; a summary always has a JSON form.
pub fn summary_json(summary: &Summary) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(summary).map(|text| text + "\n")
}
