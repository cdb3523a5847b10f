//! The results of a club as comma-separated values. Writing files is the caller's.

use crate::decide::exercise::timeline::PackPlace;
use crate::decide::exercise::{ClubTimeline, Exercise, Sheet};

fn done(writer: csv::Writer<Vec<u8>>) -> Result<Vec<u8>, csv::Error> {
    writer
        .into_inner()
        .map_err(|failed| csv::Error::from(std::io::Error::from(failed.into_error().kind())))
}

/// What every station's meter should show, one row a station and an hour.
///
/// # Errors
/// Those of the writer; in memory there are none but a lack of memory.
pub fn sheets_csv(sheets: &[Sheet]) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "station",
        "at",
        "hour",
        "on_watch",
        "left_p05_ah",
        "left_p50_ah",
        "left_p95_ah",
        "receiving_p05_v",
        "receiving_p50_v",
        "receiving_p95_v",
    ])?;
    for sheet in sheets {
        for row in &sheet.rows {
            let mut record = vec![
                sheet.station.clone(),
                row.at.to_rfc3339(),
                row.hour.to_string(),
                u8::from(row.on_watch).to_string(),
            ];
            let ah = [row.left_p05_ah, row.left_p50_ah, row.left_p95_ah];
            record.extend(ah.map(|it| format!("{it:.2}")));
            let volts = [row.receiving_p05_v, row.receiving_p50_v, row.receiving_p95_v];
            record.extend(volts.map(|it| format!("{it:.3}")));
            writer.write_record(&record)?;
        }
    }
    done(writer)
}

/// One trial, one row a step and a pack or a battery of a station's own.
///
/// # Errors
/// Those of the writer.
pub fn timeline_csv(timeline: &ClubTimeline) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "hour",
        "what",
        "place",
        "charge_share",
        "station_off_air",
        "generator_h",
    ])?;
    for step in 0..timeline.generator_h.len() {
        #[allow(clippy::cast_precision_loss)]
        let hour = (step + 1) as f64 * timeline.step_h;
        let generator_h = timeline.generator_h[step];
        for pack in timeline.packs.iter().filter(|it| !it.charge_share.is_empty()) {
            let (place, station) = match &pack.place[step] {
                PackPlace::Station(name) => (name.clone(), Some(name)),
                PackPlace::Charging => ("charging point".to_owned(), None),
                PackPlace::Standing => ("standing".to_owned(), None),
                PackPlace::Carried => ("carried".to_owned(), None),
                PackPlace::Absent => ("absent".to_owned(), None),
            };
            let off =
                station.and_then(|name| timeline.stations.iter().find(|it| it.name == **name));
            let off = off.map_or(String::new(), |it| u8::from(it.off[step]).to_string());
            writer.write_record([
                hour.to_string(),
                pack.name.clone(),
                place,
                format!("{:.5}", pack.charge_share[step]),
                off,
                format!("{generator_h:.4}"),
            ])?;
        }
        for station in timeline.stations.iter().filter(|it| it.came && !it.takes_packs) {
            writer.write_record([
                hour.to_string(),
                format!("battery of {}", station.name),
                station.name.clone(),
                format!("{:.5}", station.charge_share[step]),
                u8::from(station.off[step]).to_string(),
                format!("{generator_h:.4}"),
            ])?;
        }
    }
    done(writer)
}

/// Who brings what.
///
/// # Errors
/// Those of the writer.
pub fn packing_csv(exercise: &Exercise) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in &exercise.packing.rows {
        writer.serialize(row)?;
    }
    done(writer)
}
