//! Where more is not better.
//!
//! The walk takes it that a larger station reaches no less. Rules that read the charge can break that:
//! with more battery a tier stays in force for longer, into a night that a station which had stepped
//! down earlier survives. So every pair of stations that search has seen, one no smaller than the other
//! in anything, is compared trial by trial.

use serde::Serialize;

use super::bench::Bench;
use super::confirm::Neighbour;
use super::ladder::Place;
use crate::chance::intervals::mcnemar_exact_p;

/// A difference that luck brings about more rarely than this is none of luck; there are some hundreds
/// of pairs.
const BY_LUCK: f64 = 1e-4;

/// A larger station that fell where a smaller one stood.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Break {
    /// The smaller station.
    pub smaller: Place,
    /// The larger one.
    pub larger: Place,
    /// Trials that only the smaller one survived.
    pub only_smaller: u64,
    /// Trials that only the larger one survived.
    pub only_larger: u64,
    /// Trials that both have seen.
    pub trials: u64,
}

impl Break {
    /// Whether the smaller one survives more trials, and not by luck: then the walk may have gone
    /// astray.
    #[must_use]
    pub fn is_against_the_walk(&self) -> bool {
        self.only_smaller > self.only_larger
            && mcnemar_exact_p(self.only_smaller, self.only_larger) < BY_LUCK
    }
}

/// What all pairs come to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Breaks {
    /// Pairs that were compared.
    pub pairs: u64,
    /// Pairs in which a trial was survived by the smaller station alone.
    pub broken: u64,
    /// Pairs in which the smaller one survives more trials, and not by luck.
    pub against_the_walk: u64,
    /// The worst of them: the most trials that only the smaller one survived, less those that only the
    /// larger one did.
    pub worst: Option<Break>,
}

impl Breaks {
    fn enter(&mut self, one: Break) {
        self.pairs += 1;
        if one.only_smaller == 0 {
            return;
        }
        let worse = |it: &Break| {
            i64::try_from(it.only_smaller).unwrap_or(0) - i64::try_from(it.only_larger).unwrap_or(0)
        };
        self.broken += 1;
        self.against_the_walk += u64::from(one.is_against_the_walk());
        if self.worst.as_ref().is_none_or(|worst| worse(&one) > worse(worst)) {
            self.worst = Some(one);
        }
    }
}

/// Compares all pairs that search has seen, within one layer, and the chosen station with its
/// neighbours on the fresh trials.
#[must_use]
pub fn breaks(bench: &Bench, chosen: Option<Place>, neighbours: &[&Neighbour]) -> Breaks {
    let mut found = Breaks::default();
    for it in neighbours {
        let (Some(chosen), other) = (chosen, it.station.place) else { continue };
        let is_larger = other > chosen;
        let (smaller, larger) = if is_larger { (chosen, other) } else { (other, chosen) };
        let (only_smaller, only_larger) =
            if is_larger { (it.only_chosen, it.only_it) } else { (it.only_it, it.only_chosen) };
        let trials = it.station.trials;
        found.enter(Break { smaller, larger, only_smaller, only_larger, trials });
    }
    for (smaller, seen) in bench.all_seen() {
        for (larger, more) in bench.all_seen() {
            let same_layer = smaller.tilt == larger.tilt && smaller.charger == larger.charger;
            let no_smaller = larger.panels >= smaller.panels && larger.battery >= smaller.battery;
            if smaller == larger || !same_layer || !no_smaller {
                continue;
            }
            found.enter(Break {
                smaller: *smaller,
                larger: *larger,
                only_smaller: seen.alone(more),
                only_larger: more.alone(seen),
                trials: seen.survived.len().min(more.survived.len()) as u64,
            });
        }
    }
    found
}
