//! Stations side by side for other programs: `pairs.csv`. Writing files is the caller's.

use serde::Serialize;

use crate::decide::compare::Comparison;

/// One row of `pairs.csv`.
#[derive(Serialize)]
struct Row<'a> {
    a: &'a str,
    b: &'a str,
    both: u64,
    only_a: u64,
    only_b: u64,
    neither: u64,
    difference: f64,
    difference_low: f64,
    difference_high: f64,
    mcnemar_exact_p: f64,
    enough_trials: bool,
}

/// All pairs as comma-separated values.
///
/// # Errors
/// Those of the writer; in memory there are none but a lack of memory.
pub fn pairs_csv(comparison: &Comparison) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for pair in &comparison.pairs {
        writer.serialize(Row {
            a: &pair.a,
            b: &pair.b,
            both: pair.both,
            only_a: pair.only_a,
            only_b: pair.only_b,
            neither: pair.neither,
            difference: pair.difference,
            difference_low: pair.difference_newcombe_95[0],
            difference_high: pair.difference_newcombe_95[1],
            mcnemar_exact_p: pair.mcnemar_exact_p,
            enough_trials: pair.enough_trials,
        })?;
    }
    writer
        .into_inner()
        .map_err(|failed| csv::Error::from(std::io::Error::from(failed.into_error().kind())))
}
