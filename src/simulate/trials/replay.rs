//! Any trial again as a single run, with its full ledger.

use super::drawn::Drawn;
use super::prepare::Prepared;
use crate::plan::{Offered, Plan, Slice, TemperaturePlan};
use crate::station::heads::{Heads, WeatherOf};

/// The plan of a trial: its weather, its outages, its warnings. A single run of it goes through the
/// same charges as the trial did, to the bit.
#[must_use]
pub fn replay(prepared: &Prepared, trial: u64) -> Plan {
    let way = prepared.way_of(trial);
    let mut drawn = Drawn::default();
    drawn.draw(prepared, trial, way, true);
    let of = &prepared.variants[way.variant];
    let steps = way.first_step..way.first_step + prepared.settling_steps + prepared.span_steps;
    let slices = prepared.slice_at(steps.start)..prepared.slice_at(steps.end);
    let mut plan = Plan {
        heads: Heads {
            weather: WeatherOf::Trial { trial, seed: prepared.seed },
            ..prepared.plan.heads.clone()
        },
        strategy: of.strategy.clone(),
        battery: of.battery.clone(),
        temperature: of.temperature,
        sources: of.sources.clone(),
        supply: of.supply,
        standby_w: of.standby_w,
        heater: of.heater,
        latch: of.latch,
        tiers: of.tiers.clone(),
        rungs: of.rungs.clone(),
        profiles: of.profiles.clone(),
        open_windows: of.open_windows.clone(),
        slices: of.slices[slices].to_vec(),
        offered: Vec::new(),
        engine: of.engine,
        steps: of.steps[steps.clone()].to_vec(),
        settling_steps: prepared.settling_steps,
        start_charge_share: drawn.start_share,
        packs: prepared.plan.packs.clone(),
        basis: prepared.plan.basis.clone(),
        warnings: prepared.plan.warnings.clone(),
    };
    plan.heads.capacity_ah = of.heads.capacity_ah;
    if let TemperaturePlan::Follows { first_c, .. } = &mut plan.temperature {
        *first_c = drawn.first_c;
    }
    if let Some(engine) = &mut plan.engine {
        engine.starts = drawn.engine_starts;
    }
    for (at, step) in plan.steps.iter_mut().enumerate() {
        step.air_c = drawn.air_c[at];
        step.ghi_w_m2 = drawn.ghi_w_m2[at];
    }
    let sun = prepared.sun_sources();
    let mut changes = drawn.changes.iter().peekable();
    let mut cut = Vec::with_capacity(plan.slices.len());
    for (at, slice) in plan.slices.iter().enumerate() {
        let mut part = Slice {
            step: slice.step - steps.start,
            grid: drawn.grid.get(at).map_or(slice.grid, |there| *there),
            warned: drawn.warned.iter().any(|slices| slices.contains(&at)),
            ..slice.clone()
        };
        let first = plan.offered.len();
        plan.offered.resize(first + plan.sources.len(), Offered::default());
        for source in 0..sun {
            let from = at * sun + source;
            let [shape_a, shape_a_per_v] = drawn.shape.get(from).copied().unwrap_or_default();
            let available_w = drawn.available_w[from];
            plan.offered[first + source] = Offered { available_w, shape_a, shape_a_per_v };
        }
        // Cut as in the lanes: rules look as the slice begins.
        let mut from_h = 0.0;
        while let Some((_, into_h)) = changes.next_if(|change| change.0 == at) {
            part.hours = into_h - from_h;
            cut.push(part.clone());
            plan.offered.extend_from_within(first..first + plan.sources.len());
            from_h = *into_h;
            part.grid = !part.grid;
            part.looks = false;
            part.decides = false;
        }
        part.hours = slice.hours - from_h;
        cut.push(part);
    }
    plan.slices = cut;
    plan
}
