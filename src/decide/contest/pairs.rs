//! Two stations trial by trial: what only one of them carries.

use serde::Serialize;

use super::counts::Counts;
use crate::chance::ChanceProblem;
use crate::chance::intervals::Confidence;
use crate::chance::intervals::paired::{Paired, mcnemar_exact_p, newcombe_difference};

/// Chance of a split as uneven by luck alone, over all pairs told together, up to which the trials
/// are called enough.
pub const LUCK: f64 = 0.05;

/// How the same trials went for two stations, A and B.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pair {
    /// Name of A.
    pub a: String,
    /// Name of B.
    pub b: String,
    /// Trials that both carry.
    pub both: u64,
    /// Trials that only A carries.
    pub only_a: u64,
    /// Trials that only B carries.
    pub only_b: u64,
    /// Trials that neither carries.
    pub neither: u64,
    /// The first trial that only A carries; null without one.
    pub first_only_a: Option<u64>,
    /// The first trial that only B carries; null without one.
    pub first_only_b: Option<u64>,
    /// Chance of staying on the air of A less that of B.
    pub difference: f64,
    /// Its interval by Newcombe's square-and-add, 95 %: low and high end.
    pub difference_newcombe_95: [f64; 2],
    /// Chance of a split as uneven as this if neither were better: McNemar, exact, two-sided.
    pub mcnemar_exact_p: f64,
    /// Whether the trials are enough to say that one of the two is better.
    pub enough_trials: bool,
}

impl Pair {
    /// Two stations of the same trials, one of `pairs` pairs that are told together: what luck is
    /// allowed is shared between them (Bonferroni).
    ///
    /// # Errors
    /// If there are more than 2^53 trials.
    pub fn of(
        (a, a_counts): (&str, &Counts),
        (b, b_counts): (&str, &Counts),
        pairs: usize,
    ) -> Result<Self, ChanceProblem> {
        let mut pair = Self::of_counts(a, b, a_counts.against(b_counts), pairs)?;
        pair.first_only_a = a_counts.first_alone(b_counts);
        pair.first_only_b = b_counts.first_alone(a_counts);
        Ok(pair)
    }

    /// The same from the counts, which know no single trial.
    ///
    /// # Errors
    /// If there are more than 2^53 trials.
    pub fn of_counts(
        a: &str,
        b: &str,
        paired: Paired,
        pairs: usize,
    ) -> Result<Self, ChanceProblem> {
        let Paired { both, only_a, only_b, neither } = paired;
        let difference = newcombe_difference(paired, Confidence::NINETY_FIVE)?;
        let p = mcnemar_exact_p(only_a, only_b);
        #[allow(clippy::cast_precision_loss)]
        let allowed = LUCK / pairs.max(1) as f64;
        Ok(Self {
            a: a.to_owned(),
            b: b.to_owned(),
            both,
            only_a,
            only_b,
            neither,
            first_only_a: None,
            first_only_b: None,
            difference: difference.difference,
            difference_newcombe_95: [difference.low, difference.high],
            mcnemar_exact_p: p,
            enough_trials: p <= allowed,
        })
    }
}
