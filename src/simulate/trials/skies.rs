//! What the dates of many trials have, date by date for those that stand near each other, and when
//! something happens to each: what is asked of all of them day after day lies close together.

use std::ops::Range;

use super::drawn::Drawn;
use super::prepare::{Prepared, Way};
use super::weather::{BESIDE, DaySky, Days};

/// The skies of many trials.
#[derive(Debug, Default)]
pub(super) struct Skies {
    first_day: usize,
    dates: usize,
    /// By so many trials as are drawn in one go, date, trial.
    days: Vec<DaySky>,
    array_multiplier: Vec<f64>,
    /// The slices, counted from the first, in which a trial has something of its own.
    busy: Vec<Range<u32>>,
    // What those drawn in one go drew.
    values: Vec<f64>,
}

impl Skies {
    /// Draws trials of one way, what happens in them too.
    pub(super) fn draw(&mut self, prepared: &Prepared, trials: &[(Way, u64)], drawn: &mut [Drawn]) {
        let way = trials[0].0;
        let dates = prepared.dates_of(way);
        (self.first_day, self.dates) = (dates.0, dates.1 - dates.0);
        self.array_multiplier.clear();
        self.busy.clear();
        let places = trials.len().next_multiple_of(BESIDE);
        self.days.resize(places * self.dates, DaySky::default());
        let chunks = trials.chunks(BESIDE).zip(drawn.chunks_mut(BESIDE));
        for (at, (trials, drawn)) in chunks.enumerate() {
            let days = &mut self.days[at * BESIDE * self.dates..][..BESIDE * self.dates];
            let numbers = std::array::from_fn(|lane| trials[lane.min(trials.len() - 1)].1);
            let weather = &prepared.weather;
            weather.draw_of_trials(prepared.seed, numbers, dates, &mut self.values);
            let together = !self.values.is_empty();
            let values = self.values.chunks_exact(BESIDE);
            for (after, (days, values)) in days.chunks_exact_mut(BESIDE).zip(values).enumerate() {
                for (day, value) in days.iter_mut().zip(values) {
                    *day = weather.day_sky(dates.0 + after, *value);
                }
            }
            for (lane, ((_, trial), drawn)) in trials.iter().zip(drawn).enumerate() {
                if !together {
                    let own = drawn.draw_dates(prepared, *trial, way);
                    for (of_date, day) in days.chunks_exact_mut(BESIDE).zip(own) {
                        of_date[lane] = *day;
                    }
                }
                let days = Days::new(&days[lane..], dates.0, BESIDE);
                drawn.draw_for_lanes(prepared, *trial, way, days);
                self.array_multiplier.push(drawn.array_multiplier);
                self.busy.push(drawn.busy());
            }
        }
    }

    /// A date of the trial in a place.
    #[inline(always)]
    pub(super) fn day(&self, place: usize, day: usize) -> &DaySky {
        let of_date = place / BESIDE * self.dates + (day - self.first_day);
        &self.days[of_date * BESIDE + place % BESIDE]
    }

    /// What the arrays of the trial in a place give over what the model gives.
    #[inline(always)]
    pub(super) fn array_multiplier(&self, place: usize) -> f64 {
        self.array_multiplier[place]
    }

    /// Whether the trial in a place has something of its own in these slices, counted from its first.
    #[inline(always)]
    pub(super) fn is_busy(&self, place: usize, slices: &Range<usize>) -> bool {
        let busy = &self.busy[place];
        (busy.start as usize) < slices.end && slices.start < busy.end as usize
    }
}
