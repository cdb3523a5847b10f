//! Results for other programs: `ledger.csv` and `summary.json`. Writing files is the caller's.

use rayon::prelude::*;

use super::columns::{Column, columns_of};
use crate::simulate::ledger::{Ledger, Row};
use crate::simulate::summary::Summary;

/// Rows that one thread writes at a time.
const ROWS: usize = 512;

/// The ledger as comma-separated values, one row a step; `columns::columns` says what is in it.
///
/// # Errors
/// Those of the writer; in memory there are none but a lack of memory.
pub fn ledger_csv(ledger: &Ledger) -> Result<Vec<u8>, csv::Error> {
    let columns = columns_of(ledger);
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(columns.iter().map(|column| column.name.as_str()))?;
    let head = whole(writer)?;
    let parts: Vec<Vec<u8>> = ledger
        .rows
        .par_chunks(ROWS)
        .map(|rows| lines_of(rows, &columns, ledger))
        .collect::<Result<_, _>>()?;
    Ok([head].into_iter().chain(parts).collect::<Vec<_>>().concat())
}

fn lines_of(rows: &[Row], columns: &[Column], ledger: &Ledger) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut field = Vec::new();
    for row in rows {
        for column in columns {
            field.clear();
            column.write(row, ledger, &mut field);
            writer.write_field(&field)?;
        }
        writer.write_record(None::<&[u8]>)?;
    }
    whole(writer)
}

fn whole(writer: csv::Writer<Vec<u8>>) -> Result<Vec<u8>, csv::Error> {
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
