//! Random days of a climate, and blocks of days of a measured series.
//!
//! Clearness: V. A. Graham, K. G. T. Hollands and T. E. Unny, "A time series model for Kt with
//! application to global synthetic weather generation", Solar Energy 40, 83 (1988):
//! `chi_d = phi chi_(d-1) + e`, `e ~ N(0, 1 - phi^2)`, phi 0.29, and the day's
//! clearness is what the distribution of its month ([`super::clearness`]) has at `Phi(chi)`. A
//! month is not forced to its mean: years differ. The inverse is held on an even grid of chi,
//! 0.0078 apart; its error stays below 1e-5 of clearness.
//!
//! Each date has its own innovation, and the chain begins so many days earlier, in its stationary
//! law, that what was before has faded below 1e-9: a start moved by some days meets the same sky.
//!
//! Air: a dark day keeps the mean of its month and swings less. K. L. Bristow and G. S. Campbell,
//! "On the relationship between incoming solar radiation and daily maximum and minimum
//! temperature", Agricultural and Forest Meteorology 31, 159 (1984): `K = 0.7 (1 - exp(-B dT^2.4))`,
//! solved for the swing dT; B cancels, for the swing of a month's days has the stated mean. It says
//! nothing of warm air under cloud in winter: that is left out. Trust: checked against published
//! values (clearness), plausible (air).
//!
//! Resampling: dates are cut into blocks of days, counted from the beginning of the calendar, and
//! each block takes days of the series that follow each other and begin at most so many days
//! earlier or later in their year, all alike (H. R. Kuensch, "The jackknife and the bootstrap for
//! general stationary observations", Annals of Statistics 17, 1217 (1989), within a season).

use chrono::{Datelike, NaiveDate};

use super::clearness::{Clearness, Floor};
use super::climate::ClimateDay;
use crate::chance::draw::{Draw, Purpose};
use crate::chance::transforms::Grid;
use crate::chance::transforms::normal::{normal_cumulative, normal_deviate};
use crate::chance::transforms::shares::whole_below;
use crate::numbers::lane::{Lane, Wide};

/// What is left of the day before the first of the chain.
const FADED: f64 = 1e-9;
/// Days before which a chain never begins.
const MOST_WARM_DAYS: u32 = 400;
/// Ends of the table of chi: beyond lie two in a billion.
const GRID_END: f64 = 6.0;
const GRID_CELLS: usize = 1536;
/// Largest clearness that the relation of the swing knows, and its exponent.
const SWING_CLEAREST: f64 = 0.7;
const SWING_POWER: f64 = 2.4;
/// Beyond this the relation runs away, share of its largest clearness.
const SWING_END: f64 = 0.98;

/// Random clearness of the dates of a climate.
#[derive(Debug, Clone)]
pub struct ClearnessDays {
    persistence: f64,
    warm_days: u32,
    first: u32,
    /// By date: its law; `None` on a sunless date.
    law_of: Vec<Option<usize>>,
    laws: Vec<Grid>,
}

/// The number of a date: days of the common era.
#[must_use]
pub fn number_of(date: NaiveDate) -> u32 {
    u32::try_from(date.num_days_from_ce()).unwrap_or(0)
}

impl ClearnessDays {
    /// The dates of a climate table, in order without a gap. `None` for a table that is empty or
    /// has no law.
    #[must_use]
    pub fn new(days: &[ClimateDay], persistence: f64) -> Option<Self> {
        let means: Vec<f64> = days.iter().map(|day| day.mean_clearness).collect();
        let mut made = Self::of_means(days.first()?.date, &means, persistence)?;
        for (at, told) in days.iter().enumerate().filter_map(|(at, day)| Some((at, day.told?))) {
            let Some(climate) = made.law_of[at] else { continue };
            let climate = &made.laws[climate];
            let of = |chi: f64| told.clearness(chi, climate.value(chi));
            let law = Grid::new(-GRID_END, GRID_END, GRID_CELLS, of).ok()?;
            made.law_of[at] = Some(made.laws.len());
            made.laws.push(law);
        }
        Some(made)
    }

    /// Appends the clearness that a share of days like each of the dates `from..to` does not exceed.
    pub fn quantiles(&self, share: f64, (from, to): (usize, usize), into: &mut Vec<f64>) {
        let chi = normal_deviate(share);
        let laws = self.law_of[from..to].iter();
        into.extend(laws.map(|law| law.map_or(0.0, |law| self.laws[law].value(chi))));
    }

    /// Dates from `first` whose days have these mean clearnesses; 0 is a sunless date. `None` when a
    /// mean is none.
    #[must_use]
    pub fn of_means(first: NaiveDate, means: &[f64], persistence: f64) -> Option<Self> {
        let mut laws: Vec<(f64, Grid)> = Vec::new();
        let mut law_of = Vec::with_capacity(means.len());
        for mean in means.iter().copied() {
            if mean <= 0.0 {
                law_of.push(None);
                continue;
            }
            let known = laws.iter().position(|(of_mean, _)| *of_mean == mean);
            law_of.push(Some(match known {
                Some(law) => law,
                None => {
                    laws.push((mean, grid_of(mean)?));
                    laws.len() - 1
                }
            }));
        }
        let first = number_of(first);
        let laws = laws.into_iter().map(|(_, grid)| grid).collect();
        Some(Self { persistence, warm_days: warm_days(persistence), first, law_of, laws })
    }

    /// Appends the clearness of the dates `from..to` of the table.
    pub fn draw(&self, seed: u64, trial: u64, from: usize, to: usize, into: &mut Vec<f64>) {
        let deviate =
            |day: u32| normal_deviate(Draw::new(seed, trial, day, Purpose::Sky).pair()[0]);
        let fresh = (1.0 - self.persistence * self.persistence).sqrt();
        let first = self.first.wrapping_add(u32::try_from(from).unwrap_or(0));
        let begin = first.wrapping_sub(self.warm_days);
        let mut chi = deviate(begin);
        for day in 1..self.warm_days {
            chi = self.persistence * chi + fresh * deviate(begin.wrapping_add(day));
        }
        for (after, law) in (0..).zip(&self.law_of[from..to]) {
            chi = self.persistence * chi + fresh * deviate(first.wrapping_add(after));
            into.push(law.map_or(0.0, |law| self.laws[law].value(chi)));
        }
    }
}

impl ClearnessDays {
    /// Appends the same of several trials, date by date; lane by lane the bits of [`Self::draw`].
    #[inline(always)]
    pub fn draw_of_trials<const N: usize>(
        &self,
        seed: u64,
        trials: [u64; N],
        from: usize,
        to: usize,
        into: &mut Vec<f64>,
    ) {
        let first = self.first.wrapping_add(u32::try_from(from).unwrap_or(0));
        let begin = first.wrapping_sub(self.warm_days);
        let mut chi = deviates(seed, trials, begin);
        let fresh = (1.0 - self.persistence * self.persistence).sqrt();
        let (stays, fresh) = (chi.like(self.persistence), chi.like(fresh));
        for day in 1..self.warm_days {
            chi = stays * chi + fresh * deviates(seed, trials, begin.wrapping_add(day));
        }
        for (after, law) in (0..).zip(&self.law_of[from..to]) {
            chi = stays * chi + fresh * deviates(seed, trials, first.wrapping_add(after));
            let clearness = match law {
                Some(law) => self.laws[*law].value(chi),
                None => chi.like(0.0),
            };
            into.extend(clearness.0);
        }
    }
}

/// What drives the sky of a day, by trial.
#[inline(always)]
fn deviates<const N: usize>(seed: u64, trials: [u64; N], day: u32) -> Wide<N> {
    normal_deviate(Draw::new(seed, 0, day, Purpose::Sky).pair_of_trials(trials)[0])
}

/// Days until a chain has forgotten where it began; at least one, the first day itself.
fn warm_days(persistence: f64) -> u32 {
    let mut left = 1.0;
    (1..MOST_WARM_DAYS)
        .find(|_| {
            left *= persistence;
            left < FADED
        })
        .unwrap_or(MOST_WARM_DAYS)
}

fn grid_of(mean: f64) -> Option<Grid> {
    let law = Clearness::new(mean, Floor::On);
    Grid::new(-GRID_END, GRID_END, GRID_CELLS, |chi| law.quantile(normal_cumulative(chi))).ok()
}

/// Swing of a day of this clearness, in units that cancel.
fn raw_swing(clearness: f64) -> f64 {
    let share = (clearness / SWING_CLEAREST).clamp(0.0, SWING_END);
    libm::pow(-libm::log1p(-share), 1.0 / SWING_POWER)
}

/// Swing of the air on a day of this clearness over the mean swing of its month, whose days are
/// these `states`, all alike.
#[must_use]
pub fn swing_share(clearness: f64, states: &[f64]) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let mean = states.iter().map(|state| raw_swing(*state)).sum::<f64>() / states.len() as f64;
    if mean > 0.0 { raw_swing(clearness) / mean } else { 1.0 }
}

/// Blocks of days of a series.
#[derive(Debug, Clone)]
pub struct SeriesDays {
    block_days: u32,
    /// By day of the year less one: where a block may begin, day of the series.
    begins: Vec<Vec<u32>>,
}

impl SeriesDays {
    /// Days of a series of `days` whole days from the date `first`.
    #[must_use]
    pub fn new(first: NaiveDate, days: usize, block_days: u32, season_days: u32) -> Self {
        let block_days = block_days.max(1);
        let last = u32::try_from(days).unwrap_or(0);
        let ordinals: Vec<(u32, u32)> = first
            .iter_days()
            .map(|date| date.ordinal0())
            .zip(0..last)
            .filter(|(_, day)| day + block_days <= last)
            .map(|(ordinal, day)| (day, ordinal))
            .collect();
        let begins = (0..366)
            .map(|wanted: u32| {
                let near = |ordinal: u32| {
                    let apart = ordinal.abs_diff(wanted);
                    apart.min(365_u32.abs_diff(apart)) <= season_days
                };
                ordinals.iter().filter(|(_, at)| near(*at)).map(|(day, _)| *day).collect()
            })
            .collect();
        Self { block_days, begins }
    }

    /// A date whose season the series has no block for, of `days` dates from `first`.
    #[must_use]
    pub fn missing(&self, first: NaiveDate, days: usize) -> Option<NaiveDate> {
        first.iter_days().take(days).find(|date| self.begins_at(number_of(*date)).is_empty())
    }

    fn begins_at(&self, number: u32) -> &[u32] {
        let block = number - number % self.block_days;
        let ordinal = i32::try_from(block)
            .ok()
            .and_then(NaiveDate::from_num_days_from_ce_opt)
            .map_or(0, |date| date.ordinal0() as usize);
        self.begins.get(ordinal).map_or(&[], Vec::as_slice)
    }

    /// Appends the day of the series for `days` dates from the one numbered `first`.
    pub fn draw(&self, seed: u64, trial: u64, first: u32, days: usize, into: &mut Vec<f64>) {
        for number in (first..).take(days) {
            let block = number - number % self.block_days;
            let begins = self.begins_at(number);
            let count = u32::try_from(begins.len()).unwrap_or(u32::MAX);
            let chance = Draw::new(seed, trial, block, Purpose::SkyDays).uniform();
            let begin = begins.get(whole_below(chance, count) as usize).copied().unwrap_or(0);
            into.push(f64::from(begin + number % self.block_days));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::ClearnessDays;
    use chrono::NaiveDate;

    /// Trials drawn in one go, numbers apart and one twice, have the bits of each by itself.
    #[test]
    fn skies_drawn_in_one_go_are_those_of_each() {
        let first = NaiveDate::from_ymd_opt(2026, 12, 30).unwrap();
        let means = [0.41, 0.41, 0.0, 0.38, 0.55];
        let days = ClearnessDays::of_means(first, &means, 0.29).unwrap();
        let trials = [7, 8, 1 << 40, 8];
        let mut beside = Vec::new();
        days.draw_of_trials(3, trials, 1, 5, &mut beside);
        for (lane, trial) in trials.into_iter().enumerate() {
            let mut alone = Vec::new();
            days.draw(3, trial, 1, 5, &mut alone);
            let lane: Vec<f64> = beside.iter().skip(lane).step_by(trials.len()).copied().collect();
            assert_eq!(lane, alone);
        }
    }
}
