//! How many spare packs a chance of the club takes: more and more of them, in the same trials.
//!
//! The first spares are the club's own, those beyond are full and always there. A number of them is
//! enough when the one-sided 95 % lower bound of Clopper and Pearson reaches the target.

use serde::Serialize;

use crate::chance::intervals::{Confidence, clopper_pearson_lower};
use crate::chance::merge::Tally;
use crate::error::Error;
use crate::scenario::club::Packs;
use crate::simulate::trials::Watch;
use crate::simulate::trials::club::{ClubPlan, run_club};

/// Spares beyond this many are not tried.
const MOST_SPARES: usize = 12;
/// So many more spares in a row that help nobody end the search.
const IN_VAIN: usize = 3;

/// What the search came to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spares {
    /// Chance of staying on the air asked for.
    pub target_chance: f64,
    /// Spares that the club brings.
    pub brought: usize,
    /// Spares that reach it; absent when none of the numbers tried does.
    pub needed: Option<usize>,
    /// What those beyond the ones brought cost; absent when nobody said, or none is needed.
    pub more_price: Option<f64>,
    /// What they weigh, kg.
    pub more_mass_kg: Option<f64>,
    /// What each number tried came to.
    pub tried: Vec<SparesTried>,
}

impl Spares {
    /// With what a spare costs and weighs.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn priced(mut self, packs: Option<&Packs>) -> Self {
        let more = self.needed.map_or(0, |needed| needed.saturating_sub(self.brought));
        if let (true, Some(packs)) = (more > 0, packs) {
            self.more_price = packs.spare_price.map(|price| price * more as f64);
            self.more_mass_kg = packs.spare_mass_kg.map(|mass_kg| mass_kg * more as f64);
        }
        self
    }
}

/// One number of spares.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SparesTried {
    /// How many.
    pub spares: usize,
    /// Trials in which the club was up all the time.
    pub up: u64,
    /// Of so many.
    pub trials: u64,
    /// Lower bound of the chance of staying on the air, one-sided, 95 %.
    pub lower_95_one_sided: f64,
}

impl SparesTried {
    fn of(spares: usize, tally: Tally) -> Self {
        Self {
            spares,
            up: tally.successes(),
            trials: tally.trials(),
            lower_95_one_sided: clopper_pearson_lower(tally, Confidence::NINETY_FIVE),
        }
    }
}

/// Searches; `as_brought` is what the club as it is came to. `None` where nothing is swapped, or when the
/// watch ended it.
///
/// # Errors
/// When threads cannot be started.
pub fn spares(
    club: &ClubPlan,
    target_chance: f64,
    as_brought: Tally,
    threads: usize,
    watch: &Watch,
) -> Result<Option<Spares>, Error> {
    if !club.stations.iter().any(|it| it.swap.is_some()) {
        return Ok(None);
    }
    let brought = club.spares();
    let trials = as_brought.trials();
    let mut tried: Vec<SparesTried> = Vec::new();
    let mut in_vain = 0;
    let mut most = 0;
    for count in 0..=MOST_SPARES {
        let tally = if count == brought {
            as_brought
        } else {
            let other = club.with_spares(count);
            let mut tally = Tally::default();
            let done = run_club(&other, 0..trials, threads, watch, |outcome| {
                tally.count(outcome.first_down_h.is_none());
            })?;
            if done < trials {
                return Ok(None);
            }
            tally
        };
        let this = SparesTried::of(count, tally);
        tried.push(this);
        in_vain = if this.up > most { 0 } else { in_vain + 1 };
        most = most.max(this.up);
        let enough = this.lower_95_one_sided >= target_chance;
        if count >= brought
            && (enough
                || tried.iter().any(|it| it.lower_95_one_sided >= target_chance)
                || in_vain >= IN_VAIN)
        {
            break;
        }
    }
    let needed = tried.iter().find(|it| it.lower_95_one_sided >= target_chance).map(|it| it.spares);
    let (more_price, more_mass_kg) = (None, None);
    Ok(Some(Spares { target_chance, brought, needed, more_price, more_mass_kg, tried }))
}
