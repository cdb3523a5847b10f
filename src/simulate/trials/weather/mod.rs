//! The sky of trials: what each hour gives for any clearness, tabulated once.
//!
//! Climate: for every lit hour and array the output is held at [`CELLS`] + 1 values of the day's
//! clearness, from the same functions that the run uses (hour shape, Erbs, tilted plane, panel),
//! with straight lines between; the error stays below 0.3 % of rated. Lanes and replay read the
//! same tables. Measured: the output of every hour of the series. Profile: computed as it comes.
//!
//! A storm multiplies clearness (with a profile, its share of sun) in the hours whose middle lies
//! in it; the diffuse share follows. Trust: as the models of `sky` and `station`.

mod beside;
mod calm;
mod drawn;

use chrono::{DateTime, Duration, FixedOffset, NaiveDate, Timelike, Utc};

use crate::numbers::lane::Lane;
use crate::plan::Offered;
use crate::plan::compile::CompileProblem;
use crate::plan::exposure::{Light, WiredArray};
use crate::scenario::Scenario;
use crate::scenario::sun::{Climate, Measured, Profile, Sun};
use crate::sky::climate::ClimateTable;
use crate::sky::daily::HOURS;
use crate::sky::day_types::DayChain;
use crate::sky::hour::SunHour;
use crate::sky::measured::Series;
use crate::sky::profile::ProfileDay;
use crate::sky::random_days::{ClearnessDays, SeriesDays, number_of, swing_share};
use crate::sky::series::AIR_WHEN_UNKNOWN_C;
use crate::sky::split::Irradiance;
use crate::sky::tilt::PlaneHour;
use crate::sky::track::SunTrack;
use crate::sky::view::{View, month0};

pub use beside::BESIDE;
pub use calm::{Calm, CalmDays, CalmPlan};
pub use drawn::{DaySky, Days, DrawnSky};

/// Cells of the tables over clearness.
pub const CELLS: usize = 72;
const NODES: usize = CELLS + 1;
/// Clearness at the end of the tables: no law reaches beyond.
const CLEAREST: f64 = 0.9;
const CELLS_PER_UNIT: f64 = CELLS as f64 / CLEAREST;
/// An hour without sun has no row.
const NIGHT: u32 = u32::MAX;

/// The sky of trials over the hours of a plan.
#[derive(Debug, Clone)]
pub struct Weather {
    first_date: NaiveDate,
    /// Hour of the day of the first hour.
    before: usize,
    hours: usize,
    /// Each day is the one that this share of its like does not exceed; `None` draws them.
    quantile: Option<f64>,
    kind: Kind,
}

#[derive(Debug, Clone)]
enum Kind {
    Climate(Box<ClimateSky>),
    Profile(Box<ProfileSky>),
    Measured(Box<MeasuredSky>),
}

#[derive(Debug, Clone)]
struct ClimateSky {
    table: ClimateTable,
    days: Option<ClearnessDays>,
    /// Row of each hour.
    row: Vec<u32>,
    /// By hour: how much warmer than the day's mean the mean day is, K.
    warmer_c: Vec<f64>,
    /// By row, array, node: W.
    power_w: Vec<f64>,
    /// The same for switching controllers, A and A per volt; empty when there are none.
    shape: Vec<[f64; 2]>,
    /// By day.
    air_mean_c: Vec<f64>,
    /// By day: which of the swings.
    swing_of: Vec<usize>,
    /// By month met, then node.
    swing: Vec<[f64; NODES]>,
}

#[derive(Debug, Clone)]
struct ProfileSky {
    day: ProfileDay,
    chain: Option<DayChain>,
    air_c: f64,
}

#[derive(Debug, Clone)]
struct MeasuredSky {
    hours: Vec<SeriesHour>,
    /// By hour of the series, then array.
    planes: Vec<PlaneHour>,
    gives: Vec<Offered>,
    /// Hour of the series at which its first whole day begins.
    midnight: usize,
    first_date: NaiveDate,
    /// Hour of the series that the first hour of a replay takes.
    replay: usize,
    days: Option<SeriesDays>,
}

#[derive(Debug, Clone, Copy)]
struct SeriesHour {
    sun: SunHour,
    light: Irradiance,
    air_c: f64,
}

/// Values from node to node by straight lines.
#[inline(always)]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
fn node_at(clearness: f64) -> (usize, f64) {
    let place = clearness.clamp(0.0, CLEAREST) * CELLS_PER_UNIT;
    let node = (place as usize).min(CELLS - 1);
    (node, place - node as f64)
}

/// The part of the way from node to node, of arrays that give a share of what the model gives.
#[inline(always)]
fn between<F: Lane>((from, to): (F, F), rest: F, array_multiplier: F) -> F {
    (from + (to - from) * rest) * array_multiplier
}

#[allow(clippy::cast_precision_loss)]
fn clearness_at(node: usize) -> f64 {
    node as f64 / CELLS_PER_UNIT
}

impl Weather {
    /// The sky of a scenario over `hours` hours of standard time from `first`.
    ///
    /// # Errors
    /// What is wrong with the sun of the scenario.
    pub fn new(
        scenario: &Scenario,
        arrays: &[WiredArray],
        offset: FixedOffset,
        first: DateTime<Utc>,
        hours: usize,
        series: Option<&str>,
    ) -> Result<Self, Vec<CompileProblem>> {
        let local = first.with_timezone(&offset);
        let mut weather = Self {
            first_date: local.date_naive(),
            before: local.hour() as usize,
            hours,
            quantile: None,
            kind: Kind::Profile(Box::new(ProfileSky {
                day: ProfileDay::Plane([0.0; HOURS]),
                chain: None,
                air_c: 0.0,
            })),
        };
        let view = View::new(&scenario.site, &scenario.arrays);
        weather.kind = match &scenario.sun {
            Sun::Profile(profile) => Kind::Profile(Box::new(ProfileSky::new(profile)?)),
            Sun::Climate(climate) => {
                Kind::Climate(Box::new(weather.climate(&view, climate, arrays, offset)?))
            }
            Sun::Measured(measured) => {
                let text = series.unwrap_or_default();
                Kind::Measured(Box::new(
                    weather.measured(&view, measured, arrays, offset, first, text)?,
                ))
            }
        };
        Ok(weather)
    }

    /// Makes every day, in every trial, the one that a share of its like does not exceed: the same
    /// dark day after day. Gives whether that can be; the days of a profile or a series have no law
    /// to look it up in.
    pub fn hold_at(&mut self, share: f64) -> bool {
        let known = matches!(&self.kind, Kind::Climate(sky) if sky.days.is_some());
        self.quantile = Some(share).filter(|_| known);
        known
    }

    /// Whether nothing of the days is drawn.
    #[must_use]
    pub fn one_sky(&self) -> bool {
        match &self.kind {
            Kind::Climate(sky) => sky.days.is_none(),
            Kind::Profile(sky) => sky.chain.is_none(),
            Kind::Measured(sky) => sky.days.is_none(),
        }
    }

    /// Draws days again.
    pub fn let_go(&mut self) {
        self.quantile = None;
    }

    /// How many dates it touches.
    #[must_use]
    pub fn days(&self) -> usize {
        (self.before + self.hours).div_ceil(HOURS)
    }

    /// The date that an hour lies in, from 0.
    #[must_use]
    pub fn day_of(&self, hour: usize) -> usize {
        (self.before + hour) / HOURS
    }

    /// Whether an outlook speaks of the date of an hour: then no storm dims it besides.
    #[must_use]
    pub fn is_told(&self, hour: usize) -> bool {
        match &self.kind {
            Kind::Climate(sky) => sky.table.days()[self.day_of(hour)].told.is_some(),
            Kind::Profile(_) | Kind::Measured(_) => false,
        }
    }

    /// The hour at which a date begins that is not the first.
    fn first_hour_of(&self, day: usize) -> usize {
        day * HOURS - self.before
    }

    fn hour_of_day(&self, hour: usize) -> usize {
        (self.before + hour) % HOURS
    }

    /// First and last year of the series that days are taken from.
    #[must_use]
    pub fn series_years(&self) -> Option<(i32, i32)> {
        use chrono::Datelike;
        let Kind::Measured(sky) = &self.kind else { return None };
        sky.days.as_ref()?;
        let days = (sky.hours.len() - sky.midnight) / HOURS;
        let last = sky.first_date + Duration::days(i64::try_from(days).ok()? - 1);
        Some((sky.first_date.year(), last.year()))
    }

    /// What a trial draws for the dates `from..to`, one value each: clearness, share of sun, or day
    /// of the series.
    /// A type of day may take the mains away with it: then `without_mains` says so, by date.
    pub fn draw(
        &self,
        seed: u64,
        trial: u64,
        (from, to): (usize, usize),
        into: &mut Vec<f64>,
        without_mains: &mut Vec<bool>,
    ) {
        into.clear();
        without_mains.clear();
        let first = number_of(self.first_date) + u32::try_from(from).unwrap_or(0);
        match &self.kind {
            Kind::Climate(sky) => match (&sky.days, self.quantile) {
                (Some(days), Some(share)) => days.quantiles(share, (from, to), into),
                (Some(days), None) => days.draw(seed, trial, from, to, into),
                (None, _) => into.resize(to - from, 0.0),
            },
            Kind::Profile(sky) => match &sky.chain {
                Some(chain) => {
                    chain.draw(seed, trial, first, to - from, into, without_mains);
                    if !chain.takes_mains() {
                        without_mains.clear();
                    }
                }
                None => into.resize(to - from, 1.0),
            },
            Kind::Measured(sky) => match &sky.days {
                Some(days) => days.draw(seed, trial, first, to - from, into),
                None => into.resize(to - from, 0.0),
            },
        }
    }

    fn climate(
        &self,
        view: &View,
        climate: &Climate,
        arrays: &[WiredArray],
        offset: FixedOffset,
    ) -> Result<ClimateSky, Vec<CompileProblem>> {
        let table = ClimateTable::new(view, climate, offset, self.first_date, self.days())
            .map_err(|problems| said("sun.climate", &problems))?;
        let mut sky = ClimateSky {
            days: ClearnessDays::new(table.days(), climate.persistence),
            row: Vec::with_capacity(self.hours),
            warmer_c: Vec::with_capacity(self.hours),
            power_w: Vec::new(),
            shape: Vec::new(),
            air_mean_c: Vec::new(),
            swing_of: Vec::new(),
            swing: Vec::new(),
            table: ClimateTable::default(),
        };
        let mut month = None;
        for day in table.days() {
            sky.air_mean_c.push(climate.air_mean_c[month0(day.date)]);
            if month != Some((month0(day.date), day.states)) {
                month = Some((month0(day.date), day.states));
                sky.swing
                    .push(std::array::from_fn(|node| swing_share(clearness_at(node), &day.states)));
            }
            sky.swing_of.push(sky.swing.len() - 1);
        }
        sky.table = table;
        let shaped = arrays.iter().any(WiredArray::has_shape);
        let mut rows = 0;
        for hour in 0..self.hours {
            let (day, at) = (self.day_of(hour), self.hour_of_day(hour));
            let (date, shape) = (&sky.table.days()[day], &sky.table.days()[day].hours[at]);
            sky.warmer_c.push(shape.air_c - sky.air_mean_c[day]);
            if shape.ghi_per_clearness_w_m2 <= 0.0 {
                sky.row.push(NIGHT);
                continue;
            }
            sky.row.push(rows);
            rows += 1;
            for (array, plane) in arrays.iter().zip(date.planes(at)) {
                for node in 0..NODES {
                    let clearness = clearness_at(node);
                    let in_plane_w_m2 = plane.in_plane_w_m2(&shape.light(clearness));
                    let air_c = sky.air_c(day, hour, sky.swing_share(day, clearness));
                    let gives = array.gives(Light::Plane(in_plane_w_m2), air_c);
                    sky.power_w.push(gives.available_w);
                    if shaped {
                        sky.shape.push([gives.shape_a, gives.shape_a_per_v]);
                    }
                }
            }
        }
        Ok(sky)
    }

    fn measured(
        &self,
        view: &View,
        measured: &Measured,
        arrays: &[WiredArray],
        offset: FixedOffset,
        first: DateTime<Utc>,
        text: &str,
    ) -> Result<MeasuredSky, Vec<CompileProblem>> {
        let series =
            Series::read(measured, text).map_err(|problems| said("sun.measured", &problems))?;
        let track = SunTrack::new(view.place, series.first, series.end())
            .map_err(|problem| said("sun.measured", &[problem]))?;
        let begins = series.first.with_timezone(&offset);
        let midnight = (HOURS - begins.hour() as usize) % HOURS;
        let mut sky = MeasuredSky {
            hours: Vec::with_capacity(series.hours.len()),
            planes: Vec::with_capacity(series.hours.len() * arrays.len()),
            gives: Vec::with_capacity(series.hours.len() * arrays.len()),
            midnight,
            first_date: (begins + hours_of(midnight)).date_naive(),
            replay: usize::try_from((first - series.first).num_hours()).unwrap_or(0),
            days: None,
        };
        for (index, row) in series.hours.iter().enumerate() {
            let start = series.first + hours_of(index);
            let (sun, suns) = view.sun_hour(&track, start);
            let light = row.light(&sun);
            let air_c = row.air_c.unwrap_or(AIR_WHEN_UNKNOWN_C);
            sky.hours.push(SeriesHour { sun, light, air_c });
            let month = month0(start.with_timezone(&offset).date_naive());
            for (array, plane) in arrays.iter().zip(view.plane_hours(&sun, &suns, month)) {
                sky.gives.push(array.gives(Light::Plane(plane.in_plane_w_m2(&light)), air_c));
                sky.planes.push(plane);
            }
        }
        if let Some(resample) = measured.resample {
            let whole = series.hours.len().saturating_sub(midnight) / HOURS;
            let days =
                SeriesDays::new(sky.first_date, whole, resample.block_days, resample.season_days);
            if let Some(date) = days.missing(self.first_date, self.days()) {
                let text = format!(
                    "the series has no {} days that begin within {} days of the season of {date}",
                    resample.block_days, resample.season_days
                );
                return Err(vec![CompileProblem { path: "sun.measured.resample".into(), text }]);
            }
            sky.days = Some(days);
        }
        Ok(sky)
    }
}

fn hours_of(count: usize) -> Duration {
    Duration::hours(i64::try_from(count).unwrap_or(0))
}

fn said(path: &str, problems: &[impl ToString]) -> Vec<CompileProblem> {
    problems
        .iter()
        .map(|problem| CompileProblem { path: path.into(), text: problem.to_string() })
        .collect()
}

impl ClimateSky {
    /// Swing of the air at a clearness over the mean one.
    #[inline(always)]
    fn swing_share(&self, day: usize, clearness: f64) -> f64 {
        let (node, rest) = node_at(clearness);
        let swing = &self.swing[self.swing_of[day]];
        swing[node] + (swing[node + 1] - swing[node]) * rest
    }

    /// Air of an hour whose day swings so much.
    #[inline(always)]
    fn air_c<F: Lane>(&self, day: usize, hour: usize, swing_share: F) -> F {
        let (mean_c, warmer_c) = (self.air_mean_c[day], self.warmer_c[hour]);
        swing_share.like(mean_c) + swing_share.like(warmer_c) * swing_share
    }
}

impl ProfileSky {
    fn new(profile: &Profile) -> Result<Self, Vec<CompileProblem>> {
        Ok(Self {
            day: ProfileDay::new(profile).map_err(|problems| said("sun.profile", &problems))?,
            chain: profile.day_types.as_ref().and_then(DayChain::new),
            air_c: profile.air_c,
        })
    }
}
