//! What an outlook means for the clearness of a day.
//!
//! A word stands for a normal law of clearness (means and spreads are judgement: no source);
//! daily energy for the clearness that it is, with the spread of the words around it. What was told
//! fades: on the first day it counts in full, on each later day a fifth less, and from the sixth on
//! the climate decides. In between the quantiles are mixed,
//!
//! `K(chi) = (1 - a) (m + s chi) + a F^-1(Phi(chi))`,  `a = min((day - 1) / 5, 1)`,
//!
//! so that a day of the deviate chi moves from the told law to that of its month ([`super::clearness`])
//! without losing spread, and the chain of days ([`super::random_days`]) goes on through told days.
//! Trust: plausible.

use chrono::{FixedOffset, NaiveDate};

use super::climate::extraterrestrial_kwh_m2;
use super::position::Place;
use super::track::SunTrack;
use super::view::hour_start;
use crate::scenario::outlook::{Outlook, SkyWord, ToldDay};

/// Days until a forecast says no more than the climate does.
const FADES_IN_DAYS: f64 = 5.0;
/// No told day is darker or clearer than this.
const BOUNDS: (f64, f64) = (0.01, 0.85);
/// Mean clearness and its standard deviation by word, darkest first.
const WORDS: [(SkyWord, f64, f64); 5] = [
    (SkyWord::DarkAllDay, 0.07, 0.04),
    (SkyWord::Overcast, 0.20, 0.08),
    (SkyWord::MostlyCloudy, 0.38, 0.12),
    (SkyWord::Partly, 0.55, 0.12),
    (SkyWord::Clear, 0.70, 0.06),
];

/// What is told of one date.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Told {
    mean: f64,
    sd: f64,
    /// How much of the climate is mixed in, 0 to below 1.
    climate_share: f64,
}

impl Told {
    /// What an outlook says of a date with this energy above the air, kWh/m2; `None` when it says
    /// nothing, or the date has no sun.
    #[must_use]
    pub fn of(outlook: &Outlook, date: NaiveDate, extraterrestrial_kwh_m2: f64) -> Option<Self> {
        let after = usize::try_from((date - outlook.from.0).num_days()).ok()?;
        #[allow(clippy::cast_precision_loss)]
        let climate_share = after as f64 / FADES_IN_DAYS;
        let told = outlook.days.get(after).filter(|_| climate_share < 1.0)?;
        if extraterrestrial_kwh_m2 <= 0.0 {
            return None;
        }
        let (mean, sd) = match told {
            ToldDay::Sky(word) => law_of(*word)?,
            ToldDay::GhiKwhM2Day(energy) => {
                let mean = (energy / extraterrestrial_kwh_m2).clamp(BOUNDS.0, BOUNDS.1);
                (mean, spread_at(mean))
            }
        };
        Some(Self { mean, sd, climate_share })
    }

    /// Clearness at the normal deviate `chi`, where the climate has `climate` there.
    #[must_use]
    pub fn clearness(&self, chi: f64, climate: f64) -> f64 {
        let told = (self.mean + self.sd * chi).clamp(BOUNDS.0, BOUNDS.1);
        (1.0 - self.climate_share) * told + self.climate_share * climate
    }
}

/// Mean and standard deviation of a word; `None` for the one that says nothing.
#[must_use]
pub fn law_of(word: SkyWord) -> Option<(f64, f64)> {
    // What the snow does on the panels is another thing.
    let word = if word == SkyWord::Snow { SkyWord::DarkAllDay } else { word };
    WORDS.iter().find(|(it, ..)| *it == word).map(|(_, mean, sd)| (*mean, *sd))
}

/// The spread of the words, straight between their means.
fn spread_at(mean: f64) -> f64 {
    let above = WORDS.iter().position(|(_, at, _)| *at > mean);
    match above {
        Some(0) => WORDS[0].2,
        None => WORDS[WORDS.len() - 1].2,
        Some(next) => {
            let ((_, from, low), (_, to, high)) = (WORDS[next - 1], WORDS[next]);
            low + (high - low) * (mean - from) / (to - from)
        }
    }
}

/// Told days with more energy than any sky lets through, and what it does, kWh/m2. Empty for a place
/// or dates without positions of the sun.
#[must_use]
pub fn too_bright(place: Place, outlook: &Outlook, offset: FixedOffset) -> Vec<(usize, f64)> {
    let days = i64::try_from(outlook.days.len()).unwrap_or(0);
    let first = outlook.from.0;
    let ends = hour_start(first, 0, offset).zip(hour_start(first, 24 * days, offset));
    let Some(track) = ends.and_then(|(from, until)| SunTrack::new(place, from, until).ok()) else {
        return Vec::new();
    };
    let told = outlook.days.iter().zip(first.iter_days()).enumerate();
    told.filter_map(|(day, (told, date))| {
        let ToldDay::GhiKwhM2Day(energy) = told else { return None };
        let most_kwh_m2 = BOUNDS.1 * extraterrestrial_kwh_m2(&track, date, offset);
        (*energy > most_kwh_m2).then_some((day, most_kwh_m2))
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::basis::chrono_date::Date;

    fn told(days: Vec<ToldDay>, after: u64) -> Option<Told> {
        let from = NaiveDate::from_ymd_opt(2027, 1, 19).unwrap();
        let outlook = Outlook { from: Date(from), days, notes: None };
        Told::of(&outlook, from + chrono::Days::new(after), 4.0)
    }

    #[test]
    fn what_was_told_fades_to_the_climate() {
        let days = vec![ToldDay::Sky(SkyWord::Clear); 9];
        // The first day is the word's own law; the sixth is the climate's.
        for (chi, clearness) in [(-1.0, 0.64), (0.0, 0.70), (1.0, 0.76)] {
            let first = told(days.clone(), 0).unwrap().clearness(chi, 0.3);
            assert!((first - clearness).abs() < 1e-12, "{first}");
        }
        let third = told(days.clone(), 2).unwrap().clearness(0.0, 0.3);
        assert!((third - (0.6 * 0.70 + 0.4 * 0.3)).abs() < 1e-12, "{third}");
        assert_eq!(told(days.clone(), 5), None);
        assert_eq!(told(vec![ToldDay::Sky(SkyWord::Unknown)], 0), None);
        assert_eq!(told(days, 20), None);
    }

    #[test]
    fn energy_is_clearness_with_the_spread_of_the_words() {
        let of = |energy| told(vec![ToldDay::GhiKwhM2Day(energy)], 0).unwrap();
        let day = of(0.8);
        assert!((day.mean - 0.20).abs() < 1e-12 && (day.sd - 0.08).abs() < 1e-12);
        let between = of(4.0 * 0.29);
        assert!((between.sd - 0.10).abs() < 1e-12, "{between:?}");
        assert!((of(0.0).sd - 0.04).abs() < 1e-12);
        assert!(of(14.0).mean <= 0.85);
    }
}
