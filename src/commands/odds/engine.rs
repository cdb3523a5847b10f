//! From the command to the trials: the one place that knows how they are run.

use std::ops::Range;
use std::path::Path;

use super::results::internal;
use crate::chance::merge::Tally;
use crate::commands::load::{Loaded, base_dir};
use crate::decide::odds::{Answers, Subject};
use crate::error::Error;
use crate::plan::check::not_compiled;
use crate::scenario::Scenario;
use crate::scenario::schedule::Grid;
use crate::simulate::trials::{Gather, Options, Outcome, Prepared, Watch, prepare, run_trials};

/// Whether all trials of a scenario begin at the same time.
#[must_use]
pub fn same_start(scenario: &Scenario) -> bool {
    !matches!(scenario.grid, Grid::ForcedAtRandom(_))
}

/// Runs trials of one scenario.
pub struct Engine {
    prepared: Prepared,
    /// The same with every input as stated, when some are uncertain.
    as_stated: Option<Prepared>,
    threads: usize,
}

impl Engine {
    /// Trials of a scenario.
    ///
    /// # Errors
    /// When they cannot be prepared.
    pub fn new(
        loaded: &Loaded,
        path: &Path,
        seed: u64,
        threads: Option<u16>,
    ) -> Result<Self, Error> {
        let of = |uncertain: bool| {
            let options = Options { seed, uncertain, ..Options::default() };
            prepare(&loaded.scenario, &base_dir(path), Vec::new(), options).map_err(|problems| {
                Error::Scenario { rendered: not_compiled(&problems, &loaded.spans).render(true) }
            })
        };
        Ok(Self {
            prepared: of(true)?,
            as_stated: loaded.scenario.uncertain.map(|_| of(false)).transpose()?,
            threads: threads.map_or(0, usize::from),
        })
    }

    /// Years of the series that days are taken from, first and last.
    #[must_use]
    pub fn series_years(&self) -> Option<(i32, i32)> {
        self.prepared.series_years
    }

    /// Runs the trials of a range, from the first on as far as the watch lets it.
    ///
    /// # Errors
    /// When threads cannot be started, or nothing can be gathered of such a span.
    pub fn run(
        &self,
        subject: &Subject,
        trials: Range<u64>,
        watch: &Watch,
    ) -> Result<Answers, Error> {
        let empty = Answers::empty(subject.shape).map_err(internal)?;
        run_trials(&self.prepared, trials, self.threads, || empty.clone(), watch)
            .map(|(answers, _)| answers)
    }

    /// Runs the trials of a range with every input as stated; `None` where none is uncertain, or
    /// when the watch ended it.
    ///
    /// # Errors
    /// When threads cannot be started.
    pub fn run_as_stated(&self, trials: Range<u64>, watch: &Watch) -> Result<Option<Tally>, Error> {
        let Some(prepared) = &self.as_stated else { return Ok(None) };
        let count = trials.end.saturating_sub(trials.start);
        let (kept, done) =
            run_trials(prepared, trials, self.threads, || Kept(Tally::default()), watch)?;
        Ok((done == count).then_some(kept.0))
    }
}

/// Nothing but whether a trial stayed on the air.
struct Kept(Tally);

impl Gather for Kept {
    fn trial(&mut self, outcome: &Outcome) {
        self.0.count(outcome.first_off_air_h.is_none());
    }

    fn join(&mut self, later: Self) {
        // The command line allows a billion trials, far below what a tally holds.
        self.0 = self.0.merged(later.0).unwrap_or(self.0);
    }
}
