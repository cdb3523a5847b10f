//! Stations put to the same trials, and what has been seen of them.
//!
//! Draws depend on seed, trial and date alone, so every station meets the same skies and outages. Search
//! takes the trials from 0 on; each confirmation takes as many again that nobody has seen.

use std::collections::BTreeMap;
use std::ops::Range;
use std::path::Path;
use std::sync::atomic::Ordering;

use super::ladder::{Ladders, Place};
use super::rounds::{Side, looks, side};
use super::{Options, Trouble};
use crate::chance::merge::Tally;
use crate::scenario::Scenario;
use crate::simulate::trials::{self, Gather, Outcome, Prepared, Watch, prepare, run_trials};

/// Which trials a station survived, in their order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Seen {
    /// The first of them.
    pub first: u64,
    /// By trial: whether it survived.
    pub survived: Vec<bool>,
    /// Trials that it did not, with the hour at which it was first off the air.
    pub failed: Vec<(u64, f64)>,
}

impl Seen {
    /// Counts of the first `trials`.
    #[must_use]
    pub fn tally(&self, trials: u64) -> Tally {
        let mut tally = Tally::default();
        let count = usize::try_from(trials).unwrap_or(usize::MAX).min(self.survived.len());
        for survived in &self.survived[..count] {
            tally.count(*survived);
        }
        tally
    }

    /// Counts of all.
    #[must_use]
    pub fn all(&self) -> Tally {
        self.tally(u64::MAX)
    }

    /// Trials that this one survives and another does not, among those that both have seen.
    #[must_use]
    pub fn alone(&self, other: &Self) -> u64 {
        let pairs = self.survived.iter().zip(&other.survived);
        pairs.filter(|(this, that)| **this && !**that).count() as u64
    }

    fn extend(&mut self, later: Self) {
        self.survived.extend(later.survived);
        self.failed.extend(later.failed);
    }
}

/// Gathers them.
struct Gathering {
    seen: Seen,
    /// Tiers up to this one count.
    floor: usize,
}

impl Gather for Gathering {
    fn trial(&mut self, outcome: &Outcome) {
        let below = outcome.tier_h.iter().skip(self.floor + 1).any(|hours| *hours > 0.0);
        let survived = outcome.first_off_air_h.is_none() && !below;
        self.seen.survived.push(survived);
        if !survived {
            self.seen.failed.push((outcome.trial, outcome.first_off_air_h.unwrap_or(0.0)));
        }
    }

    fn join(&mut self, later: Self) {
        self.seen.extend(later.seen);
    }
}

/// Where stations are put to trials.
pub struct Bench<'a> {
    scenario: &'a Scenario,
    base_dir: &'a Path,
    ladders: &'a Ladders,
    options: &'a Options,
    floor: usize,
    watch: &'a Watch,
    seen: BTreeMap<Place, Seen>,
    /// Trials run so far, of all stations.
    pub trials_run: u64,
}

impl<'a> Bench<'a> {
    /// An empty bench. `floor` is the last tier that counts.
    #[must_use]
    pub fn new(
        scenario: &'a Scenario,
        base_dir: &'a Path,
        ladders: &'a Ladders,
        options: &'a Options,
        floor: usize,
        watch: &'a Watch,
    ) -> Self {
        let seen = BTreeMap::new();
        Self { scenario, base_dir, ladders, options, floor, watch, seen, trials_run: 0 }
    }

    /// The scenario.
    #[must_use]
    pub fn scenario(&self) -> &'a Scenario {
        self.scenario
    }

    /// Where the files that it names are looked for.
    #[must_use]
    pub fn base_dir(&self) -> &'a Path {
        self.base_dir
    }

    /// What was seen of a station while searching.
    #[must_use]
    pub fn seen(&self, place: Place) -> Option<&Seen> {
        self.seen.get(&place)
    }

    /// Every station that search has seen.
    pub fn all_seen(&self) -> impl Iterator<Item = (&Place, &Seen)> {
        self.seen.iter()
    }

    /// On which side of a target a station lies, by as many trials as that takes.
    ///
    /// # Errors
    /// When it cannot be compiled, or the user ends it.
    pub fn side(&mut self, place: Place, target: f64) -> Result<Side, Trouble> {
        let mut prepared = None;
        for upto in looks(self.options.trials) {
            self.see(place, upto, &mut prepared)?;
            let Some(seen) = self.seen.get(&place) else { break };
            if let Some(side) = side(seen.tally(upto), target, upto == self.options.trials) {
                return Ok(side);
            }
        }
        Ok(Side::Misses)
    }

    /// Its share of the first `upto` trials.
    ///
    /// # Errors
    /// When it cannot be compiled, or the user ends it.
    pub fn share(&mut self, place: Place, upto: u64) -> Result<f64, Trouble> {
        self.see(place, upto, &mut None)?;
        Ok(self.seen.get(&place).map_or(0.0, |seen| seen.tally(upto).share()))
    }

    /// Runs what is missing of the first `upto` trials.
    fn see(
        &mut self,
        place: Place,
        upto: u64,
        prepared: &mut Option<Prepared>,
    ) -> Result<(), Trouble> {
        let have = self.seen.get(&place).map_or(0, |seen| seen.survived.len() as u64);
        if have >= upto {
            return Ok(());
        }
        let ready = match prepared.take() {
            Some(ready) => ready,
            None => self.prepare(&self.ladders.station(self.scenario, place))?,
        };
        let later = self.run(&ready, have..upto)?;
        self.seen.entry(place).or_default().extend(later);
        *prepared = Some(ready);
        Ok(())
    }

    /// Trials of a station of any kind; search does not remember them.
    ///
    /// # Errors
    /// When it cannot be compiled, or the user ends it.
    pub fn trial(&mut self, station: &Scenario, range: Range<u64>) -> Result<Seen, Trouble> {
        let prepared = self.prepare(station)?;
        self.run(&prepared, range)
    }

    /// On which side of a target a station of any kind lies.
    ///
    /// # Errors
    /// When it cannot be compiled, or the user ends it.
    pub fn side_of(&mut self, station: &Scenario, target: f64) -> Result<(Side, Tally), Trouble> {
        let prepared = self.prepare(station)?;
        let mut seen = Seen::default();
        for upto in looks(self.options.trials) {
            let later = self.run(&prepared, seen.survived.len() as u64..upto)?;
            seen.extend(later);
            if let Some(side) = side(seen.all(), target, upto == self.options.trials) {
                return Ok((side, seen.all()));
            }
        }
        Ok((Side::Misses, seen.all()))
    }

    /// A station ready for trials.
    ///
    /// # Errors
    /// When it cannot be compiled.
    pub fn prepare(&self, station: &Scenario) -> Result<Prepared, Trouble> {
        let options =
            trials::Options { seed: self.options.seed, recharge: false, ..Default::default() };
        prepare(station, self.base_dir, Vec::new(), options).map_err(Trouble::NotCompiled)
    }

    fn run(&mut self, prepared: &Prepared, range: Range<u64>) -> Result<Seen, Trouble> {
        let (first, count) = (range.start, range.end - range.start);
        let floor = self.floor;
        let empty = || Gathering { seen: Seen { first, ..Seen::default() }, floor };
        let (gathered, done) = run_trials(prepared, range, self.options.threads, empty, self.watch)
            .map_err(Trouble::Failed)?;
        self.trials_run += done;
        if done < count || self.watch.stop.load(Ordering::Relaxed) {
            return Err(Trouble::Stopped);
        }
        Ok(gathered.seen)
    }
}
