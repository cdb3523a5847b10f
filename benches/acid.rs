//! Steps a second: lead-acid beside lithium, one trial and many side by side.
//!
//! Throughput is counted in trial-hours: a 72-hour span of hourly steps is 72 elements, eight
//! lanes make it 576.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use longwatch::numbers::lane::{Lane, Single, Width};
use longwatch::numbers::packed::{Work, lanes, side_by_side};
use longwatch::plan::{Plan, Slice, compile::compile};
use longwatch::scenario::Scenario;
use longwatch::simulate::phase::{Book, Phase};
use longwatch::simulate::single;
use longwatch::simulate::state::State;
use longwatch::simulate::step::{Inputs, run_slice};
use serde_json::{Value, json};
use std::hint::black_box;

/// Adds up the charge put in, so that nothing is optimised away.
struct Sum<F: Lane>(F);

impl<F: Lane> Book<F> for Sum<F> {
    #[inline(always)]
    fn phase(&mut self, _: &Plan, _: &Slice, phase: &Phase<F>) {
        self.0 = self.0 + phase.charged_ah;
    }
}

fn plan(battery: &Value) -> Plan {
    let plane: Vec<f64> =
        (0..24_i32).map(|hour| f64::from((8 - (hour - 12).abs()).max(0)) * 100.0).collect();
    let value = json!({
        "format": 2, "title": "bench",
        "site": {"latitude_deg": 45.0, "longitude_deg": 0.0, "clock": {"fixed_offset": "+00:00"}},
        "span": {"start": "2026-06-01T00:00", "hours": 72}, "start": {"charge_share": 0.6},
        "sun": {"profile": {"in_plane_w_m2": plane, "air_c": 20.0}},
        "arrays": {"a": {"rated_w": 250.0, "count": 1, "tilt_deg": 0, "azimuth_deg": 180, "controller": "a"}},
        "controllers": {"a": {"mppt": {"output_limit_a": 20.0,
            "set_points": {"absorption_v": 14.2, "float_v": 13.5, "tail_a": 2.0}}}},
        "battery": battery,
        "outlet_groups": {"all": {"limit_a": 40}},
        "loads": {"set": {"group": "all", "transmit_share": 0.1,
            "draw": {"current": {"receive_a": 1.0, "transmit_a": 15.0}}},
            "lamp": {"group": "all", "draw": {"power": {"power_w": 10}}}},
        "tiers": [{"name": "on", "loads": {"set": {}, "lamp": {}}}],
        "strategy": "none", "strategies": {"none": {"supply": "never"}}
    });
    let scenario: Scenario = serde_json::from_value(value).expect("a scenario");
    compile(&scenario, None, Vec::new()).expect("a plan")
}

fn lithium() -> Value {
    json!({"lithium_iron_phosphate": {"cells_in_series": 4, "capacity_ah": 90.0,
        "charge_limit_a": 50, "discharge_limit_a": 60}})
}

fn acid() -> Value {
    json!({"lead_acid": {"kind": "agm", "cells_in_series": 6, "resistance_ohm": 0.006,
        "rated_absorption_v": 14.4, "capacities": [{"discharge_h": 20.0, "capacity_ah": 100.0},
            {"discharge_h": 1.0, "capacity_ah": 58.0}]}})
}

/// All slices of a plan; each lane has its own sun and start.
struct Run<'a>(&'a Plan);

impl Work for Run<'_> {
    type Output = f64;

    #[inline(always)]
    fn with<W: Width>(self, w: W) -> f64 {
        let plan = self.0;
        #[allow(clippy::cast_precision_loss)]
        let light = w.by_lane(|lane| 0.3 + 0.15 * lane as f64);
        let mut state = State::<W::Lane>::at_start(plan, w);
        #[allow(clippy::cast_precision_loss)]
        let begin = w.by_lane(|lane| 0.3 + 0.08 * lane as f64);
        state.charge = begin;
        state.at_hand = begin;
        let mut sum = Sum(w.splat(0.0));
        for (at, slice) in plan.slices.iter().enumerate() {
            let base = single::inputs_of(plan, slice, at);
            let mut inputs = Inputs::alike(w, &base);
            for place in 0..plan.sources.len() {
                inputs.available_w[place] = inputs.available_w[place] * light;
            }
            run_slice(plan, slice, &inputs, &mut state, &mut sum);
        }
        (0..W::LANES).map(|lane| sum.0.lane(lane)).sum()
    }
}

fn steps(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("hours");
    for (name, battery) in [("lithium", lithium()), ("lead-acid", acid())] {
        let plan = plan(&battery);
        let hours = plan.slices.len() as u64;
        group.throughput(Throughput::Elements(hours));
        group.bench_function(format!("{name} single"), |bencher| {
            bencher.iter(|| Run(black_box(&plan)).with(Single));
        });
        group.throughput(Throughput::Elements(lanes() as u64 * hours));
        group.bench_function(format!("{name} side by side"), |bencher| {
            bencher.iter(|| side_by_side(Run(black_box(&plan))));
        });
    }
    group.finish();
}

criterion_group!(benches, steps);
criterion_main!(benches);
