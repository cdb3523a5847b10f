//! Speed of the parts that every later answer multiplies: hour-steps a second of the one step, for
//! one trial and for many side by side, and how long reading and compiling a scenario takes.
//!
//! `cargo bench --bench step`. Elements a second are hour-steps (of all lanes together).

use std::hint::black_box;
use std::path::Path;

use criterion::{BatchSize, Criterion, Throughput, criterion_group, criterion_main};
use longwatch::numbers::lane::{Lane, Single, Width};
use longwatch::numbers::packed::{Work, lanes, plainly, side_by_side};
use longwatch::plan::check::examine;
use longwatch::plan::compile::compile;
use longwatch::plan::{Plan, Slice};
use longwatch::simulate::phase::{Book, Phase};
use longwatch::simulate::single;
use longwatch::simulate::state::State;
use longwatch::simulate::step::{Inputs, run_slice};

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");

/// A book that keeps one number, so that nothing is optimised away.
struct Total<F>(F);

impl<F: Lane> Book<F> for Total<F> {
    #[inline(always)]
    fn phase(&mut self, _plan: &Plan, _slice: &Slice, phase: &Phase<F>) {
        self.0 = self.0 + phase.charged_ah;
    }
}

/// A shipped scenario with its text.
fn plan_of(name: &str) -> (String, Plan) {
    let text = std::fs::read_to_string(format!("{FOLDER}/{name}.json")).unwrap_or_default();
    let examined = examine(&text, name, Path::new(FOLDER));
    let plan = examined
        .scenario
        .as_ref()
        .and_then(|scenario| compile(scenario, examined.series.as_deref(), Vec::new()).ok());
    (text, plan.unwrap_or_else(|| panic!("{name} does not compile")))
}

/// One walk through the plan: start charge and light differ from lane to lane.
struct Walk<'a>(&'a Plan);

impl Work for Walk<'_> {
    type Output = f64;

    #[inline(always)]
    fn with<W: Width>(self, w: W) -> f64 {
        let plan = self.0;
        #[allow(clippy::cast_precision_loss)]
        let part = |lane: usize| (lane as f64 + 1.0) / W::LANES as f64;
        let mut state = State::<W::Lane>::at_start(plan, w);
        state.charge = w.by_lane(|lane| 0.3 + 0.7 * part(lane));
        state.at_hand = state.charge;
        let light = w.by_lane(|lane| 0.2 + part(lane));
        let mut total = Total(w.splat(0.0));
        for (at, slice) in plan.slices.iter().enumerate() {
            let base = single::inputs_of(plan, slice, at);
            let mut inputs = Inputs::alike(w, &base);
            for place in 0..plan.sources.len() {
                inputs.available_w[place] = inputs.available_w[place] * light;
            }
            run_slice(plan, slice, &inputs, &mut state, &mut total);
        }
        (0..W::LANES).map(|lane| total.0.lane(lane)).sum()
    }
}

fn step(criterion: &mut Criterion) {
    for name in ["hall-72h", "field-weekend"] {
        let (_, plan) = plan_of(name);
        let steps = plan.steps.len() as u64;
        let mut group = criterion.benchmark_group(format!("hour-steps {name}"));
        group.throughput(Throughput::Elements(steps));
        group.bench_function("one trial", |bench| {
            bench.iter(|| Walk(black_box(&plan)).with(Single))
        });
        group.bench_function("one trial, full book", |bench| {
            bench.iter(|| single::run(black_box(&plan)));
        });
        group.throughput(Throughput::Elements(lanes() as u64 * steps));
        group.bench_function("side by side", |bench| {
            bench.iter(|| side_by_side(Walk(black_box(&plan))));
        });
        group.throughput(Throughput::Elements(steps));
        group.bench_function("side by side, any processor", |bench| {
            bench.iter(|| plainly(Walk(black_box(&plan))));
        });
        group.finish();
    }
}

fn reading(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("scenario");
    for name in ["hall-72h", "ridge-relay"] {
        let (text, _) = plan_of(name);
        let examined = examine(&text, name, Path::new(FOLDER));
        group.bench_function(format!("read and check {name}"), |bench| {
            bench.iter(|| examine(black_box(&text), name, Path::new(FOLDER)));
        });
        group.bench_function(format!("compile {name}"), |bench| {
            bench.iter_batched(
                || examined.scenario.clone(),
                |scenario| scenario.map(|it| compile(&it, examined.series.as_deref(), Vec::new())),
                BatchSize::LargeInput,
            );
        });
    }
    group.finish();
}

criterion_group!(benches, step, reading);
criterion_main!(benches);
