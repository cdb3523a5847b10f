//! A trial of a club again, each station with its full ledger.
//!
//! What was swapped is known from the trial itself; each station is then a single run into which the
//! same batteries are put at the same steps. It goes through the same charges, to the bit.

use super::super::replay::replay;
use super::packs::put_on;
use super::plan::ClubPlan;
use super::trial::{ClubOutcome, Record, club_outcome};
use crate::plan::Plan;
use crate::simulate::ledger::Row;
use crate::simulate::single::run_book_with;

/// One station of a trial again.
#[derive(Debug, Clone)]
pub struct ReplayedStation {
    /// Its name; the charging point comes last.
    pub name: String,
    /// The plan of the trial.
    pub plan: Plan,
    /// Rows of its ledger; of the charging point those in which a pack was on it.
    pub rows: Vec<Row>,
    /// The step of each row, since the span's beginning.
    pub steps: Vec<usize>,
}

/// Runs a trial again.
#[must_use]
pub fn replay_club(club: &ClubPlan, trial: u64) -> (ClubOutcome, Record, Vec<ReplayedStation>) {
    let (outcome, record) = club_outcome(club, trial);
    let mut replayed = Vec::new();
    let stations = club.stations.iter().map(|it| (it.name.as_str(), &it.part));
    let point = club.point.iter().map(|it| (crate::plan::club::POINT, &it.part));
    for (at, (name, part)) in stations.chain(point).enumerate() {
        let is_point = at >= club.stations.len();
        if !is_point && !outcome.came[at] {
            continue;
        }
        let mut plan = replay(&part.prepared, trial);
        if is_point && let Some(engine) = &mut plan.engine {
            engine.starts = outcome.point_engine_starts;
        }
        let settling = plan.settling_steps;
        let span: Vec<usize> = if is_point {
            record.charging.clone()
        } else {
            (0..plan.steps.len() - settling).collect()
        };
        let book = run_book_with(&plan, |step, state| {
            let Some(over) = step.checked_sub(settling) else { return !is_point };
            if over == 0
                && !is_point
                && let Some(charge) = record.begins[at]
            {
                state.charge = charge;
                state.at_hand = charge;
            }
            let mine = record.put_on.iter().filter(|it| (it.0, it.1) == (at, over));
            for (_, _, battery, handover_h) in mine {
                if is_point {
                    // Left standing for want of a pack.
                    if over.checked_sub(1).is_some_and(|it| !span.contains(&it)) {
                        state.engine = false;
                        state.refilling = false;
                    }
                }
                put_on(battery, *handover_h, state);
            }
            !is_point || span.contains(&over)
        });
        replayed.push(ReplayedStation {
            name: name.to_owned(),
            plan,
            rows: book.rows,
            steps: span,
        });
    }
    (outcome, record, replayed)
}
