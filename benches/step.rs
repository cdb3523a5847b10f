//! Speed of the parts that every later answer multiplies: hour-steps a second of the one step, for
//! one trial and for many side by side, and how long reading and compiling a scenario takes.
//!
//! `cargo bench --bench step`. Elements a second are hour-steps (of all lanes together).

use std::hint::black_box;
use std::path::Path;

use criterion::{BatchSize, Criterion, Throughput, criterion_group, criterion_main};
use longwatch::numbers::lane::{Lane, Wide};
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

/// The same weather in every lane, the start charge spread.
fn walk<F: Lane>(plan: &Plan, begin: F) -> F {
    let mut state = State::<F>::at_start(plan);
    state.charge = begin;
    state.at_hand = begin;
    let mut total = Total(F::splat(0.0));
    for (at, slice) in plan.slices.iter().enumerate() {
        let base = single::inputs_of(plan, slice, at);
        let inputs = Inputs {
            available_w: base.available_w.map(F::splat),
            shape_a: base.shape_a.map(F::splat),
            shape_a_per_v: base.shape_a_per_v.map(F::splat),
            air_c: F::splat(base.air_c),
            grid: F::all(base.grid),
            warned: F::all(base.warned),
            engine_starts: F::all(base.engine_starts),
            part_h: None,
        };
        run_slice(plan, slice, &inputs, &mut state, &mut total);
    }
    total.0
}

fn side_by_side<const N: usize>(plan: &Plan) -> Wide<N> {
    #[allow(clippy::cast_precision_loss)]
    let begin = Wide(std::array::from_fn(|lane| 0.3 + 0.7 * lane as f64 / N as f64));
    walk(plan, begin)
}

fn step(criterion: &mut Criterion) {
    let (_, plan) = plan_of("hall-72h");
    let steps = plan.steps.len() as u64;
    let mut group = criterion.benchmark_group("hour-steps");
    group.throughput(Throughput::Elements(steps));
    group.bench_function("one trial", |bench| bench.iter(|| walk(black_box(&plan), 1.0)));
    group.bench_function("one trial, full book", |bench| {
        bench.iter(|| single::run(black_box(&plan)));
    });
    group.throughput(Throughput::Elements(8 * steps));
    group.bench_function("8 side by side", |bench| {
        bench.iter(|| side_by_side::<8>(black_box(&plan)));
    });
    group.throughput(Throughput::Elements(16 * steps));
    group.bench_function("16 side by side", |bench| {
        bench.iter(|| side_by_side::<16>(black_box(&plan)));
    });
    group.finish();
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
