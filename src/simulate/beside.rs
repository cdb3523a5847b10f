//! Runs beside the run: the same plan with one thing changed.

use serde::Serialize;

use super::ledger::Ledger;
use super::single;
use super::summary::summarise;
use crate::plan::Plan;

/// What a run comes to, in three numbers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Answer {
    /// Lowest charge, share of the capacity of that run.
    pub lowest_charge_share: f64,
    /// Hours with an essential load unserved.
    pub no_power_h: f64,
    /// Hours off the air: those, and those in a tier that does not count as on the air.
    pub off_air_h: f64,
    /// Demand not delivered, Wh.
    pub unserved_wh: f64,
}

/// What it costs that sources are switched off so that nobody hears them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SilenceCost {
    /// What the switched off sources would have given besides over the span, Wh; never below zero.
    pub charging_wh: f64,
    /// The answer with nothing switched off.
    pub without: Answer,
}

/// Simulates a plan for its answer alone.
#[must_use]
pub fn answer(plan: &Plan) -> Answer {
    answer_of(plan, &single::run(plan))
}

fn answer_of(plan: &Plan, ledger: &Ledger) -> Answer {
    let summary = summarise(plan, ledger);
    Answer {
        lowest_charge_share: summary.lowest_charge_share,
        no_power_h: summary.no_power_h,
        off_air_h: summary.off_air_h,
        unserved_wh: summary.unserved_wh,
    }
}

/// Simulates the plan with nothing switched off; `None` when nothing is switched off anyway.
#[must_use]
pub fn silence_cost(plan: &Plan, ledger: &Ledger) -> Option<SilenceCost> {
    let silent = plan.slices.iter().fold(0, |bits, slice| bits | slice.silent);
    if silent == 0 {
        return None;
    }
    let mut loud = plan.clone();
    for slice in &mut loud.slices {
        slice.silent = 0;
    }
    let without = single::run(&loud);
    // A supply that is switched off is off on the generator too, which stands behind it.
    let mains = plan.supply.map(|supply| supply.source).filter(|at| silent >> at & 1 == 1);
    let behind = plan.engine.map(|engine| engine.source).filter(|_| mains.is_some());
    let silenced = |at: usize| silent >> at & 1 == 1 || behind == Some(at);
    let given_wh = |ledger: &Ledger| -> f64 {
        ledger
            .rows
            .iter()
            .flat_map(|row| row.sources.iter().enumerate())
            .filter(|(at, _)| silenced(*at))
            .map(|(_, flows)| flows.used_wh)
            .sum()
    };
    Some(SilenceCost {
        charging_wh: (given_wh(&without) - given_wh(ledger)).max(0.0),
        without: answer_of(&loud, &without),
    })
}
