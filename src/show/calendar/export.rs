//! A calendar for other programs: `calendar.csv`. Writing files is the caller's.

use serde::Serialize;

use crate::decide::calendar::Calendar;

#[derive(Serialize)]
struct Row<'a> {
    month: u32,
    clock_hour: u32,
    strategy: &'a str,
    trials: u64,
    kept: u64,
    chance: f64,
    chance_wilson_low_95: f64,
    chance_wilson_high_95: f64,
}

/// The points as comma-separated values, one row a month, hour of the clock and strategy.
///
/// # Errors
/// Those of the writer; in memory there are none but a lack of memory.
pub fn calendar_csv(calendar: &Calendar) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for strategy in &calendar.strategies {
        for point in &strategy.points {
            let [low, high] = point.chance_wilson_95;
            writer.serialize(Row {
                month: point.month,
                clock_hour: point.clock_hour,
                strategy: &strategy.strategy,
                trials: point.trials,
                kept: point.kept,
                chance: point.chance,
                chance_wilson_low_95: low,
                chance_wilson_high_95: high,
            })?;
        }
    }
    writer
        .into_inner()
        .map_err(|failed| csv::Error::from(std::io::Error::from(failed.into_error().kind())))
}
