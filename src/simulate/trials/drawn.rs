//! What a trial meets, slice by slice: the inputs of the step.

use std::ops::Range;

use super::events::{Happenings, SNOWS_BELOW_C};
use super::prepare::{Prepared, Way};
use super::uncertain;
use super::weather::{DaySky, Days, DrawnSky};
use crate::chance::draw::{Draw, Purpose};
use crate::plan::TemperaturePlan;
use crate::plan::exposure::{ExposureRoom, HourSky, SliceSky};
use crate::sky::daily::HOURS;

/// What one trial meets, from its first slice on.
#[derive(Debug, Clone, Default)]
pub(super) struct Drawn {
    /// Power of the panels of each source, by slice then source, W: of its own steps.
    pub(super) available_w: Vec<f64>,
    /// The curves of switching controllers, likewise, A and A per volt; empty without them.
    pub(super) shape: Vec<[f64; 2]>,
    /// Whether the mains is there as a slice begins; empty where that is the same in all trials.
    pub(super) grid: Vec<bool>,
    /// Where it fails or comes back within a slice: slice, and h since that began.
    pub(super) changes: Vec<(usize, f64)>,
    /// The slices in which a warning holds.
    pub(super) warned: Vec<Range<usize>>,
    /// Air by step, of its own steps, deg C; empty where nothing feels it and nobody looks.
    pub(super) air_c: Vec<f64>,
    /// Global irradiance by step, W/m2; only where somebody looks.
    pub(super) ghi_w_m2: Vec<Option<f64>>,
    /// Battery temperature at the beginning, deg C.
    pub(super) first_c: f64,
    /// Charge at the beginning.
    pub(super) start_share: f64,
    /// Whether the generator starts when asked.
    pub(super) engine_starts: bool,
    /// What the arrays give over what the model gives.
    pub(super) array_multiplier: f64,
    // What its dates have, from this one on.
    first_day: usize,
    days: Vec<DaySky>,
    without_mains: Vec<bool>,
    /// Its own steps, counted from the first: the air and the panels of the others, before and after
    /// its storms, are laid out elsewhere.
    pub(super) own: Range<usize>,
    /// The slices of these.
    own_slices: Range<usize>,
    /// The slices in which its mains may not be that of all.
    own_grid: Range<usize>,
    // Kept for the next trial.
    values: Vec<f64>,
    storm_share: Vec<f64>,
    storm_hour: usize,
    hourly_c: Vec<f64>,
    snow_slices: Vec<usize>,
    happenings: Happenings,
    exposed: ExposureRoom,
}

/// What is wanted besides what lanes need.
#[derive(Debug, Clone, Default)]
struct Wanted {
    /// The battery's temperature at the beginning.
    first_c: bool,
    /// Air and light, for the ledger.
    shown: bool,
    /// The steps, counted from the first, whose air and panels are laid out here.
    own: Range<usize>,
}

/// The dates of a trial.
struct Dates<'a> {
    days: Days<'a>,
    /// From the first of them on.
    without_mains: &'a [bool],
}

impl Drawn {
    /// Draws a trial and lays all of it out. `shown`: air and light are wanted for the ledger.
    pub(super) fn draw(&mut self, prepared: &Prepared, trial: u64, way: Way, shown: bool) {
        self.draw_dates(prepared, trial, way);
        self.draw_happenings(prepared, trial, way);
        let days = std::mem::take(&mut self.days);
        let of_dates = Days::new(&days, self.first_day, 1);
        self.lay_out_own(prepared, trial, way, of_dates, 0..prepared.steps(), shown);
        self.days = days;
    }

    /// Draws what its dates have.
    pub(super) fn draw_dates(&mut self, prepared: &Prepared, trial: u64, way: Way) -> &[DaySky] {
        let weather = &prepared.weather;
        let dates = prepared.dates_of(way);
        self.first_day = dates.0;
        weather.draw(prepared.seed, trial, dates, &mut self.values, &mut self.without_mains);
        self.days.clear();
        let days = (dates.0..).zip(&self.values);
        self.days.extend(days.map(|(day, value)| weather.day_sky(day, *value)));
        &self.days
    }

    /// Draws what happens in a trial.
    fn draw_happenings(&mut self, prepared: &Prepared, trial: u64, way: Way) {
        let exposure = &prepared.exposure;
        let steps = way.first_step..way.first_step + prepared.steps();
        let slices = prepared.slice_at(steps.start)..prepared.slice_at(steps.end);
        let begin_h = exposure.slices[slices.start].begins_h;
        let last = &exposure.slices[slices.end - 1];
        let end_h = last.begins_h + last.hours;
        let span_step = way.first_step + prepared.settling_steps;
        let span_h = exposure.slices[prepared.slice_at(span_step)].begins_h;
        let seed = prepared.seed;
        prepared.events.draw(seed, trial, (begin_h, span_h, end_h), &mut self.happenings);
        self.array_multiplier = uncertain::array_multiplier(&prepared.uncertain, seed, trial);
    }

    /// Draws what happens in a trial whose dates are drawn, and lays it out, but for the air and the
    /// panels of steps before and after its storms, where those are laid out for many trials at once.
    pub(super) fn draw_for_lanes(
        &mut self,
        prepared: &Prepared,
        trial: u64,
        way: Way,
        days: Days<'_>,
    ) {
        self.draw_happenings(prepared, trial, way);
        let own = self.own_steps(prepared, way);
        self.lay_out_own(prepared, trial, way, days, own, false);
    }

    /// Lays out what was drawn, air and panels of `own` steps alone.
    fn lay_out_own(
        &mut self,
        prepared: &Prepared,
        trial: u64,
        way: Way,
        days: Days<'_>,
        own: Range<usize>,
        shown: bool,
    ) {
        let steps = way.first_step..way.first_step + prepared.steps();
        let without_mains = std::mem::take(&mut self.without_mains);
        let dates = Dates { days, without_mains: &without_mains };
        let wanted = Wanted { first_c: true, shown, own };
        self.lay_out(prepared, (trial, way.variant), steps, &dates, wanted);
        self.without_mains = without_mains;
    }

    /// The slices, counted from its first, in which it has something of its own.
    #[allow(clippy::cast_possible_truncation)]
    pub(super) fn busy(&self) -> Range<u32> {
        let changes = self.changes.iter().map(|change| change.0..change.0 + 1);
        let all = changes.chain(self.warned.iter().cloned());
        let all = all.chain([self.own_slices.clone(), self.own_grid.clone()]);
        let all = all.filter(|slices| !slices.is_empty());
        let (mut from, mut to) = (u32::MAX, 0);
        for slices in all {
            from = from.min(slices.start as u32);
            to = to.max(slices.end as u32);
        }
        from..to
    }

    /// The steps from the first storm that dims the sky to the last; to the end where snow may lie.
    fn own_steps(&self, prepared: &Prepared, way: Way) -> Range<usize> {
        if prepared.calm.is_none() {
            return 0..prepared.steps();
        }
        let storms = &self.happenings.storms;
        let first_h = storms.iter().map(|it| it.from_h).fold(f64::INFINITY, f64::min);
        let last_h = storms.iter().map(|it| it.to_h).fold(f64::NEG_INFINITY, f64::max);
        let slices = &prepared.exposure.slices;
        let steps = &prepared.slice_of_step[way.first_step..way.first_step + prepared.steps()];
        let before = |holds: &dyn Fn(f64) -> bool| {
            steps.partition_point(|at| slices.get(*at).is_some_and(|it| holds(it.begins_h)))
        };
        // A storm dims hours whose middle lies in it; a step may reach into a second hour.
        let first = before(&|begins_h| begins_h + 2.0 <= first_h);
        let snows = storms.iter().any(|storm| storm.snows);
        let end = if snows { steps.len() } else { before(&|begins_h| begins_h < last_h + 1.0) };
        first..end.max(first)
    }

    /// The first slice from one on, counted from its first, in which its mains fails or comes back.
    pub(super) fn change_from(&self, slice: usize) -> Option<usize> {
        let at = self.changes.partition_point(|change| change.0 < slice);
        self.changes.get(at).map(|change| change.0)
    }

    /// Steps of a trial that was drawn already, `whole`, under its own sky. If the mains `fails`, it
    /// does so at an instant (h since the plan begins) and stays away; storm and warning are drawn
    /// under a date.
    pub(super) fn branch_off(
        &mut self,
        prepared: &Prepared,
        whole: &Self,
        (trial, variant): (u64, usize),
        steps: Range<usize>,
        fails: Option<(f64, u32)>,
    ) {
        self.happenings.begin_with(&whole.happenings);
        self.array_multiplier = whole.array_multiplier;
        if let Some((off_h, day)) = fails {
            let draw = Draw { branch: 1, ..Draw::new(prepared.seed, trial, day, Purpose::Storm) };
            self.happenings.outages.push((off_h, f64::INFINITY));
            prepared.events.come_with(off_h, draw, &mut self.happenings);
        }
        let days = Days::new(&whole.days, whole.first_day, 1);
        let dates = Dates { days, without_mains: &whole.without_mains };
        let wanted = Wanted { own: 0..steps.len(), ..Wanted::default() };
        self.lay_out(prepared, (trial, variant), steps, &dates, wanted);
    }

    /// What the steps bring under a sky, with what happens.
    fn lay_out(
        &mut self,
        prepared: &Prepared,
        (trial, variant): (u64, usize),
        steps: Range<usize>,
        dates: &Dates<'_>,
        wanted: Wanted,
    ) {
        let (seed, weather, exposure) = (prepared.seed, &prepared.weather, &prepared.exposure);
        self.own = wanted.own.clone();
        let slices = prepared.slice_at(steps.start)..prepared.slice_at(steps.end);
        let first = slices.start;
        let hour_of = |slice: usize| exposure.slices[slice].hour.unwrap_or(0);
        let hours = prepared.hours_of(&slices);
        self.darken(prepared, &hours);
        self.snow_slices.clear();
        let mut sky = DrawnSky {
            weather,
            arrays: &exposure.arrays,
            days: dates.days,
            storm_share: &self.storm_share,
            first_hour: self.storm_hour,
            snow_slices: &[],
            array_multiplier: self.array_multiplier,
        };
        for storm in self.happenings.storms.iter().filter(|storm| storm.snows) {
            let at = first
                + exposure.slices[slices.clone()]
                    .partition_point(|slice| slice.begins_h < storm.from_h);
            let told = at < slices.end && weather.is_told(hour_of(at));
            if at < slices.end && !told && sky.air_c(hour_of(at)) <= SNOWS_BELOW_C {
                self.snow_slices.push(at);
            }
        }
        sky.snow_slices = &self.snow_slices;

        // Panels.
        let sources = prepared.sun_sources();
        let shaped = exposure.arrays.iter().any(crate::plan::exposure::WiredArray::has_shape);
        self.available_w.clear();
        let own_steps = steps.start + wanted.own.start..steps.start + wanted.own.end;
        let own = prepared.slice_at(own_steps.start)..prepared.slice_at(own_steps.end);
        self.own_slices = own.start - first..own.end - first;
        self.available_w.resize(own.len() * sources, 0.0);
        self.shape.clear();
        self.shape.resize(if shaped { own.len() * sources } else { 0 }, [0.0; 2]);
        let (available_w, shape) = (&mut self.available_w, &mut self.shape);
        let first_own = own.start;
        exposure.walk(own, &mut sky, &mut self.exposed, |slice, source, gives| {
            let at = (slice - first_own) * sources + source;
            available_w[at] += gives.available_w;
            if shaped {
                shape[at][0] += gives.shape_a;
                shape[at][1] += gives.shape_a_per_v;
            }
        });

        // Air.
        self.air_c.clear();
        self.ghi_w_m2.clear();
        self.first_c = match prepared.variants[variant].temperature {
            TemperaturePlan::Fixed(battery_c) => battery_c,
            TemperaturePlan::Follows { .. } if !wanted.first_c => f64::NAN,
            TemperaturePlan::Follows { offset_c, .. } => {
                let day = hours.start..hours.end.min(hours.start + HOURS);
                #[allow(clippy::cast_precision_loss)]
                let count = day.len().max(1) as f64;
                day.map(|hour| sky.air_c(hour)).sum::<f64>() / count + offset_c
            }
        };
        if prepared.feels_air() || wanted.shown {
            let hour_of_step = &prepared.hour_of_step[own_steps];
            let from_hour = hour_of_step.first().map_or(hours.end, |hour| (*hour).max(hours.start));
            let to_hour = hour_of_step.last().map_or(from_hour, |hour| (*hour + 1).min(hours.end));
            sky.airs_c(from_hour..to_hour, &mut self.hourly_c);
            let hourly_c = &self.hourly_c;
            let airs_c = hour_of_step.iter().map(|hour| hourly_c[hour.saturating_sub(from_hour)]);
            self.air_c.extend(airs_c);
            if wanted.shown {
                self.ghi_w_m2.extend(hour_of_step.iter().map(|hour| sky.ghi_w_m2(*hour)));
            }
        }

        // Grid and warnings.
        self.grid.clear();
        self.changes.clear();
        let edges = &exposure.slices[slices.clone()];
        let outages = &self.happenings.outages;
        let own_outages = prepared.events.known.is_empty() && !outages.is_empty();
        if own_outages || !dates.without_mains.is_empty() {
            self.grid.extend_from_slice(&prepared.grid[slices.clone()]);
        }
        self.own_grid = 0..0;
        if own_outages {
            let mut whole = (f64::INFINITY, 0.0_f64);
            for (off_h, on_h) in outages {
                let away = (to_second(*off_h), to_second(*on_h));
                fail(edges, away, &mut self.grid, &mut self.changes);
                whole = (whole.0.min(away.0), whole.1.max(away.1));
            }
            let at = |instant_h| edges.partition_point(|slice| slice.begins_h < instant_h);
            self.own_grid = at(whole.0)..at(whole.1);
        }
        if !dates.without_mains.is_empty() {
            self.own_grid = 0..edges.len();
            for (there, slice) in self.grid.iter_mut().zip(slices) {
                *there &= !dates.without_mains[weather.day_of(hour_of(slice)) - dates.days.first()];
            }
        }
        self.warned.clear();
        for (from_h, to_h) in &self.happenings.warned {
            let at = |instant_h| edges.partition_point(|slice| slice.begins_h < instant_h);
            self.warned.push(at(*from_h)..at(*to_h));
        }
        let plan = &prepared.variants[variant];
        self.start_share = prepared.start_between.map_or(plan.start_charge_share, |[low, high]| {
            low + (high - low) * Draw::new(seed, trial, 0, Purpose::StartCharge).uniform()
        });
        let fails = prepared.engine_fails_chance;
        self.engine_starts =
            fails <= 0.0 || Draw::new(seed, trial, 0, Purpose::EngineStart).uniform() >= fails;
    }

    /// The storm of a trial that has at most one, h since the plan begins: beginning and end; two
    /// instants that no stretch of time lies between where there is none.
    #[inline(always)]
    pub(super) fn one_storm(&self) -> Option<(f64, f64)> {
        match &self.happenings.storms[..] {
            [] => Some((f64::INFINITY, f64::NEG_INFINITY)),
            [storm] => Some((storm.from_h, storm.to_h)),
            _ => None,
        }
    }

    /// Hours of storms within a stretch of time, h since the plan begins.
    #[inline(always)]
    pub(super) fn storm_h(&self, from_h: f64, to_h: f64) -> f64 {
        let (mut hours, mut counted_to_h) = (0.0, from_h);
        // In the order of their outages, all as long as each other: where two meet, once.
        for storm in &self.happenings.storms {
            let begins_h = storm.from_h.max(counted_to_h);
            let ends_h = storm.to_h.min(to_h);
            if begins_h < ends_h {
                hours += ends_h - begins_h;
                counted_to_h = ends_h;
            }
        }
        hours
    }

    /// What storms multiply clearness by, hour by hour from the first that one may dim; the darker
    /// counts where two meet. On a day of which an outlook speaks, the outlook says how dark it is.
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn darken(&mut self, prepared: &Prepared, hours: &Range<usize>) {
        self.storm_share.clear();
        let storms = &self.happenings.storms;
        let middle_h = |hour: usize| prepared.weather_begins_h + hour as f64 + 0.5;
        // Hours of which it is known that their middle lies before an instant, but for one or two.
        let before = |instant_h: f64| {
            let count = (instant_h - middle_h(hours.start) - 1.0).max(0.0) as usize;
            hours.start + count.min(hours.len())
        };
        self.storm_hour = storms.iter().map(|it| before(it.from_h)).min().unwrap_or(hours.end);
        for storm in storms {
            for hour in before(storm.from_h)..hours.end {
                if middle_h(hour) >= storm.to_h {
                    break;
                }
                let at = hour - self.storm_hour;
                if self.storm_share.len() <= at {
                    self.storm_share.resize(at + 1, 1.0);
                }
                if storm.from_h <= middle_h(hour) && !prepared.weather.is_told(hour) {
                    self.storm_share[at] = self.storm_share[at].min(storm.clearness_multiplier);
                }
            }
        }
    }
}

/// To the nearest second, as edges of slices are given.
fn to_second(hours: f64) -> f64 {
    (hours * 3600.0).round() / 3600.0
}

/// The mains is away for a while: whole slices, and parts of two.
fn fail(
    edges: &[SliceSky],
    (off_h, on_h): (f64, f64),
    grid: &mut [bool],
    changes: &mut Vec<(usize, f64)>,
) {
    if on_h <= off_h {
        return;
    }
    let at = |instant_h: f64| edges.partition_point(|slice| slice.begins_h < instant_h);
    grid[at(off_h)..at(on_h)].fill(false);
    for instant_h in [off_h, on_h] {
        // The slice in which it lies, unless it is that one's edge.
        let next = at(instant_h);
        let Some(slice) = next.checked_sub(1).map(|before| &edges[before]) else { continue };
        let into_h = instant_h - slice.begins_h;
        if into_h < slice.hours && edges.get(next).is_none_or(|it| it.begins_h > instant_h) {
            changes.push((next - 1, into_h));
        }
    }
}
