//! The skies of several trials drawn in one go, in the registers of the processor: the bits of each by
//! itself.

use super::{Kind, Weather};
use crate::numbers::lane::Width;
use crate::numbers::packed::{Work, side_by_side};
use crate::sky::random_days::ClearnessDays;

/// Trials whose skies are drawn in one go.
pub const BESIDE: usize = 8;

/// What they draw.
struct Beside<'a> {
    days: &'a ClearnessDays,
    seed: u64,
    trials: [u64; BESIDE],
    from: usize,
    to: usize,
    into: &'a mut Vec<f64>,
}

impl Work for Beside<'_> {
    type Output = ();
    const MAY_BE_SHORT: bool = true;

    fn is_short(&self) -> bool {
        true
    }

    #[inline(always)]
    fn with<W: Width>(self, _: W) {
        self.days.draw_of_trials(self.seed, self.trials, self.from, self.to, self.into);
    }
}

impl Weather {
    /// What several trials draw for the dates `from..to`: date by date, a value a trial. Nothing where
    /// each is to be drawn by itself.
    pub fn draw_of_trials(
        &self,
        seed: u64,
        trials: [u64; BESIDE],
        (from, to): (usize, usize),
        into: &mut Vec<f64>,
    ) {
        into.clear();
        if let (Kind::Climate(sky), None) = (&self.kind, self.quantile)
            && let Some(days) = &sky.days
        {
            side_by_side(Beside { days, seed, trials, from, to, into });
        }
    }
}
