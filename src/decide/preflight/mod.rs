//! The check: every wire, fuse, outlet group, supply, battery and array against what it must bear.
//!
//! Lives here: [`Finding`] and one file a subject or a few that belong together; [`preflight`] gives
//! them all. Limits are published ones, or marked as common practice without a source. What the
//! scenario does not state is not examined, and a note says so: nothing is invented. Does not live
//! here: whether a scenario can be simulated (`plan::check`), words on a screen, the picture.

mod always_on;
mod ampacity;
mod array_lead;
mod budgets;
mod charge_left;
mod charging;
mod cold;
mod converters;
mod drop;
mod finding;
mod fuses;
mod ground;
mod leads;
mod missing;
mod panels;
mod propose;
mod propose_sources;
mod reduced;
mod shedding;
mod supply;
mod unfused;
mod ventilation;
mod windows;

use serde::Serialize;

pub use finding::{Finding, Proposal, ProposedFuse, Severity, Subject};

use crate::plan::Plan;
use crate::scenario::Scenario;
use crate::simulate::ledger::Ledger;
use ground::Ground;

/// How many findings there are: all by severity, and what was examined and what not.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// Points that were examined, whatever came of it.
    pub examined: usize,
    /// Points that were not examined because the scenario does not state what they need.
    pub not_stated: usize,
    /// Can hurt, break, or take the station off the air.
    pub serious: usize,
    /// Departs from good practice.
    pub caution: usize,
    /// Worth knowing, or not examined.
    pub note: usize,
    /// As it should be.
    pub fine: usize,
}

impl Counts {
    /// Counts findings.
    #[must_use]
    pub fn of(findings: &[Finding]) -> Self {
        let mut counts = Self::default();
        for finding in findings {
            if finding.is_unstated() {
                counts.not_stated += finding.points;
            } else if finding.subject != Subject::AlwaysOn {
                counts.examined += finding.points;
            }
            *match finding.severity {
                Severity::Serious => &mut counts.serious,
                Severity::Caution => &mut counts.caution,
                Severity::Note => &mut counts.note,
                Severity::Fine => &mut counts.fine,
            } += 1;
        }
        counts
    }
}

/// Examines a station: its scenario, the plan of it, and the ledger of that plan, which says how low
/// the battery gets and how cold. Findings come by item, in the order in which current flows.
#[must_use]
pub fn preflight(scenario: &Scenario, plan: &Plan, ledger: &Ledger) -> Vec<Finding> {
    let ground = Ground::new(scenario, plan, ledger);
    let mut missing = missing::Missing::default();
    let mut found = Vec::new();
    panels::panels(&ground, &mut missing, &mut found);
    let leads = ground.leads();
    fuses::short_circuit(&ground, &leads, &mut found);
    for lead in &leads {
        drop::drop(&ground, lead, &mut missing, &mut found);
        ampacity::ampacity(lead, &mut missing, &mut found);
        fuses::fuses(&ground, lead, &mut missing, &mut found);
        unfused::unfused(&ground, lead, &leads, &mut found);
    }
    unfused::packs(&ground, &mut missing, &mut found);
    for lead in &leads {
        propose::propose(&ground, lead, &leads, &mut found);
    }
    propose_sources::panels(&ground, &leads, &mut found);
    propose_sources::packs(&ground, &mut found);
    supply::supply(&ground, &mut found);
    charging::charging(&ground, &mut missing, &mut found);
    cold::cold_charging(&ground, &mut found);
    ventilation::ventilation(&ground, &mut missing, &mut found);
    budgets::budgets(&ground, &mut found);
    windows::windows(&ground, &mut missing, &mut found);
    charge_left::charge_left(&ground, &mut found);
    converters::converters(&ground, &mut found);
    reduced::reduced_power(&ground, &mut found);
    shedding::upside_down(&ground, &mut found);
    always_on::always_on(&ground, &mut found);
    found.extend(missing.findings());
    found.into_iter().map(Finding::judged).collect()
}
