//! `new`: a small station to start from.
//!
//! The flags become a [`Scenario`], which is printed as JSON. What no
//! flag gives is a guess and marked as one in `basis`.

mod climate;
mod station;

use std::path::Path;

use chrono::{NaiveDate, NaiveDateTime};

use self::station::Wishes;
use super::{files, json_text};
use crate::cli::NewArgs;
use crate::clock::LocalClock;
use crate::error::Error;
use crate::scenario::Scenario;
use crate::scenario::site::Clock;
use crate::show::shell;

/// Where the station stands when nobody says: a coast that does not exist.
const INVENTED_PLACE: (f64, f64) = (45.0, -45.0);

/// Writes the station.
///
/// # Errors
/// When a flag cannot be, or the file is there already or cannot be written.
pub fn run(args: &NewArgs) -> Result<(), Error> {
    let text = text_of(&scenario(args)?)?;
    if files::is_standard(&args.path) {
        return files::print(&text);
    }
    refuse_to_replace(&args.path, args.force)?;
    files::write_whole(&args.path, text.as_bytes())?;
    let path = args.path.display();
    files::tell(&format!("wrote {path}\nnext: longwatch run {}\n", shell::path(&args.path)));
    Ok(())
}

/// The station that the flags describe.
///
/// # Errors
/// When the time zone is not known or the start does not exist on its clock.
pub fn scenario(args: &NewArgs) -> Result<Scenario, Error> {
    let latitude_deg = args.latitude.unwrap_or(INVENTED_PLACE.0);
    let longitude_deg = args.longitude.unwrap_or(INVENTED_PLACE.1);
    let clock = match &args.zone {
        Some(name) => Clock::Zone(name.clone()),
        None => Clock::FixedOffset(offset_by_longitude(longitude_deg)),
    };
    let wall = LocalClock::new(&clock)
        .map_err(|problem| Error::CommandLine(format!("--zone {problem}")))?;
    let start = args.start.unwrap_or_else(|| midwinter(latitude_deg));
    wall.instant(start).map_err(|problem| Error::CommandLine(format!("--start {problem}")))?;
    Ok(station::build(&Wishes { args, latitude_deg, longitude_deg, clock, start }))
}

/// The text of the file.
fn text_of(scenario: &Scenario) -> Result<String, Error> {
    let value = serde_json::to_value(scenario).map_err(|problem| Error::Output(problem.into()))?;
    Ok(json_text::laid_out(&value))
}

fn refuse_to_replace(path: &Path, force: bool) -> Result<(), Error> {
    if path.is_file() && !force {
        let path = path.display();
        return Err(Error::CommandLine(format!("`{path}` is there already; --force replaces it")));
    }
    Ok(())
}

/// The whole hour that the sun keeps, within civil use.
fn offset_by_longitude(longitude_deg: f64) -> String {
    let hours = (longitude_deg / 15.0).round().clamp(-12.0, 12.0);
    let sign = if hours < 0.0 { '-' } else { '+' };
    format!("{sign}{:02.0}:00", hours.abs())
}

/// A Monday evening four weeks after the shortest day.
fn midwinter(latitude_deg: f64) -> NaiveDateTime {
    let (month, day) = if latitude_deg < 0.0 { (7, 19) } else { (1, 18) };
    NaiveDate::from_ymd_opt(2027, month, day)
        .and_then(|date| date.and_hms_opt(18, 0, 0))
        .unwrap_or_default()
}

#[cfg(test)]
mod tests;
