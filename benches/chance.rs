//! What a draw costs: generator, normal law, outages, intervals; one trial and lanes of trials.
//!
//! `cargo bench --bench chance`. Times are per element: a block of the generator, a deviate, an
//! hour of mains.

use std::hint::black_box;

use criterion::measurement::WallTime;
use criterion::{BenchmarkGroup, Criterion, Throughput, criterion_group, criterion_main};
use longwatch::chance::intervals::{Confidence, clopper_pearson_lower, wilson};
use longwatch::chance::merge::Tally;
use longwatch::chance::outages::{Renewal, Start};
use longwatch::chance::transforms::{Grid, Law, normal_cumulative, normal_deviate};
use longwatch::chance::{Draw, Purpose};
use longwatch::numbers::lane::Wide;

const TRIALS: u64 = 4_096;
const DAY: u32 = 739_000;

fn draw(trial: u64) -> Draw {
    Draw::new(1, trial, DAY, Purpose::Sky)
}

/// Adds up lane by lane, so that the sum waits for nothing.
fn added<const N: usize>(sum: &mut [f64; N], lanes: Wide<N>) {
    for (sum, value) in sum.iter_mut().zip(lanes.0) {
        *sum += value;
    }
}

fn lanes<const N: usize>(group: &mut BenchmarkGroup<'_, WallTime>) {
    let firsts = || (0..TRIALS).step_by(N);
    group.bench_function(format!("pair of uniform deviates, {N} lanes"), |bencher| {
        bencher.iter(|| {
            let mut sum = [0.0; N];
            for first in firsts() {
                let [one, other] = draw(black_box(first)).pair_in_lanes::<N>();
                added(&mut sum, one);
                added(&mut sum, other);
            }
            sum
        });
    });
    group.bench_function(format!("drawn normal deviate, {N} lanes"), |bencher| {
        bencher.iter(|| {
            let mut sum = [0.0; N];
            for first in firsts() {
                let [one, _] = draw(black_box(first)).pair_in_lanes::<N>();
                added(&mut sum, normal_deviate(one));
            }
            sum
        });
    });
    let chances: Vec<Wide<N>> = firsts().map(|first| draw(first).pair_in_lanes::<N>()[0]).collect();
    let deviates: Vec<Wide<N>> = chances.iter().map(|chance| normal_deviate(*chance)).collect();
    let mut over = |name: &str, from: &[Wide<N>], function: &dyn Fn(Wide<N>) -> Wide<N>| {
        group.bench_function(format!("{name}, {N} lanes"), |bencher| {
            bencher.iter(|| {
                let mut sum = [0.0; N];
                for lanes in from {
                    added(&mut sum, function(*lanes));
                }
                sum
            });
        });
    };
    over("normal deviate", &chances, &|chance| normal_deviate(chance));
    over("normal chance", &deviates, &|deviate| normal_cumulative(deviate));
    if let Ok(grid) = Grid::new(-8.5, 8.5, 4_096, f64::exp) {
        over("value on a grid", &deviates, &|deviate| grid.value(deviate));
    }
}

fn draws(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("draws");
    group.throughput(Throughput::Elements(TRIALS));
    group.bench_function("pair of uniform deviates, one by one", |bencher| {
        bencher.iter(|| {
            (0..TRIALS).fold(0.0, |sum, trial| {
                let [one, other] = draw(black_box(trial)).pair();
                sum + one + other
            })
        });
    });
    group.bench_function("drawn normal deviate, one by one", |bencher| {
        bencher.iter(|| {
            (0..TRIALS)
                .fold(0.0, |sum, trial| sum + normal_deviate(draw(black_box(trial)).uniform()))
        });
    });
    lanes::<4>(&mut group);
    lanes::<8>(&mut group);
    lanes::<16>(&mut group);
    group.finish();
}

fn outages(criterion: &mut Criterion) {
    const SPAN_H: f64 = 720.0;
    let laws = [
        ("exponential", Law::exponential(200.0), Law::exponential(8.0)),
        ("Weibull", Law::exponential(200.0), Law::weibull(0.8, 8.0)),
        ("lognormal", Law::lognormal(4.8, 1.0), Law::lognormal(1.4, 1.2)),
    ];
    let mut group = criterion.benchmark_group("outages");
    group.throughput(Throughput::Elements(SPAN_H as u64));
    for (name, up, down) in laws {
        let Some(renewal) = up.and_then(|up| Renewal::new(up, down?)).ok() else { continue };
        group.bench_function(format!("a month of mains, {name}"), |bencher| {
            let mut trial = 0;
            bencher.iter(|| {
                trial += 1;
                renewal
                    .outages_before(draw(trial), Start::AnyMoment, SPAN_H)
                    .fold(0.0, |sum, outage| sum + outage.on_h - outage.off_h)
            });
        });
    }
    group.finish();
}

fn intervals(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("intervals");
    for trials in [10_000, 10_000_000] {
        let Ok(tally) = Tally::of_trials(trials - trials / 80, trials) else { continue };
        group.bench_function(format!("Wilson, {trials} trials"), |bencher| {
            bencher.iter(|| wilson(black_box(tally), Confidence::NINETY_FIVE));
        });
        group.bench_function(format!("Clopper-Pearson lower bound, {trials} trials"), |bencher| {
            bencher.iter(|| clopper_pearson_lower(black_box(tally), Confidence::NINETY_FIVE));
        });
    }
    group.finish();
}

criterion_group!(benches, draws, outages, intervals);
criterion_main!(benches);
