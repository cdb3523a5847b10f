//! Days of a few types that follow each other: a Markov chain.
//!
//! Each day has one of several types, drawn by the type of the day before; a type multiplies the
//! hours of a profile by its share of sun. Given long-run shares p and a lag-one correlation c the
//! chance of type j after type i is `c [i = j] + (1 - c) p_j`, so that p is the long run and c the
//! correlation of any quantity of the type on two days that follow each other. With a matrix the
//! long run is what its powers tend to. Trust: exact.
//!
//! Draws: the date's [`Purpose::Sky`]; the first deviate is the type, the second the share. A trial
//! without a stated yesterday begins [`WARM_DAYS`] earlier in the long run, so that a start moved
//! by some days meets the same dates.

use crate::chance::draw::{Draw, Purpose};
use crate::chance::transforms::Shares;
use crate::scenario::sun::{Chain, DayTypes, Spread};

/// Days that a chain runs before the first date that counts.
pub const WARM_DAYS: u32 = 32;

/// Types of day with their chances.
#[derive(Debug, Clone, PartialEq)]
pub struct DayChain {
    sun_multiplier: Vec<Spread>,
    without_mains: Vec<bool>,
    next: Vec<Shares>,
    long_run: Shares,
    long_run_share: Vec<f64>,
    yesterday: Option<usize>,
}

impl DayChain {
    /// The chain of a scenario; `None` for shares that the check refuses.
    #[must_use]
    pub fn new(days: &DayTypes) -> Option<Self> {
        let count = days.types.len();
        let matrix: Vec<Vec<f64>> = match &days.chain {
            Chain::Matrix { next_share } => next_share.clone(),
            Chain::Shares { type_share, lag1_correlation } => (0..count)
                .map(|from| {
                    let stays = |to: usize| if to == from { *lag1_correlation } else { 0.0 };
                    let rest = 1.0 - lag1_correlation;
                    type_share
                        .iter()
                        .enumerate()
                        .map(|(to, share)| (stays(to) + rest * share).max(0.0))
                        .collect()
                })
                .collect(),
        };
        if count == 0 || matrix.len() != count || matrix.iter().any(|row| row.len() != count) {
            return None;
        }
        let next = matrix.iter().map(|row| Shares::new(row).ok()).collect::<Option<Vec<_>>>()?;
        let long_run_share = long_run(&matrix);
        Some(Self {
            sun_multiplier: days.types.values().map(|kind| kind.sun_multiplier).collect(),
            without_mains: days.types.values().map(|kind| kind.without_mains).collect(),
            next,
            long_run: Shares::new(&long_run_share).ok()?,
            long_run_share,
            yesterday: days.yesterday.as_ref().and_then(|name| days.types.get_index_of(name)),
        })
    }

    /// Long-run share of each type.
    #[must_use]
    pub fn long_run_share(&self) -> &[f64] {
        &self.long_run_share
    }

    /// Mean share of sun in the long run.
    #[must_use]
    pub fn mean_share(&self) -> f64 {
        self.sun_multiplier
            .iter()
            .zip(&self.long_run_share)
            .map(|(sun, share)| sun.mean() * share)
            .sum()
    }

    /// Whether some type of day takes the mains with it.
    #[must_use]
    pub fn takes_mains(&self) -> bool {
        self.without_mains.contains(&true)
    }

    /// Appends the share of sun of `days` dates from the one numbered `first` (days of the common
    /// era), and whether the mains is away.
    pub fn draw(
        &self,
        seed: u64,
        trial: u64,
        first: u32,
        days: usize,
        into: &mut Vec<f64>,
        without_mains: &mut Vec<bool>,
    ) {
        let pair = |day: u32| Draw::new(seed, trial, day, Purpose::Sky).pair();
        let mut kind = self.yesterday.unwrap_or_else(|| {
            let begin = first.wrapping_sub(WARM_DAYS + 1);
            (1..=WARM_DAYS).fold(self.long_run.index(pair(begin)[0]), |kind, day| {
                self.next[kind].index(pair(begin.wrapping_add(day))[0])
            })
        });
        for day in (0..).take(days) {
            let [of_kind, of_share] = pair(first.wrapping_add(day));
            kind = self.next[kind].index(of_kind);
            into.push(self.sun_multiplier[kind].value(of_share));
            without_mains.push(self.without_mains[kind]);
        }
    }
}

/// What the shares tend to: the powers of the matrix, each day held over with a chance of one half
/// so that chains which alternate have a limit too.
fn long_run(matrix: &[Vec<f64>]) -> Vec<f64> {
    let count = matrix.len();
    let mut power: Vec<Vec<f64>> = (0..count)
        .map(|row| {
            let held = |column: usize| if row == column { 0.5 } else { 0.0 };
            (0..count).map(|column| held(column) + 0.5 * matrix[row][column]).collect()
        })
        .collect();
    // 2^48 days.
    for _ in 0..48 {
        power = (0..count)
            .map(|row| {
                let mut squared: Vec<f64> = (0..count)
                    .map(|column| (0..count).map(|at| power[row][at] * power[at][column]).sum())
                    .collect();
                let sum: f64 = squared.iter().sum();
                for share in &mut squared {
                    *share /= sum;
                }
                squared
            })
            .collect();
    }
    power.swap_remove(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chain(text: &str) -> DayChain {
        DayChain::new(&serde_json::from_str(text).unwrap()).unwrap()
    }

    /// Two states: the long run is (1 - d) / (2 - u - d), by hand.
    #[test]
    fn the_long_run_of_two_states() {
        let found = chain(
            r#"{"types": {"a": {"sun_multiplier": {"fixed": 7}}, "b": {"sun_multiplier": {"uniform": [0, 2]}}},
                "chain": {"matrix": {"next_share": [[0.84, 0.16], [0.24, 0.76]]}}}"#,
        );
        assert!((found.long_run_share()[0] - 0.6).abs() < 1e-12);
        assert!((found.mean_share() - (0.6 * 7.0 + 0.4)).abs() < 1e-12);
        let same = chain(
            r#"{"types": {"a": {"sun_multiplier": {"fixed": 7}}, "b": {"sun_multiplier": {"uniform": [0, 2]}}},
                "chain": {"shares": {"type_share": [0.6, 0.4], "lag1_correlation": 0.6}}}"#,
        );
        for chance in [0.01, 0.239, 0.241, 0.5, 0.839, 0.841] {
            for from in 0..2 {
                assert_eq!(found.next[from].index(chance), same.next[from].index(chance));
            }
        }
    }

    /// A ring of three that never rests: each a third of the time.
    #[test]
    fn a_ring_has_a_long_run_too() {
        let found = chain(
            r#"{"types": {"a": {"sun_multiplier": {"fixed": 0}}, "b": {"sun_multiplier": {"fixed": 1}},
                "c": {"sun_multiplier": {"fixed": 2}}},
                "chain": {"matrix": {"next_share": [[0, 1, 0], [0, 0, 1], [1, 0, 0]]}}}"#,
        );
        for share in found.long_run_share() {
            assert!((share - 1.0 / 3.0).abs() < 1e-12);
        }
    }

    /// Dates keep their weather when the start moves.
    #[test]
    fn a_moved_start_keeps_the_dates() {
        let found = chain(
            r#"{"types": {"a": {"sun_multiplier": {"uniform": [0, 1]}}, "b": {"sun_multiplier": {"uniform": [1, 2]}}},
                "chain": {"shares": {"type_share": [0.6, 0.4], "lag1_correlation": 0.4}}}"#,
        );
        for trial in 0..200 {
            let (mut early, mut late) = (Vec::new(), Vec::new());
            found.draw(3, trial, 740_000, 20, &mut early, &mut Vec::new());
            found.draw(3, trial, 740_005, 15, &mut late, &mut Vec::new());
            assert_eq!(early[5..], late[..]);
        }
    }
}
